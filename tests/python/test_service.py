"""The service as a foreign client sees it."""

import unittest

import grpc
from google.rpc import error_details_pb2
from grpc_health.v1 import health_pb2, health_pb2_grpc
from grpc_status import rpc_status

from service import SERVICE, Service


class ServiceTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.service = Service()

    @classmethod
    def tearDownClass(cls):
        code = cls.service.stop()
        assert code == 0, f"the program ended with {code} after SIGTERM"

    def refused(self, request):
        """The error that a request gets, and its details by type."""
        with self.assertRaises(grpc.RpcError) as caught:
            self.service.call("Recommend", request)
        status = rpc_status.from_call(caught.exception)
        self.assertIsNotNone(status, "an error without google.rpc.Status")
        details = {}
        for packed in status.details:
            for kind in (error_details_pb2.BadRequest, error_details_pb2.ErrorInfo):
                if packed.Is(kind.DESCRIPTOR):
                    details[kind] = kind()
                    packed.Unpack(details[kind])
        return caught.exception, details

    def test_health_says_serving(self):
        stub = health_pb2_grpc.HealthStub(self.service.channel)
        for name in ("", SERVICE):
            answer = stub.Check(health_pb2.HealthCheckRequest(service=name), timeout=10)
            self.assertEqual(answer.status, health_pb2.HealthCheckResponse.SERVING, name)

    def test_reflection_lists_the_service(self):
        descriptor = self.service.pool.FindServiceByName(SERVICE)
        methods = [method.name for method in descriptor.methods]
        self.assertIn("Recommend", methods)
        self.assertIn("DescribeRuleset", methods)

    def test_a_player_gets_a_bag(self):
        request = self.service.request("steady-right-hander")
        bag = self.service.call("Recommend", request).recommendation
        self.assertTrue(bag.preview)
        self.assertEqual(bag.ruleset.name, "skerry")
        self.assertEqual(len(bag.ruleset.meaning_digest), 64)
        self.assertEqual(len(bag.ruleset.text_digest), 64)
        kinds = [club.kind for club in bag.clubs]
        self.assertEqual((kinds[0], kinds[-1]), ("driver", "putter"))
        self.assertLessEqual(len(kinds), 14)
        for club in bag.clubs:
            with self.subTest(club=club.name):
                # A float never travels: lofts are text with their exact value beside it.
                self.assertEqual(club.loft.WhichOneof("state") == "value", club.kind != "putter")
                self.assertTrue(club.length.value.text.endswith(" in"), club.length)
                if not club.is_kept:
                    self.assertTrue(club.head.part.part_id, club.head)
        decided = {report.name: report for report in bag.decisions}
        row = decided["wedge_bounce"].steps[0]
        self.assertEqual([reading.name for reading in row.readings], ["steepness"])
        self.assertTrue(row.rule)

    def test_the_ticket_comes_where_it_is_wanted(self):
        request = self.service.request("small-sore-hands")
        bag = self.service.call("Recommend", request).recommendation
        self.assertFalse(bag.HasField("ticket"))
        request.ticket = True
        ticket = self.service.call("Recommend", request).recommendation.ticket
        self.assertEqual(ticket.subject, request.subject)
        self.assertEqual(list(ticket.kept_clubs), ["putter"])
        works = {work.work: work for work in ticket.works}
        self.assertEqual(list(works)[0], "pulling")
        self.assertEqual(list(works)[-1], "checking")
        self.assertTrue(works["cutting"].cautions)
        pulled = [task for task in works["pulling"].tasks if task.club == "driver"]
        self.assertEqual([task.WhichOneof("wanted") for task in pulled], ["part"] * 3)
        for task in works["checking"].tasks:
            self.assertEqual(task.WhichOneof("wanted"), "value", task)
            self.assertTrue(task.tolerance.exact, task)

    def test_what_is_not_measured_is_named_and_the_rest_is_there(self):
        request = self.service.request("steady-right-hander")
        del request.readings["wedge_attack_angle"]
        bag = self.service.call("Recommend", request).recommendation
        missing = {reading.input: reading.decisions for reading in bag.missing_readings}
        self.assertIn("wedge_bounce", missing["wedge_attack_angle"])
        heads = [club.head.WhichOneof("state") for club in bag.clubs if club.kind == "iron"]
        self.assertEqual(set(heads), {"part"})

    def test_the_same_request_gets_the_same_bytes(self):
        request = self.service.request("very-steep")
        answers = {
            self.service.call("Recommend", request).SerializeToString(deterministic=True)
            for _ in range(3)
        }
        self.assertEqual(len(answers), 1)

    def test_every_fault_of_a_request_comes_at_once(self):
        request = self.service.request("steady-right-hander")
        request.readings["height"].value = "NaN"
        request.readings["wedge_attack_angle"].value = "-5 furlong"
        request.readings["driver_head_speed"].value = "9999 mph"
        request.readings["wrist_to_flor"].value = "34 1/2 in"
        request.readings["tempo"].value = "frantic"
        request.kept_clubs.add(kind="spoon")
        error, details = self.refused(request)
        self.assertEqual(error.code(), grpc.StatusCode.INVALID_ARGUMENT)
        info = details[error_details_pb2.ErrorInfo]
        self.assertEqual((info.domain, info.reason), ("loftwright", "REQUEST_FAULTY"))
        violations = details[error_details_pb2.BadRequest].field_violations
        by_field = {violation.field: violation.description for violation in violations}
        self.assertEqual(len(by_field), 6, by_field)
        self.assertIn("`NaN`", by_field["readings.height"])
        self.assertIn("furlong", by_field["readings.wedge_attack_angle"])
        self.assertIn("150 mph", by_field["readings.driver_head_speed"])
        self.assertIn("`wrist_to_floor`", by_field["readings.wrist_to_flor"])
        self.assertIn("`smooth`", by_field["readings.tempo"])

    def test_without_a_data_directory_nothing_is_recorded_and_it_says_so(self):
        request = self.service.request("steady-right-hander")
        request.preview = False
        request.request_id = "123e4567-e89b-42d3-a456-426614174000"
        error, details = self.refused(request)
        self.assertEqual(error.code(), grpc.StatusCode.FAILED_PRECONDITION)
        self.assertIn("preview", error.details())
        self.assertEqual(details[error_details_pb2.ErrorInfo].domain, "loftwright")

    def test_an_unknown_ruleset_is_named(self):
        request = self.service.request("steady-right-hander")
        request.ruleset = "skery"
        error, details = self.refused(request)
        self.assertEqual(error.code(), grpc.StatusCode.NOT_FOUND)
        self.assertIn("`skery`", error.details())
        self.assertIn("`skerry`", error.details())
        self.assertEqual(details[error_details_pb2.ErrorInfo].reason, "RULESET_UNKNOWN")

    def test_ten_megabytes_are_refused_by_the_limit_of_that_name(self):
        request = self.service.request("steady-right-hander")
        request.readings["height"].value = "9" * 10_000_000
        error, details = self.refused(request)
        self.assertEqual(error.code(), grpc.StatusCode.RESOURCE_EXHAUSTED)
        self.assertIn("request_bytes", error.details())
        self.assertEqual(details[error_details_pb2.ErrorInfo].reason, "REQUEST_TOO_LARGE")

    def test_a_form_can_be_drawn_from_the_description(self):
        request = self.service.message("DescribeRulesetRequest")(ruleset="skerry")
        ruleset = self.service.call("DescribeRuleset", request).ruleset
        inputs = {described.name: described for described in ruleset.inputs}
        angle = inputs["wedge_attack_angle"]
        self.assertEqual((angle.lowest.text, angle.highest.text), ("-20 deg", "10 deg"))
        self.assertIn("wedge_bounce", angle.needed_by)
        self.assertEqual(list(inputs["tempo"].words), ["smooth", "normal", "quick"])
        self.assertTrue(inputs["sore_hands"].is_private)


if __name__ == "__main__":
    unittest.main()
