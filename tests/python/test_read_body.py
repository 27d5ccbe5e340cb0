"""What a record says, read by the second reader from what is handed out, beside what the service says
of it."""

import unittest

import read_body
import verify_log as v
from service import DEADLINE_SECONDS, RecordedCase

AUDIT = "loftwright.v1.AuditService"


def plain(message):
    """A message by the names of its fields, as a body has it."""

    def of(field, value):
        if field.message_type:
            return plain(value)
        return field.enum_type.values_by_number[value].name if field.enum_type else value

    fields = {}
    for field, value in message.ListFields():
        if field.message_type and field.message_type.GetOptions().map_entry:
            inner = field.message_type.fields_by_name["value"]
            fields[field.name] = {name: of(inner, one) for name, one in value.items()}
        elif hasattr(value, "append") or hasattr(value, "add"):
            fields[field.name] = [of(field, one) for one in value]
        else:
            fields[field.name] = of(field, value)
    return fields


class ReadBodyTest(RecordedCase):
    def evidence(self, record):
        """The evidence pack of a record."""
        answer = self.service.message("ExportRecordResponse")
        invoke = self.service.channel.unary_stream(
            f"/{AUDIT}/ExportRecord",
            request_serializer=lambda message: message.SerializeToString(),
            response_deserializer=answer.FromString,
        )
        request = self.service.message("ExportRecordRequest")(id=record)
        return b"".join(one.piece for one in invoke(request, timeout=DEADLINE_SECONDS))

    def test_a_record_is_read_without_the_program(self):
        for number, player in enumerate(("steady-right-hander", "readings-missing")):
            request = self.service.request(player)
            request.preview = False
            request.request_id = f"123e4567-e89b-42d3-a456-42661417400{number}"
            record = self.service.call("Recommend", request).record
            asked = self.service.message("GetRecordRequest")(id=record.id)
            said = self.service.call("GetRecord", asked, AUDIT).record
            evidence = self.evidence(record.id)
            request, recommendation = read_body.read_evidence(evidence)
            self.assertEqual(request, plain(said.request))
            self.assertEqual(recommendation, plain(said.recommendation))
            self.assertGreater(len(recommendation["decisions"]), 300)

    def test_what_is_changed_is_refused(self):
        known = read_body.known_texts(b"decide a : angle\n  gives 3 deg because \"Why.\"\n")
        self.assertIn("gives 3 deg", known)
        self.assertIn("Why.", known)
        value = read_body.Columns(bytes([1, 1, 65, 7, 2, 5, 0, 2]), known).value()
        self.assertEqual(value, ["A", "A"])
        with self.assertRaises(v.Malformed):
            read_body.Columns(bytes([1, 1, 65, 0]), known).value()


if __name__ == "__main__":
    unittest.main()
