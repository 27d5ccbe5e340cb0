//! The bounds that the rows of a table name in a column, and the cells between them.

use super::{Interval, Row, ValueSet};
use crate::quantity::Rational;

/// The bounds in order, each once. Of `n` of them there are `2 n + 1` cells: the numbers below the
/// first cut, the first cut, the numbers up to the next, and so on.
#[derive(Clone, Debug)]
pub(super) struct Cuts(Vec<Rational>);

impl Cuts {
    /// Those of a column.
    pub(super) fn of(column: usize, rows: &[Row]) -> Self {
        let mut cuts = Vec::new();
        for condition in rows.iter().filter_map(|row| row.conditions.get(column)) {
            if let ValueSet::Intervals(intervals) = &condition.values {
                let ends = intervals
                    .iter()
                    .flat_map(|interval| [interval.low, interval.high]);
                cuts.extend(ends.flatten().map(|bound| bound.value));
            }
        }
        cuts.sort_unstable();
        cuts.dedup();
        Cuts(cuts)
    }

    /// How many cells there are.
    pub(super) fn cells(&self) -> usize {
        2 * self.0.len() + 1
    }

    /// The cell of a number.
    pub(super) fn cell_of(&self, number: Rational) -> usize {
        let below = self.0.partition_point(|cut| *cut < number);
        let is_at_a_cut = self.0.get(below).is_some_and(|cut| *cut == number);
        2 * below + usize::from(is_at_a_cut)
    }

    /// The first and the last cell of an interval; `None` where it is empty.
    pub(super) fn cells_of(&self, interval: &Interval) -> Option<(usize, usize)> {
        let first = interval.low.map_or(0, |low| {
            self.cell_of(low.value) + usize::from(!low.is_included)
        });
        let last = match interval.high {
            None => Some(self.cells() - 1),
            Some(high) => {
                let cell = self.cell_of(high.value);
                cell.checked_sub(usize::from(!high.is_included))
            }
        };
        last.filter(|last| first <= *last).map(|last| (first, last))
    }
}
