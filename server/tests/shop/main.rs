//! A shop at work: catalogue and stock published and changed, builds confirmed, and all of it found
//! again after a restart.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

mod at_once;
mod building;
mod commands;
mod parts;
mod returned;
mod running;
mod statistics;
