//! Readings of one strike, and what they share.
//!
//! Ball speed, launch and spin of one shot are not independent: a strike that is more of one is
//! more of the others. Readings that are declared `of strike NAME`, with one name, take 3/5 of
//! their deviation from the strike and 4/5 from themselves, so that each keeps its own spread
//! ((3/5)² + (4/5)² = 1) and any two are correlated by (3/5)² = 0.36. How much readings of one
//! strike go together differs from player to player and from club to club: *common practice, no
//! source*; half-way between independent and one and the same, rounded to what keeps the spread.

use std::collections::BTreeMap;

use loftwright_dsl::program::{InputId, Program};

/// The share of the strike and of the reading itself, in fifths.
const OF_STRIKE: i64 = 3;
const OF_READING: i64 = 4;
const IN_ALL: i64 = 5;

/// Which readings belong to one strike.
#[derive(Clone, Debug, Default)]
pub(crate) struct Strikes {
    numbers: BTreeMap<InputId, usize>,
}

impl Strikes {
    /// The strikes of a program, numbered in the order of their first reading.
    pub(crate) fn of_program(program: &Program) -> Self {
        let mut names: Vec<&str> = Vec::new();
        let mut numbers = BTreeMap::new();
        for (id, input) in program.inputs.entries() {
            let Some(name) = input.strike.as_deref() else {
                continue;
            };
            let number = names.iter().position(|known| *known == name);
            let number = number.unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            });
            numbers.insert(id, number);
        }
        Strikes { numbers }
    }

    /// The strike that a reading belongs to.
    pub(crate) fn of(&self, input: InputId) -> Option<usize> {
        self.numbers.get(&input).copied()
    }
}

/// The deviation of a reading from its own and that of its strike, in the same parts of a spread.
pub(crate) fn shared(own: i64, strike: i64) -> i64 {
    (OF_READING * own + OF_STRIKE * strike) / IN_ALL
}
