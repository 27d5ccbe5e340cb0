//! The stock in force: how it changes, and how it is found again in the log.
//!
//! A stock is its files. A change of single pieces and counts is made in a `Book` of what is on
//! hand, which writes the files of the kinds anew that it changed; whether the rules can read them
//! is asked of every ruleset in force, as of any other files. Each change is an act in the log that
//! names all files by their digests ([`kept`]), so that the last act alone says what is in force.

mod book;
pub mod kept;
pub(crate) mod taken;

pub(crate) use book::{Book, Changed};
