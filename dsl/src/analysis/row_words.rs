//! Regions in the words of rows, so that a gap reads like the row that closes it.

use super::cell_set::CellSet;
use super::literal::literal_text;
use super::space::{Axis, Cell, Space, first_whole_above};
use super::sweep::Region;
use crate::program::{Column, Program, Table, Type, Value};
use crate::quantity::Rational;

/// A list of words is written as what it leaves out where it has more than this many.
const MOST_LISTED: usize = 3;

/// Regions cut so that each is one row: on an axis of numbers one run, with *none* and *unknown*
/// apart.
pub fn cut_into_rows(space: &Space, regions: Vec<Region>) -> Vec<Region> {
    super::merge::cut(regions, &|index, set| match space.axes.get(index) {
        Some(axis) => axis.pieces(set),
        None => vec![set.clone()],
    })
}

/// The conditions of a row that matches just this region, joined by `and`. The region is one of
/// [`cut_into_rows`], of the space of this one table.
pub fn row_text(program: &Program, table: &Table, space: &Space, region: &Region) -> String {
    let conditions: Vec<String> = table
        .columns
        .iter()
        .zip(&space.axes)
        .zip(&region.sets)
        .map(|((column, axis), set)| condition_text(program, column, axis, set))
        .collect();
    conditions.join(" and ")
}

/// The condition that accepts just these cells.
pub fn condition_text(program: &Program, column: &Column, axis: &Axis, set: &CellSet) -> String {
    if set.is_full(axis.len()) {
        return "any".to_owned();
    }
    let written =
        |value: &Value| literal_text(program, &column.shown, column.value.value_type, value);
    let numbers = axis.number_ends(set);
    if let Some(ends) = numbers {
        return interval_text(axis, ends, &|number| written(&Value::Number(number)));
    }
    let values = |places: &CellSet| -> Vec<String> {
        let cells = places.places().filter_map(|place| axis.cell(place));
        cells.map(|cell| listed_text(&cell, &written)).collect()
    };
    let listed = values(set);
    let left_out = set.complement(axis.len());
    let is_known_only = axis.known_len() == axis.len();
    if is_known_only && listed.len() > MOST_LISTED && left_out.count() < listed.len() {
        return format!("not {}", values(&left_out).join(" or "));
    }
    listed.join(" or ")
}

fn listed_text(cell: &Cell, written: &dyn Fn(&Value) -> String) -> String {
    match cell {
        Cell::Value(value) => written(value),
        Cell::Point(number) => written(&Value::Number(*number)),
        Cell::None => "none".to_owned(),
        Cell::Unknown => "unknown".to_owned(),
        Cell::Open(..) => "any".to_owned(),
    }
}

/// The ends of a run of numbers; an end that is `None` is the column's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ends {
    /// The lower end, and whether it belongs to the run.
    pub(super) low: Option<(Rational, bool)>,
    /// The upper end, and whether it belongs to the run.
    pub(super) high: Option<(Rational, bool)>,
    /// Whether the run begins at the lowest cell of the axis.
    pub(super) is_from_lowest: bool,
    /// Whether the run goes to the highest cell of the axis.
    pub(super) is_to_highest: bool,
}

fn interval_text(axis: &Axis, ends: Ends, written: &dyn Fn(Rational) -> String) -> String {
    if let (Some((low, true)), Some((high, true))) = (ends.low, ends.high)
        && low == high
    {
        return written(low);
    }
    let low = ends.low.filter(|_| !ends.is_from_lowest);
    let high = ends.high.filter(|_| !ends.is_to_highest);
    match (low, high) {
        (None, Some((high, true))) => format!("up to {}", written(high)),
        (None, Some((high, false))) => format!("under {}", written(high)),
        (Some((low, true)), None) => format!("{} or more", written(low)),
        (Some((low, false)), None) => format!("over {}", written(low)),
        (Some((low, true)), Some((high, true))) => {
            format!("{} through {}", written(low), written(high))
        }
        (Some((low, true)), Some((high, false))) => {
            format!("{} to under {}", written(low), written(high))
        }
        (Some((low, false)), Some((high, true))) => {
            format!("over {} through {}", written(low), written(high))
        }
        (Some((low, false)), Some((high, false))) => {
            format!("over {} to under {}", written(low), written(high))
        }
        // Every number, but neither none nor unknown.
        (None, None) => match axis.between {
            Some((low, _)) => format!("{} or more", written(low)),
            None => "any number".to_owned(),
        },
    }
}

impl Axis {
    /// A set of cells as conditions of rows: all of it is one, and so is a list of words; of
    /// numbers, each run.
    pub(super) fn pieces(&self, set: &CellSet) -> Vec<CellSet> {
        let numbers = self.numbers_len();
        if set.is_full(self.len()) || numbers == 0 {
            return vec![set.clone()];
        }
        let known = set.intersection(&CellSet::run(0, numbers));
        let rest = set.intersection(&CellSet::run(numbers, self.len()));
        let runs = known
            .runs()
            .iter()
            .map(|(start, end)| CellSet::run(*start, *end));
        runs.chain((!rest.is_empty()).then_some(rest)).collect()
    }

    /// The ends of a run of numbers; `None` where the set is not one run of numbers. Of counts and
    /// dates the ends are the whole numbers themselves.
    pub(super) fn number_ends(&self, set: &CellSet) -> Option<Ends> {
        let [(start, end)] = *set.runs() else {
            return None;
        };
        if end > self.numbers_len() {
            return None;
        }
        let low = match self.cell(start)? {
            Cell::Point(point) => Some((point, true)),
            Cell::Open(low, _) => low.map(|low| (low, false)),
            _ => return None,
        };
        let high = match self.cell(end.checked_sub(1)?)? {
            Cell::Point(point) => Some((point, true)),
            Cell::Open(_, high) => high.map(|high| (high, false)),
            _ => return None,
        };
        Some(Ends {
            low: low.map(|low| self.whole_end(low, first_whole_above)),
            high: high.map(|high| self.whole_end(high, last_whole_below)),
            is_from_lowest: start == 0,
            is_to_highest: end == self.numbers_len(),
        })
    }

    fn whole_end(
        &self,
        (end, is_included): (Rational, bool),
        inside: fn(Rational) -> Option<Rational>,
    ) -> (Rational, bool) {
        match inside(end) {
            Some(whole) if self.is_whole() && !is_included => (whole, true),
            _ => (end, is_included),
        }
    }
}

/// The largest whole number below `number`.
pub(super) fn last_whole_below(number: Rational) -> Option<Rational> {
    first_whole_above(number.negated()).map(Rational::negated)
}

/// One value of a set of cells for people: `5 deg`, `soft`, `unknown`.
pub(super) fn sample_text(
    program: &Program,
    column: &Column,
    axis: &Axis,
    set: &CellSet,
) -> String {
    let value_type: Type = column.value.value_type;
    let written = |value: &Value| literal_text(program, &column.shown, value_type, value);
    let cell = set.first().and_then(|place| axis.cell(place));
    match cell {
        Some(Cell::None) => "that does not apply".to_owned(),
        Some(Cell::Open(..)) => super::sample::inside(axis, set, &column.shown).map_or_else(
            || "of any size".to_owned(),
            |number| written(&Value::Number(number)),
        ),
        Some(cell) => listed_text(&cell, &written),
        None => String::new(),
    }
}
