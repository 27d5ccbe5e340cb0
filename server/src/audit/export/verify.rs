//! Verifying a file, frame by frame.

use std::io::{self, Read};

use super::super::encoding::{Borrowed, FieldFault, Fields, decode};
use super::super::leaf::{Leaf, Salt, body_commitment};
use super::super::merkle::{Frontier, Hash, leaf_hash};
use super::super::note::{Checkpoint, KeyRing, RingKey, open_checkpoint};
use super::evidence::Evidence;
use super::fault::{Fault, FaultKind};
use super::frame::{Frame, FrameFault, FrameKind, FrameReader};
use super::head::{Head, HeadKind};
use super::report::Report;

/// Why a file cannot be verified at all.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// It is something else.
    #[error("this is no export of a log: it does not begin with `loftwright export 1`")]
    NoExport,
    /// It cannot be read.
    #[error("the export cannot be read: {0}")]
    System(#[from] io::Error),
}

/// Verifies an export or an evidence pack against the keys that one trusts, and the checkpoint that
/// somebody else kept, if there is one (its signature is the caller's to check).
///
/// # Errors
/// [`ExportError`], where there is nothing to verify. Everything else is a fault of the [`Report`].
pub fn verify_export(
    input: impl Read,
    ring: &KeyRing,
    older: Option<&Checkpoint>,
) -> Result<Report, ExportError> {
    let mut reader = FrameReader::open(input)?.ok_or(ExportError::NoExport)?;
    let mut verifier = Verifier::new(ring, older);
    loop {
        match reader.next() {
            Ok(Some(frame)) => verifier.frame(&frame),
            Ok(None) => break,
            Err(FrameFault::System(error)) => return Err(error.into()),
            Err(fault) => {
                verifier.broken(&fault);
                break;
            }
        }
    }
    Ok(verifier.finish(reader.at()))
}

/// Where in the file the reader is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stage {
    Head,
    Content,
    Ended,
}

pub(super) struct Verifier<'a> {
    ring: &'a KeyRing,
    pub(super) older: Option<&'a Checkpoint>,
    pub(super) report: Report,
    pub(super) stage: Stage,
    pub(super) size: u64,
    /// The tree so far.
    pub(super) frontier: Frontier,
    /// The position that the next leaf must have.
    pub(super) position: u64,
    /// Up to which size the records are known to be those that were signed.
    pub(super) good_size: u64,
    /// A root was another one: those that follow are too, and are not told again.
    pub(super) has_other_root: bool,
    pub(super) last_checkpoint_size: Option<u64>,
    checkpoints_read: u64,
    pub(super) is_broken: bool,
    pub(super) evidence: Option<Evidence>,
    pub(super) at: u64,
}

impl<'a> Verifier<'a> {
    fn new(ring: &'a KeyRing, older: Option<&'a Checkpoint>) -> Self {
        Verifier {
            ring,
            older,
            report: Report::default(),
            stage: Stage::Head,
            size: 0,
            frontier: Frontier::empty(),
            position: 0,
            good_size: 0,
            has_other_root: false,
            last_checkpoint_size: None,
            checkpoints_read: 0,
            is_broken: false,
            evidence: None,
            at: 0,
        }
    }

    pub(super) fn fault(
        &mut self,
        kind: FaultKind,
        record: Option<u64>,
        message: impl Into<String>,
    ) {
        self.report.fault(Fault {
            kind,
            byte: self.at,
            record,
            last_record: None,
            message: message.into(),
        });
    }

    fn broken(&mut self, fault: &FrameFault) {
        let (at, kind) = match fault {
            FrameFault::CutShort(at) => (*at, FaultKind::CutShort),
            FrameFault::NoFrame { at, .. } | FrameFault::TooLarge { at, .. } => {
                (*at, FaultKind::Unreadable)
            }
            FrameFault::System(_) => (self.at, FaultKind::Unreadable),
        };
        self.at = at;
        self.is_broken = true;
        let record = (self.stage == Stage::Content).then_some(self.position);
        self.fault(kind, record, format!("{fault}; nothing after it is read"));
    }

    fn frame(&mut self, frame: &Frame) {
        self.at = frame.at;
        let of_record = frame.kind == FrameKind::Record && self.stage == Stage::Content;
        let record = of_record.then_some(self.position);
        if !frame.is_intact {
            let message = format!("this {} is not as it was written", frame.kind.name());
            self.fault(FaultKind::Damaged, record, message);
        }
        let is_head = frame.kind == FrameKind::Head;
        if self.stage == Stage::Ended || is_head != (self.stage == Stage::Head) {
            let message = format!(
                "a frame of the sort {} may not stand here",
                frame.kind.name()
            );
            self.fault(FaultKind::Order, record, message);
            return;
        }
        let content = match decode(&frame.content) {
            Ok(content) => content,
            Err(fault) => {
                let message = format!("this {} cannot be read: {fault}", frame.kind.name());
                self.fault(FaultKind::Unreadable, record, message);
                // A record is there all the same, and the next one follows it.
                self.position = self.position.saturating_add(of_record.into());
                return;
            }
        };
        let found = match frame.kind {
            FrameKind::Head => self.head(content),
            FrameKind::Key => self.key(content),
            FrameKind::Record => self.record(content),
            FrameKind::Checkpoint => self.checkpoint(content),
            FrameKind::Attachment => self.attachment(content),
            FrameKind::End => self.end(content),
        };
        if let Err(fault) = found {
            let message = format!("this {} cannot be read: {fault}", frame.kind.name());
            self.fault(FaultKind::Unreadable, record, message);
        }
    }

    fn head(&mut self, content: Borrowed<'_>) -> Result<(), FieldFault> {
        self.stage = Stage::Content;
        let head = Head::of_value(content)?;
        self.report.origin = head.origin;
        self.size = head.size;
        match head.kind {
            HeadKind::Log { first, peaks } => {
                match Frontier::of(first, peaks) {
                    Ok(frontier) => self.frontier = frontier,
                    Err(fault) => {
                        let message = format!("the records before the first: {fault}");
                        self.fault(FaultKind::Unreadable, None, message);
                    }
                }
                self.position = first;
                self.good_size = first;
                self.report.first_record = first;
                self.compare_with_older();
            }
            HeadKind::Evidence {
                position,
                proof,
                older,
            } => {
                self.position = position;
                self.report.first_record = position;
                self.report.is_evidence = true;
                self.evidence = Some(Evidence::new(position, head.size, proof, older));
            }
        }
        Ok(())
    }

    /// A key is there for people; it must still be one.
    fn key(&mut self, content: Borrowed<'_>) -> Result<(), FieldFault> {
        let mut fields = Fields::of(content)?;
        let line: String = fields.needed("key")?;
        fields.none_left()?;
        let is_key = KeyRing::parse(&line).is_ok_and(|ring| {
            let lines: Vec<String> = ring.keys().iter().map(RingKey::to_string).collect();
            lines == [line.as_str()]
        });
        if !is_key {
            self.fault(FaultKind::Unreadable, None, "this is no verifier key");
        }
        if self.report.records > 0 || self.checkpoints_read > 0 {
            self.fault(
                FaultKind::Order,
                None,
                "keys stand before records and checkpoints",
            );
        }
        Ok(())
    }

    fn record(&mut self, content: Borrowed<'_>) -> Result<(), FieldFault> {
        let place = self.position;
        self.position = self.position.saturating_add(1);
        self.report.records += 1;
        let mut fields = Fields::of(content)?;
        let bytes: Vec<u8> = fields.needed("leaf")?;
        let salt: Option<Hash> = fields.optional("salt")?;
        let body: Option<Vec<u8>> = fields.optional("body")?;
        fields.none_left()?;
        let hash = leaf_hash(&bytes);
        if let Err(fault) = self.frontier.add(hash, &mut Vec::new()) {
            self.fault(FaultKind::Order, Some(place), fault.to_string());
        }
        let leaf = match Leaf::parse(&bytes) {
            Ok(leaf) => leaf,
            Err(fault) => {
                self.fault(FaultKind::Leaf, Some(place), fault.to_string());
                self.compare_with_older();
                return Ok(());
            }
        };
        let found = leaf.header.position;
        if found != place {
            let message = format!("record {found} stands here, where record {place} should");
            self.fault(FaultKind::Position, Some(place), message);
            // One fault for each gap: what follows is counted from here.
            self.position = found.saturating_add(1);
        }
        match (salt, body) {
            (None, None) => self.report.bodies_not_given += 1,
            (Some(salt), Some(body))
                if body_commitment(&Salt(salt.0), &body) == leaf.commitment =>
            {
                self.report.bodies_as_committed += 1;
            }
            (Some(_), Some(_)) => {
                let message = "the body is not what the record commits to";
                self.fault(FaultKind::Body, Some(place), message);
            }
            _ => {
                let message = "a body stands with its salt, and neither alone";
                self.fault(FaultKind::Body, Some(place), message);
            }
        }
        if let Some(evidence) = &mut self.evidence
            && let Err(message) = evidence.record(leaf, hash)
        {
            self.fault(FaultKind::Order, Some(place), message);
        }
        self.compare_with_older();
        Ok(())
    }

    fn checkpoint(&mut self, content: Borrowed<'_>) -> Result<(), FieldFault> {
        self.checkpoints_read += 1;
        let mut fields = Fields::of(content)?;
        let note: String = fields.needed("note")?;
        fields.none_left()?;
        let ring = self.ring;
        let (checkpoint, signers) = match open_checkpoint(note.as_bytes(), ring) {
            Ok(opened) => opened,
            Err(fault) => {
                self.fault(FaultKind::Checkpoint, None, fault.to_string());
                return Ok(());
            }
        };
        if checkpoint.origin != self.report.origin {
            let (of, here) = (&checkpoint.origin, &self.report.origin);
            let message = format!("a checkpoint of the log `{of}`, in an export of `{here}`");
            self.fault(FaultKind::Checkpoint, None, message);
            return Ok(());
        }
        let signers = signers
            .iter()
            .map(|key| format!("{} (key {:08x})", key.name(), key.id()));
        let signers: Vec<String> = signers.collect();
        let is_good = match &mut self.evidence {
            Some(evidence) => match evidence.checkpoint(&checkpoint) {
                Ok(()) => true,
                Err((kind, message)) => {
                    self.fault(kind, Some(self.report.first_record), message);
                    false
                }
            },
            None => self.compare_root(&checkpoint),
        };
        if is_good {
            self.report.checkpoints += 1;
            self.report.signed_size = Some(checkpoint.size);
            self.report.signers = signers;
        }
        if self.evidence.is_some() {
            self.compare_evidence_with_older(&checkpoint);
        }
        Ok(())
    }

    fn attachment(&mut self, content: Borrowed<'_>) -> Result<(), FieldFault> {
        let mut fields = Fields::of(content)?;
        let name: String = fields.needed("name")?;
        let content: Vec<u8> = fields.needed("content")?;
        fields.none_left()?;
        let found = match &mut self.evidence {
            Some(evidence) => evidence.attachment(&name, &content),
            None => Err("only an evidence pack has attachments".to_owned()),
        };
        match found {
            Ok(()) => self.report.attachments.push(name),
            Err(message) => self.fault(FaultKind::Attachment, None, message),
        }
        Ok(())
    }

    fn end(&mut self, content: Borrowed<'_>) -> Result<(), FieldFault> {
        self.stage = Stage::Ended;
        let mut fields = Fields::of(content)?;
        let records: u64 = fields.needed("records")?;
        let checkpoints: u64 = fields.needed("checkpoints")?;
        fields.none_left()?;
        let (here, read) = (self.report.records, self.checkpoints_read);
        if (records, checkpoints) != (here, read) {
            let message = format!(
                "the end says {records} records and {checkpoints} checkpoints; \
                 {here} and {read} were there"
            );
            self.fault(FaultKind::CutShort, Some(self.position), message);
        }
        Ok(())
    }
}
