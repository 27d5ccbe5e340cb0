//! Records explained, listed, shown and exported, as an auditor does it a year later.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod asking;
mod listing;
mod running;
