//! The tamper-evident record: what is logged, how it is hashed, signed, handed out and verified.
//!
//! A record is a leaf of a Merkle tree ([`merkle`]). Nothing here keeps a file or a database open:
//! the store is an argument, so that the same code serves the service, the command that verifies an
//! export, and the tests.

pub mod act;
pub mod columns;
pub mod encoding;
pub mod export;
pub mod leaf;
pub mod merkle;
pub mod note;

#[cfg(test)]
mod test_support;
