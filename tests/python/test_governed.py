"""Rules under control, as a foreign client sees them: keys and roles, four eyes, a replay."""

import os
import subprocess
import tempfile
import unittest

import grpc
from google.rpc import error_details_pb2
from grpc_status import rpc_status

from service import DEADLINE_SECONDS, RULESETS, SERVICE, Service

AUDIT = "loftwright.v1.AuditService"
HOUSE = """ruleset house
  title "A house"
  language 1
  builds on skerry

decide of_speed : flag
  source common practice
  by driver_head_speed
    under {bound} gives yes
    otherwise gives no
"""


class GovernedTest(unittest.TestCase):
    def setUp(self):
        self.data = tempfile.TemporaryDirectory()
        roles = {
            "ada": ["editor"],
            "bo": ["approver", "auditor"],
            "till-2": ["caller"],
        }
        self.keys = {name: self.add(name, roles) for name, roles in roles.items()}
        self.service = Service("--data", self.data.name)

    def tearDown(self):
        self.assertEqual(self.service.stop(), 0)
        self.data.cleanup()

    def add(self, name, roles):
        """Gives somebody roles; the key that the command prints."""
        command = [os.environ["LOFTWRIGHT"], "principals", "add", name, "--data", self.data.name]
        command += [word for role in roles for word in ("--role", role)]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        return done.stdout.strip()

    def call(self, who, method, service=RULESETS, **fields):
        request = self.service.message(f"{method}Request")(**fields)
        return self.send(who, method, request, service)

    def send(self, who, method, request, service):
        answer = self.service.message(f"{method}Response")
        streams = method == "ReplayRecords"
        channel = self.service.channel
        invoke = (channel.unary_stream if streams else channel.unary_unary)(
            f"/{service}/{method}",
            request_serializer=lambda message: message.SerializeToString(),
            response_deserializer=answer.FromString,
        )
        metadata = [("authorization", f"Bearer {self.keys[who]}")] if who else []
        answered = invoke(request, timeout=DEADLINE_SECONDS, metadata=metadata)
        return list(answered) if streams else answered

    def refused(self, code, who, method, **fields):
        """The google.rpc.ErrorInfo of a refusal with this code."""
        with self.assertRaises(grpc.RpcError) as caught:
            self.call(who, method, **fields)
        self.assertEqual(caught.exception.code(), code)
        info = error_details_pb2.ErrorInfo()
        status = rpc_status.from_call(caught.exception)
        (packed,) = [one for one in status.details if one.Is(info.DESCRIPTOR)]
        packed.Unpack(info)
        return info

    def publish(self, who, bound):
        source = self.service.message("RulesetSource")()
        text = HOUSE.format(bound=bound)
        source.layers.add(name="house").files.add(name="house.rules", text=text)
        return self.call(who, "PublishRuleset", source=source).identity.revision

    def test_a_key_and_a_role_are_asked_for(self):
        info = self.refused(grpc.StatusCode.UNAUTHENTICATED, None, "ListRevisions")
        self.assertEqual(info.reason, "NOT_AUTHENTICATED")
        info = self.refused(grpc.StatusCode.PERMISSION_DENIED, "till-2", "ListRevisions")
        self.assertEqual(info.reason, "ROLE_LACKING")
        self.assertEqual(info.metadata["roles_needed"], "approver, auditor, editor")

    def test_one_publishes_another_activates_and_a_candidate_is_replayed(self):
        first = self.publish("ada", "90 mph")
        activation = {"ruleset": "house", "revision": first, "reason": "a meeting"}
        self.refused(grpc.StatusCode.PERMISSION_DENIED, "ada", "ActivateRuleset", **activation)
        activated = self.call("bo", "ActivateRuleset", **activation)
        self.assertTrue(activated.HasField("record"))
        found = self.call("bo", "InForce", AUDIT, ruleset="house")
        self.assertEqual((found.published.principal, found.activated.principal), ("ada", "bo"))
        self.assertEqual(found.activated.record.id, activated.record.id)

        request = self.service.request("steady-right-hander")
        request.ruleset = "house"
        request.preview = False
        request.request_id = "123e4567-e89b-42d3-a456-426614174000"
        request.readings["driver_head_speed"].value = "92 mph"
        record = self.send("till-2", "Recommend", request, SERVICE).record
        candidate = self.publish("ada", "95 mph")
        pieces = self.call("bo", "ReplayRecords", ruleset="house", revision=candidate)
        self.assertEqual(pieces[-1].WhichOneof("piece"), "summary")
        self.assertEqual((pieces[-1].summary.same, pieces[-1].summary.changed), (0, 1))
        (changed,) = [one.record for one in pieces if one.WhichOneof("piece") == "record"]
        self.assertEqual(changed.record.id, record.id)
        (decision,) = changed.changed
        self.assertEqual(decision.name, "of_speed")
        self.assertEqual((decision.old.outcome, decision.new.outcome), ("no", "yes"))

        compared = self.call(
            "ada", "CompareRevisions", ruleset="house", new_revision=candidate
        )
        self.assertEqual([one.name for one in compared.changes], ["of_speed"])
        source = self.call("ada", "GetRevision", ruleset="house", revision=first).source
        self.assertEqual(source.layers[-1].files[0].text, HOUSE.format(bound="90 mph"))


if __name__ == "__main__":
    unittest.main()
