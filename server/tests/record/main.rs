//! The durable record: what is kept is found again, and what was touched is named.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]
#![expect(clippy::panic, reason = "a panic is how a test fails")]

mod erasure;
#[cfg(target_os = "linux")]
mod failing;
mod keys;
mod killed;
mod listing;
mod opening;
mod other_rules;
mod serving;
mod support;
mod tamper_bodies;
mod tamper_bytes;
mod tamper_file;
mod tamper_matrix;
mod tampering;
mod verifying;
mod waiting;
mod writing;
