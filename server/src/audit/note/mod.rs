//! Signed notes and checkpoints: how the root of the log leaves the operator's hands.
//!
//! A *signed note* (C2SP signed-note, c2sp.org/signed-note) is a text, a blank line, and lines with
//! signatures. A *checkpoint* (C2SP tlog-checkpoint, c2sp.org/tlog-checkpoint) is a note whose text
//! is the log's name, how many records it has, and the root over them. Whoever keeps one can later
//! show that the log was changed, if it was. Both formats are open, so any program that knows them
//! can keep and compare our checkpoints.
//!
//! Keys are Ed25519 (RFC 8032), in the encodings that signed notes use everywhere: a
//! [`VerifierKey`] is `NAME+ID+BASE64`, a [`SigningKey`] `PRIVATE+KEY+NAME+ID+BASE64`.
//! [`key_file`] keeps the secret one to its owner. A [`KeyRing`] is what a verifier trusts: keys,
//! each with the sizes of the log at which it signed, since keys are changed now and then.
//!
//! Reading is strict: what is not exactly as the format says is refused, with the byte at which it
//! is not. Signatures of keys that the ring does not know are passed over, as the format demands.

mod checkpoint;
mod fault;
pub mod key_file;
mod key_ring;
mod signed;
mod signing;
mod verifier;

pub use checkpoint::{Checkpoint, CheckpointError, open_checkpoint, sign_checkpoint};
pub use fault::{KeyFault, NoteFault, NoteFaultKind};
pub use key_ring::{KeyRing, KeyRingFault, RingKey, TrustFault};
pub use signed::{LARGEST_NOTE_BYTES, MOST_SIGNATURES, NoteSignature, SignedNote};
pub use signing::SigningKey;
pub use verifier::VerifierKey;

#[cfg(test)]
mod tests;
