//! Which rows a number can fall in, found by a binary search.
//!
//! A table with many rows is looked up by one of its numeric columns: each cell between the rows'
//! bounds there lists the rows that accept it, in their order. A row that is not listed is out, so
//! looking at the listed ones alone changes no answer.

use super::cuts::Cuts;
use super::{Column, Condition, Row, ValueSet};
use crate::quantity::Rational;

/// Fewer rows than these are looked at one by one: no search is faster.
const FEWEST_ROWS: usize = 8;
/// The most entries of an index for each row; a column whose rows overlap more is not worth it.
const MOST_ENTRIES_OF_A_ROW: usize = 8;

/// The rows of each cell of one column.
#[derive(Clone, Debug)]
pub struct RowIndex {
    column: usize,
    cuts: Cuts,
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
        let cell = self.cuts.cell_of(number);
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
        let cuts = Cuts::of(column, rows);
        let cells = cuts.cells();
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
        let cells_of = |interval| self.cuts.cells_of(interval);
        intervals.iter().filter_map(cells_of).collect()
    }
}

fn is_numeric(column: &Column) -> bool {
    column.value.value_type.is_numeric()
}
