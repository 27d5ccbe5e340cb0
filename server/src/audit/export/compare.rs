//! Comparing what was read with what is signed, and with what somebody else kept; and what can be
//! said only at the end of the file.

use super::super::merkle::verify_consistency;
use super::super::note::Checkpoint;
use super::fault::{Fault, FaultKind};
use super::report::{OlderCheckpoint, Report};
use super::verify::{Stage, Verifier};

impl Verifier<'_> {
    /// Whether a signed root is that of the records so far.
    pub(super) fn compare_root(&mut self, checkpoint: &Checkpoint) -> bool {
        let size = checkpoint.size;
        if self.last_checkpoint_size == Some(size) {
            self.fault(
                FaultKind::Order,
                None,
                format!("two checkpoints of {size} records"),
            );
            return false;
        }
        self.last_checkpoint_size = Some(size);
        if size != self.frontier.size() {
            let here = self.frontier.size();
            let message = format!("a checkpoint of {size} records stands after {here}");
            self.fault(FaultKind::Order, None, message);
            return false;
        }
        if checkpoint.root == self.frontier.root() {
            self.good_size = size;
            return true;
        }
        if !self.has_other_root {
            self.has_other_root = true;
            self.report.fault(Fault {
                kind: FaultKind::Root,
                byte: self.at,
                record: (size > self.good_size).then_some(self.good_size),
                last_record: (size > self.good_size).then(|| size - 1),
                message: format!("the first {size} records are not those that were signed here"),
            });
        }
        false
    }

    /// Whether the log so far is the one of the older checkpoint, where it is as long.
    pub(super) fn compare_with_older(&mut self) {
        // The one record of a pack is not the beginning of a log.
        if self.evidence.is_some() {
            return;
        }
        let Some(older) = self
            .older
            .filter(|older| older.size == self.frontier.size())
        else {
            return;
        };
        if older.root == self.frontier.root() {
            self.report.older_checkpoint = OlderCheckpoint::Continued(older.size);
            return;
        }
        self.report.older_checkpoint = OlderCheckpoint::NotContinued(older.size);
        self.report.fault(Fault {
            kind: FaultKind::OlderCheckpoint,
            byte: self.at,
            record: (older.size > 0).then_some(0),
            last_record: older.size.checked_sub(1),
            message: "these are not the records of the older checkpoint: the log was rewritten"
                .to_owned(),
        });
    }

    /// Whether the checkpoint of a pack continues the older one: it is the same, or the pack has
    /// the proof.
    pub(super) fn compare_evidence_with_older(&mut self, checkpoint: &Checkpoint) {
        let Some(older) = self.older else {
            return;
        };
        let is_continued = if older.size == checkpoint.size {
            older.root == checkpoint.root
        } else {
            let evidence = self.evidence.as_ref();
            let Some(proof) = evidence.and_then(|pack| pack.goes_on_from(older.size)) else {
                return;
            };
            let (sizes, roots) = ((older.size, checkpoint.size), (older.root, checkpoint.root));
            verify_consistency(sizes.0, sizes.1, proof, &roots.0, &roots.1).is_ok()
        };
        if is_continued {
            self.report.older_checkpoint = OlderCheckpoint::Continued(older.size);
        } else {
            self.report.older_checkpoint = OlderCheckpoint::NotContinued(older.size);
            let message = "the log of this pack does not continue the checkpoint kept elsewhere: \
                           the log was rewritten";
            self.fault(FaultKind::OlderCheckpoint, None, message);
        }
    }

    /// What can be said only at the end of the file.
    pub(super) fn finish(mut self, end: u64) -> Report {
        self.at = end;
        if self.stage != Stage::Ended && !self.is_broken {
            let record = (self.stage == Stage::Content).then_some(self.position);
            self.fault(
                FaultKind::CutShort,
                record,
                "the file ends without its end frame",
            );
        }
        match self.evidence.take() {
            Some(evidence) => {
                if let Some(message) = evidence.is_missing() {
                    self.fault(FaultKind::CutShort, Some(self.report.first_record), message);
                }
            }
            None if self.stage != Stage::Head => self.finish_log(),
            None => {}
        }
        self.finish_older();
        self.report
    }

    fn finish_log(&mut self) {
        let size = self.frontier.size();
        if size != self.size {
            let message = format!(
                "the head says the log has {} records; {size} are here",
                self.size
            );
            self.fault(FaultKind::CutShort, Some(self.position), message);
        }
        let signed = self.report.signed_size;
        if !self.has_other_root && (size > self.good_size || signed.is_none()) {
            self.report.fault(Fault {
                kind: FaultKind::NotCovered,
                byte: self.at,
                record: (size > self.good_size).then_some(self.good_size),
                last_record: (size > self.good_size).then(|| size - 1),
                message: "no signed checkpoint covers them: nobody vouches for what they say"
                    .to_owned(),
            });
        }
    }

    fn finish_older(&mut self) {
        let Some(older) = self.older else {
            return;
        };
        if older.origin != self.report.origin && self.stage != Stage::Head {
            let (of, here) = (&older.origin, &self.report.origin);
            let message =
                format!("the older checkpoint is of the log `{of}`, and this is `{here}`");
            self.fault(FaultKind::OlderCheckpoint, None, message);
        }
        if self.report.older_checkpoint != OlderCheckpoint::NotGiven {
            return;
        }
        self.report.older_checkpoint = OlderCheckpoint::NotContinued(older.size);
        let (first, here, size) = (self.report.first_record, self.frontier.size(), older.size);
        let message = if self.report.is_evidence {
            format!(
                "the older checkpoint is of {size} records and the pack's of {}: ask for a pack \
                 that goes on from the older one (`export-record --since`), or for an export of the \
                 log",
                self.size
            )
        } else if size < first {
            format!(
                "the older checkpoint is of {size} records, and the export begins at record \
                 {first}: ask for an export from record {size} or before"
            )
        } else {
            format!(
                "the older checkpoint is of {size} records, and the export ends after {here}: \
                 records are missing"
            )
        };
        self.fault(FaultKind::OlderCheckpoint, None, message);
    }
}
