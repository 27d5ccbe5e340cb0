//! Records explained, listed, shown and exported, as an auditor does it a year later.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

mod asking;
mod browser;
mod evidence;
mod fetching;
mod listing;
mod pages;
mod planted;
mod private;
