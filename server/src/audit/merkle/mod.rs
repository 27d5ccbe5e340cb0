//! The Merkle tree over the leaves of the log, hashed as RFC 6962 section 2.1 (RFC 9162 section
//! 2.1) says, by code that fits a store of nodes.
//!
//! A tree of n leaves is cut into *perfect* subtrees, whose leaves are a power of two in number and
//! begin at a multiple of it. Once such a subtree is full its hash never changes, so only those are
//! stored ([`NodePlace`]), and n leaves have fewer than 2 n of them. The hash of any stretch that a
//! root or a proof asks for is folded from at most 64 of them.
//!
//! Three steps, none of which does any input or output:
//!
//! - [`Frontier`] grows the tree: it holds the roots of the perfect subtrees at the right edge, and
//!   says which nodes a new leaf makes. It needs no store, and is all that a verifier remembers.
//! - [`Plan`] says which nodes a root, an inclusion proof or a consistency proof is made of, so
//!   that a store may fetch them in one go, and folds them. [`NodeStore`] is the plain way to do
//!   so.
//! - [`verify_inclusion`] and [`verify_consistency`] check proofs, and need neither.

mod frontier;
mod hash;
mod node;
mod plan;
mod verify;

pub use frontier::{Frontier, FrontierError, LOG_FULL_AT};
pub use hash::{Hash, empty_root, leaf_hash, node_hash};
pub use node::{MemoryNodes, NewNode, NodePlace, NodeStore};
pub use plan::{Plan, PlanError};
pub use verify::{ProofError, verify_consistency, verify_inclusion};

#[cfg(test)]
mod figures;
#[cfg(test)]
mod tests;
