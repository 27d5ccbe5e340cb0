"""Rules brought to the service by a foreign client."""

import unittest

import grpc
from google.rpc import error_details_pb2
from grpc_status import rpc_status

from service import RULESETS, Service

HOUSE = """ruleset house
  title "A house"
  language 1
  builds on skerry

caution from_the_house : player_hand is right
  says "{says}"
"""


class RulesetsTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.service = Service()

    @classmethod
    def tearDownClass(cls):
        assert cls.service.stop() == 0

    def source(self, text):
        """A ruleset of one file."""
        source = self.service.message("RulesetSource")()
        source.layers.add(name="house").files.add(name="house.rules", text=text)
        return source

    def call(self, method, **fields):
        request = self.service.message(f"{method}Request")(**fields)
        return self.service.call(method, request, RULESETS)

    def cautions(self):
        request = self.service.request("steady-right-hander")
        request.ruleset = "house"
        bag = self.service.call("Recommend", request).recommendation
        said = [one.text for one in bag.cautions if one.name == "from_the_house"]
        return said, bag.ruleset.revision

    def test_a_revision_is_published_and_put_in_force(self):
        published = self.call("PublishRuleset", source=self.source(HOUSE.format(says="A word.")))
        revision = published.identity.revision
        self.assertEqual(len(revision), 64)
        self.assertEqual(published.cases.failed, 0)
        self.call("ActivateRuleset", ruleset="house", revision=revision, reason="a meeting")
        self.assertEqual(self.cautions(), (["A word."], revision))
        with self.assertRaises(grpc.RpcError) as caught:
            self.call("ActivateRuleset", ruleset="house", revision=revision, reason="once more")
        self.assertEqual(caught.exception.code(), grpc.StatusCode.ABORTED)

    def test_findings_are_the_answer_of_a_check_and_the_refusal_of_a_publication(self):
        source = self.source(HOUSE.format(says="A word.").replace("player_hand", "player_hnad"))
        findings = self.call("CheckRuleset", source=source).findings
        (finding,) = [one for one in findings if one.severity == 1]
        self.assertEqual((finding.code, finding.place.line), ("L0301", 6))
        with self.assertRaises(grpc.RpcError) as caught:
            self.call("PublishRuleset", source=source)
        self.assertEqual(caught.exception.code(), grpc.StatusCode.INVALID_ARGUMENT)
        bad = error_details_pb2.BadRequest()
        status = rpc_status.from_call(caught.exception)
        (packed,) = [one for one in status.details if one.Is(bad.DESCRIPTOR)]
        packed.Unpack(bad)
        (violation,) = bad.field_violations
        self.assertEqual(violation.field, "house/house.rules:6:26")
        self.assertTrue(violation.description.startswith("L0301: "), violation.description)


if __name__ == "__main__":
    unittest.main()
