//! The player as the engine sees him: readings by input, the clubs he keeps.

use std::collections::BTreeMap;

use loftwright_dsl::program::{GroupId, InputId, Record, Value};
use loftwright_dsl::quantity::Rational;

/// A player's readings and clubs, read against a program.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Player {
    /// The readings that were given.
    pub readings: BTreeMap<InputId, Reading>,
    /// The clubs of each group `given with the player`: fields in the order of the group.
    pub given: BTreeMap<GroupId, Vec<Record>>,
}

/// One reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The value.
    pub value: Value,
    /// The standard deviation of one shot, in base units, where it was sent.
    pub spread: Option<Rational>,
    /// The number of shots the value is the mean of.
    pub shots: u32,
}
