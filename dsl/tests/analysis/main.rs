//! The analysis: every answer of the box sweep held against looking at every point.

#![expect(
    clippy::panic,
    clippy::indexing_slicing,
    clippy::unwrap_used,
    reason = "helpers of tests fail as tests do"
)]

mod literals;
mod numbers;
mod ranges;
mod sweep;
mod tables;
