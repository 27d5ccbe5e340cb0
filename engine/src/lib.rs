//! The fitting engine: evaluates a checked program with the models.
//!
//! Pure and deterministic to the byte: no files, clock, randomness, threads or environment. The
//! same program, parts, player and day give the same answer and the same trace on every machine.

pub mod assemble;
pub mod assure;
pub mod contract;
pub mod evaluate;
pub mod explain;
pub mod fit;
pub mod intake;
pub mod model;
pub mod outcome;
pub mod parts;
pub mod picture;
mod places;
pub mod player;
pub mod recommendation;
pub mod set;
mod shelf;
pub mod stocking;
pub mod sure;
pub mod ticket;
pub mod trace;

/// The version of the engine's semantics: bumped by every change of any answer.
pub const SEMANTICS_VERSION: u32 = 5;

/// The version of the contract between engine and rules.
pub const CONTRACT_VERSION: u32 = 3;

/// The contract: a layer of the language under every ruleset.
pub const CONTRACT_RULES: &str = include_str!("../contract.rules");
