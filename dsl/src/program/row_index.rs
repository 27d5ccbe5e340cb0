//! Which rows a number can fall in, found by a binary search.
//!
//! A table with many rows is looked up by one of its numeric columns: the rows' bounds there cut
//! the numbers into cells, and each cell lists the rows that accept it, in their order. A row that
//! is not listed is out, so looking at the listed ones alone changes no answer.

use super::{Column, Condition, Interval, Row, ValueSet};
use crate::quantity::Rational;

/// Fewer rows than these are looked at one by one: no search is faster.
const FEWEST_ROWS: usize = 8;
/// The most entries of an index for each row; a column whose rows overlap more is not worth it.
const MOST_ENTRIES_OF_A_ROW: usize = 8;

/// The rows of each cell of one column. Of `n` cuts there are `2 n + 1` cells: the numbers below
/// the first cut, the first cut, the numbers up to the next, and so on.
#[derive(Clone, Debug)]
pub struct RowIndex {
    column: usize,
    cuts: Vec<Rational>,
    /// Where the rows of each cell begin in `rows`, and where the last ones end.
    starts: Vec<usize>,
    rows: Vec<usize>,
}

impl RowIndex {
    /// The index by the column that tells the rows apart best; none where no column is worth it.
    pub(super) fn of(columns: &[Column], rows: &[Row]) -> Option<Self> {
        if rows.len() < FEWEST_ROWS {
            return None;
        }
        (0..columns.len())
            .filter(|column| columns.get(*column).is_some_and(is_numeric))
            .filter_map(|column| Self::by(column, rows))
            .min_by_key(|index| index.rows.len())
    }

    /// The column that it goes by.
    pub fn column(&self) -> usize {
        self.column
    }

    /// The rows that can accept the number, in their order.
    pub fn rows_of(&self, number: Rational) -> &[usize] {
        let cell = self.cell_of(number);
        let range = self
            .starts
            .get(cell)
            .zip(self.starts.get(cell + 1))
            .map(|(start, end)| *start..*end);
        range
            .and_then(|range| self.rows.get(range))
            .unwrap_or_default()
    }

    fn by(column: usize, rows: &[Row]) -> Option<Self> {
        let cuts = cuts_of(column, rows);
        let cells = 2 * cuts.len() + 1;
        let index = RowIndex {
            column,
            cuts,
            starts: Vec::new(),
            rows: Vec::new(),
        };
        let spans: Vec<Vec<(usize, usize)>> =
            rows.iter().map(|row| index.spans_of(row, cells)).collect();
        let entries: usize = spans
            .iter()
            .flatten()
            .map(|(first, last)| last + 1 - first)
            .sum();
        if entries > MOST_ENTRIES_OF_A_ROW * rows.len() {
            return None;
        }
        let mut lists: Vec<Vec<usize>> = vec![Vec::new(); cells];
        for (row, spans) in spans.into_iter().enumerate() {
            for (first, last) in spans {
                for list in lists.iter_mut().take(last + 1).skip(first) {
                    list.push(row);
                }
            }
        }
        let mut starts = vec![0];
        let mut listed = Vec::with_capacity(entries);
        for list in lists {
            listed.extend(list);
            starts.push(listed.len());
        }
        Some(RowIndex {
            starts,
            rows: listed,
            ..index
        })
    }

    /// The cells that a row accepts, as runs from first to last.
    fn spans_of(&self, row: &Row, cells: usize) -> Vec<(usize, usize)> {
        let intervals = match row.conditions.get(self.column) {
            Some(Condition {
                is_any: false,
                values: ValueSet::Intervals(intervals),
                ..
            }) => intervals,
            // `any`, `otherwise`, and what is not of numbers, goes everywhere.
            _ => return vec![(0, cells - 1)],
        };
        let span = |interval: &Interval| {
            let first = interval.low.map_or(0, |low| {
                self.cell_of(low.value) + usize::from(!low.is_included)
            });
            let last = match interval.high {
                None => Some(cells - 1),
                Some(high) => {
                    let cell = self.cell_of(high.value);
                    cell.checked_sub(usize::from(!high.is_included))
                }
            };
            last.filter(|last| first <= *last).map(|last| (first, last))
        };
        intervals.iter().filter_map(span).collect()
    }

    fn cell_of(&self, number: Rational) -> usize {
        let below = self.cuts.partition_point(|cut| *cut < number);
        let is_at_a_cut = self.cuts.get(below).is_some_and(|cut| *cut == number);
        2 * below + usize::from(is_at_a_cut)
    }
}

fn is_numeric(column: &Column) -> bool {
    column.value.value_type.is_numeric()
}

fn cuts_of(column: usize, rows: &[Row]) -> Vec<Rational> {
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
    cuts
}
