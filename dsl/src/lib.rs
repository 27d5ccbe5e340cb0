//! The rules language of Loftwright: read, checked and handed on as a program.
//!
//! This crate is pure. It has no files, network, clock, threads, environment or randomness; a
//! folder of rules comes in as text and leaves as a [`program::Program`] or as diagnostics.

// What the parser generator writes names its types by this crate.
extern crate alloc;

pub mod analysis;
pub mod arena;
pub mod check;
pub mod diagnostic;
pub mod digest;
pub mod format;
pub mod index;
pub mod outline;
pub mod program;
pub mod quantity;
pub mod syntax;
