//! A snapshot of parts and stock: its canonical text, the digest that identifies it, and the parts
//! of a text again.
//!
//! The text names kinds, parts, pieces and fields in sorted order, values exact, every item on a
//! line of its own with its length before it, so that no two snapshots share a text. A record
//! names the digest; whoever keeps the text can evaluate the record again.

mod read;
mod write;

use std::fmt::Write;

use loftwright_dsl::program::Program;
use loftwright_engine::parts::Parts;
use sha2::{Digest, Sha256};

pub use read::{SnapshotFault, parts_of_text};
pub use write::parts_text;

/// What the text begins with.
const HEAD: &str = "loftwright parts 2\n";

/// The words before the values of a text, each of which begins a line.
mod label {
    pub(super) const KIND: &str = "kind";
    pub(super) const PART: &str = "part";
    pub(super) const LEAD_TIME_DAYS: &str = "lead time in days";
    pub(super) const ON_HAND: &str = "on hand";
    pub(super) const PIECE: &str = "piece";
    /// How many fields of a record follow.
    pub(super) const FIELDS: &str = "fields";
    pub(super) const FIELD: &str = "field";
    pub(super) const NUMBER: &str = "number";
    pub(super) const FLAG: &str = "flag";
    pub(super) const WORD: &str = "word";
    pub(super) const TEXT: &str = "text";
    /// How many records of a list follow.
    pub(super) const RECORDS: &str = "records";
    /// How many values of a list follow.
    pub(super) const VALUES: &str = "values";
}

/// SHA-256 of the parts' text, in lower-case hexadecimal.
pub fn parts_digest(program: &Program, parts: &Parts) -> String {
    let text = parts_text(program, parts);
    Sha256::digest(text.as_bytes())
        .iter()
        .fold(String::new(), |mut hexadecimal, byte| {
            // Writing to a string cannot fail.
            let _ = write!(hexadecimal, "{byte:02x}");
            hexadecimal
        })
}
