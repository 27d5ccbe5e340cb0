//! Writing an export or an evidence pack.

use std::collections::BTreeMap;
use std::io::{self, Write};

use super::super::encoding::{EncodeFault, Value, encode};
use super::super::leaf::Salt;
use super::super::note::{RingKey, SignedNote};
use super::frame::{CHECK_BYTES, FrameKind, LARGEST_FRAME_BYTES, MAGIC, frame_bytes};
use super::head::Head;

/// The name of an attachment that is the revision's source: its SHA-256 is the record's
/// `rules_digest`.
pub const ATTACHED_RULES: &str = "rules";
/// The name of an attachment that is the snapshot of catalogue and stock in its canonical form: its
/// SHA-256 is the record's `parts_digest`.
pub const ATTACHED_PARTS: &str = "parts";

/// Why a file cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The system does not take it.
    #[error("the export cannot be written: {0}")]
    System(#[from] io::Error),
    /// A record or an attachment is too large.
    #[error("a {0} of an export has at most {LARGEST_FRAME_BYTES} bytes")]
    TooLarge(&'static str),
    /// It is larger than what is read again: nothing that we write is.
    #[error(transparent)]
    Encode(#[from] EncodeFault),
}

/// Writes frames one after the other. The caller keeps the order: keys, then records with the
/// checkpoints between them, each where its size is reached; or keys, the record, its checkpoint,
/// attachments. `FORMAT.md` says it in full.
#[derive(Debug)]
pub struct ExportWriter<W> {
    output: W,
    check: [u8; CHECK_BYTES],
    records: u64,
    checkpoints: u64,
}

impl<W: Write> ExportWriter<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn begin(mut output: W, head: &Head) -> Result<Self, WriteError> {
        output.write_all(MAGIC)?;
        let mut writer = ExportWriter {
            output,
            check: [0; CHECK_BYTES],
            records: 0,
            checkpoints: 0,
        };
        writer.frame(FrameKind::Head, &head.to_value())?;
        Ok(writer)
    }

    /// Writes a verifier key that the log has used.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn key(&mut self, key: &RingKey) -> Result<(), WriteError> {
        let line = key.to_string();
        self.frame(FrameKind::Key, &Value::map([("key", line.as_str().into())]))
    }

    /// Writes a record: the bytes of its leaf, and its body where it is handed out.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn record(&mut self, leaf: &[u8], body: Option<(&Salt, &[u8])>) -> Result<(), WriteError> {
        let mut values = BTreeMap::from([("leaf", Value::Bytes(leaf.to_vec()))]);
        if let Some((salt, body)) = body {
            values.insert("salt", Value::Bytes(salt.0.to_vec()));
            values.insert("body", Value::Bytes(body.to_vec()));
        }
        self.records += 1;
        self.frame(FrameKind::Record, &Value::map(values))
    }

    /// Writes a checkpoint over the records so far.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn checkpoint(&mut self, note: &SignedNote) -> Result<(), WriteError> {
        self.checkpoints += 1;
        let note = note.to_text();
        let content = Value::map([("note", note.as_str().into())]);
        self.frame(FrameKind::Checkpoint, &content)
    }

    /// Writes what a digest of the record is of: [`ATTACHED_RULES`] or [`ATTACHED_PARTS`].
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn attachment(&mut self, name: &str, content: &[u8]) -> Result<(), WriteError> {
        let content = Value::Bytes(content.to_vec());
        let content = Value::map([("content", content), ("name", name.into())]);
        self.frame(FrameKind::Attachment, &content)
    }

    /// Ends the file.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn end(mut self) -> Result<W, WriteError> {
        let counts = Value::map([
            ("checkpoints", self.checkpoints.into()),
            ("records", self.records.into()),
        ]);
        self.frame(FrameKind::End, &counts)?;
        self.output.flush()?;
        Ok(self.output)
    }

    fn frame(&mut self, kind: FrameKind, content: &Value) -> Result<(), WriteError> {
        let content = encode(content)?;
        let (bytes, check) =
            frame_bytes(kind, &content, &self.check).ok_or(WriteError::TooLarge(kind.name()))?;
        self.output.write_all(&bytes)?;
        self.check = check;
        Ok(())
    }
}
