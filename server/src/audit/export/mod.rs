//! The log in one file, and how whoever has it finds out whether it was touched.
//!
//! An export holds the leaves of a stretch of the log, the checkpoints signed over them, and where
//! they are handed out the bodies with their salts. An evidence pack holds one record, the proof
//! that it is in the log, the checkpoint that the proof leads to, and what its rules and parts
//! were. Both are sequences of frames ([`FrameKind`]) and are written ([`ExportWriter`]) and read
//! ([`verify_export`]) in one go, in memory that does not grow with the log.
//!
//! Verifying takes the file, the verifier keys that one trusts, and if possible a checkpoint that
//! somebody else kept; no service, no database, and nothing that the file says of itself is
//! believed. Every fault is named with its place. What is found, and what cannot be:
//!
//! - A leaf changed, dropped, added or moved, at the next checkpoint: its root is another one. The
//!   frame's own check and the leaf's own position mostly say which one it was.
//! - A body that is not what was committed to.
//! - A history that somebody without the key wrote: no checkpoint of it is signed.
//! - A history that the holder of the key wrote anew, from the checkpoint on that somebody else
//!   kept. Not before the first such checkpoint: see [`CANNOT_BE_FOUND`].

mod compare;
mod evidence;
mod fault;
mod frame;
mod head;
mod report;
mod verify;
mod write;

pub use fault::{Fault, FaultKind};
pub use frame::{FrameKind, LARGEST_FRAME_BYTES, MAGIC};
pub use head::{Head, HeadKind, OlderLog};
pub use report::{CANNOT_BE_FOUND, MOST_FAULTS, OlderCheckpoint, Report};
pub use verify::{ExportError, verify_export};
pub use write::{ATTACHED_PARTS, ATTACHED_RULES, ExportWriter, WriteError};

#[cfg(test)]
mod sample;
#[cfg(test)]
mod tampering;
#[cfg(test)]
mod tests;
