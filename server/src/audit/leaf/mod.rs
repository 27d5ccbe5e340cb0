//! What a leaf of the log is: a clear header, and one commitment to a body that stays private.
//!
//! Everything that is done is a leaf: a recommendation, a build confirmed, rules published and
//! activated, catalogue and stock, keys, roles, an erasure, a record read by a person
//! ([`LeafKind`]). The header says what, when, by whom and under which rules, and never what the
//! player's readings are. The body (request, decisions, reasons) is personal, so the leaf holds
//! only [`body_commitment`]: a hash of a random salt and the body. Both are kept under the
//! subject's key; once it is destroyed nobody can say what the commitment was of, and the tree
//! stands.
//!
//! The commitment is to the body itself and not to its encrypted form: a ciphertext can be made
//! that opens under two keys to two bodies, and what is to be proved is what was answered.
//!
//! The bytes of a leaf are the header in the canonical [encoding](super::encoding), which says
//! itself where it ends, and then the 32 bytes of the commitment. `FORMAT.md`, beside this folder,
//! says it for programs that others write.

mod commitment;
mod header;
mod kind;

pub use commitment::{Salt, SaltError, body_commitment, request_id_hash, subject_commitment};
pub use header::{LARGEST_LEAF_BYTES, LONGEST_PRINCIPAL_BYTES, Leaf, LeafFault, LeafHeader};
pub use kind::LeafKind;

#[cfg(test)]
mod tests;
