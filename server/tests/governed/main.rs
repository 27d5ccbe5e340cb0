//! Rules and roles under control: published, put in force, found again after a restart; who may.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

mod damaged;
mod erased_meanwhile;
mod history;
mod process;
mod replays;
mod roles;
mod support;
mod swaps;
