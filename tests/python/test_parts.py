"""A shop's program: the stock listed and changed, a build confirmed, the piece gone."""

import unittest

import grpc
from google.rpc import error_details_pb2
from grpc_status import rpc_status

from service import PARTS, RecordedCase


class PartsTest(RecordedCase):
    def stock(self, **wanted):
        request = self.service.message("ListStockRequest")(page_size=1000, **wanted)
        return self.service.call("ListStock", request, PARTS)

    def test_a_count_is_changed_and_a_stale_snapshot_refused(self):
        before = self.stock(kind="grip", part="G-U-RN")
        request = self.service.message("UpdateStockRequest")(
            expected_digest=before.snapshot.digest, reason="counted"
        )
        request.changes.counts.add(kind="grip", part="G-U-RN", change_by=-1)
        answer = self.service.call("UpdateStock", request, PARTS)
        after = self.stock(kind="grip", part="G-U-RN")
        self.assertEqual(after.items[0].count, before.items[0].count - 1)
        self.assertEqual(after.snapshot, answer.snapshot)
        with self.assertRaises(grpc.RpcError) as refused:
            self.service.call("UpdateStock", request, PARTS)
        self.assertEqual(refused.exception.code(), grpc.StatusCode.ABORTED)

    def test_a_build_is_confirmed_and_its_pieces_are_gone(self):
        request = self.service.request("steady-right-hander")
        request.preview = False
        request.request_id = "123e4567-e89b-42d3-a456-426614174000"
        answer = self.service.call("Recommend", request)
        head = answer.recommendation.clubs[0].head.part
        confirm = self.service.message("ConfirmBuildRequest")(
            record_id=answer.record.id, request_id="123e4567-e89b-42d3-a456-426614174001"
        )
        field = confirm.clubs.add(name="7 iron").fields.add(name="length", value="36 in")
        with self.assertRaises(grpc.RpcError) as refused:
            self.service.call("ConfirmBuild", confirm)
        self.assertIn("say why", refused.exception.details())
        field.reason = "he chokes down"
        build = self.service.call("ConfirmBuild", confirm).build
        self.assertEqual([one.decision for one in build.overrides], ["club_length"])
        left = self.stock(kind="head", part=head.part_id)
        self.assertNotIn(head.piece_id, [item.piece_id for item in left.items])
        confirm.request_id = "123e4567-e89b-42d3-a456-426614174002"
        with self.assertRaises(grpc.RpcError) as refused:
            self.service.call("ConfirmBuild", confirm)
        details = rpc_status.from_call(refused.exception).details
        info = error_details_pb2.ErrorInfo()
        self.assertTrue(details[0].Unpack(info))
        self.assertEqual(info.reason, "BUILT_ALREADY")


if __name__ == "__main__":
    unittest.main()
