//! Reasons, limits, cautions and cases on small rules.
//!
//! What must come out is written from the language reference and by hand, never copied from an
//! answer.

#![expect(
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test stops at the first surprise"
)]

mod beyond;
mod cases;
mod choices;
mod decisions;
mod expectations;
mod limits;
mod pictures;
mod ranges;
mod sharing;
mod support;
mod sureness;
