//! What is wrong with an export, and where.

use std::fmt;

use serde::Serialize;

/// A fault with its place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// What sort of fault it is.
    pub kind: FaultKind,
    /// The byte of the file at which the frame begins that is at fault, or at which the file ends.
    pub byte: u64,
    /// The record, counted from 0 in the log; the first of several where it is one of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub record: Option<u64>,
    /// The last of the records of which one is at fault.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub last_record: Option<u64>,
    /// A sentence in lower case.
    pub message: String,
}

/// The sorts of faults.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FaultKind {
    /// A frame is not as it was written.
    Damaged,
    /// The file ends too early.
    CutShort,
    /// What stands here cannot be read; neither can what follows a broken frame.
    Unreadable,
    /// A frame stands where it may not.
    Order,
    /// A record is not the one that should be here: one is missing, moved or doubled.
    Position,
    /// A leaf is not one.
    Leaf,
    /// A body is not what was committed to.
    Body,
    /// The records are not those that were signed.
    Root,
    /// A checkpoint is malformed, of another log, or not signed by a trusted key.
    Checkpoint,
    /// Records that no checkpoint covers.
    NotCovered,
    /// The log is not the one of the older checkpoint, or cannot be compared with it.
    OlderCheckpoint,
    /// The record is not proved to be in the log.
    Proof,
    /// An attachment is not what the record names.
    Attachment,
}

impl fmt::Display for Fault {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "byte {}", self.byte)?;
        match (self.record, self.last_record) {
            (Some(first), Some(last)) if first != last => {
                write!(formatter, ", records {first} to {last}")?;
            }
            (Some(record), _) => write!(formatter, ", record {record}")?,
            (None, _) => {}
        }
        write!(formatter, ": {}", self.message)
    }
}
