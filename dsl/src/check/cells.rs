//! Cells: the values of a column on which no condition of a table changes.

use std::collections::BTreeSet;

use super::ranges::Range;
use crate::program::{Column, Condition, Program, Table, Type, Value, ValueSet};
use crate::quantity::Rational;

/// A set of values of a column on which no condition changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Cell {
    /// One number.
    Point(Rational),
    /// The numbers strictly between two others; an end that is `None` is open to infinity.
    Open(Option<Rational>, Option<Rational>),
    /// A word, flag or text.
    Value(Value),
    /// Does not apply.
    None,
    /// An absent reading.
    Unknown,
}

pub(super) fn cells_of(
    program: &Program,
    table: &Table,
    index: usize,
    column: &Column,
) -> Vec<Cell> {
    let mut cells = match column.value.value_type {
        Type::Flag => vec![
            Cell::Value(Value::Flag(false)),
            Cell::Value(Value::Flag(true)),
        ],
        Type::Choice(id) | Type::Scale(id) => {
            let vocabulary = &program.vocabularies[id];
            vocabulary
                .values()
                .into_iter()
                .map(|word| Cell::Value(Value::Word(word)))
                .collect()
        }
        Type::Text | Type::List(_) => Vec::new(),
        Type::Count | Type::Date => numeric_cells(table, index, column.between, true),
        _ => numeric_cells(table, index, column.between, false),
    };
    if column.takes_none {
        cells.push(Cell::None);
    }
    if column.takes_unknown {
        cells.push(Cell::Unknown);
    }
    cells
}

pub(super) fn numeric_cells(
    table: &Table,
    index: usize,
    range: Option<Range>,
    is_whole: bool,
) -> Vec<Cell> {
    let inside =
        |number: &Rational| range.is_none_or(|(low, high)| *number >= low && *number <= high);
    let mut cuts: BTreeSet<Rational> = BTreeSet::new();
    for condition in table
        .rows
        .iter()
        .filter_map(|row| row.conditions.get(index))
    {
        if let ValueSet::Intervals(intervals) = &condition.values {
            let ends = intervals
                .iter()
                .flat_map(|interval| [interval.low, interval.high]);
            cuts.extend(ends.flatten().map(|bound| bound.value).filter(inside));
        }
    }
    if let Some((low, high)) = range {
        cuts.extend([low, high]);
    }
    let holds_whole = |low: Option<Rational>, high: Option<Rational>| match (low, high) {
        (Some(low), Some(high)) => first_whole_above(low).is_some_and(|whole| whole < high),
        _ => true,
    };
    let mut cells = Vec::new();
    let mut before: Option<Rational> = None;
    let mut is_first = true;
    for cut in &cuts {
        let is_open =
            (!is_first || range.is_none()) && (!is_whole || holds_whole(before, Some(*cut)));
        if is_open {
            cells.push(Cell::Open(before, Some(*cut)));
        }
        if !is_whole || cut.is_whole() {
            cells.push(Cell::Point(*cut));
        }
        before = Some(*cut);
        is_first = false;
    }
    if range.is_none() {
        cells.push(Cell::Open(before, None));
    }
    cells
}

/// The smallest whole number above `number`.
pub(super) fn first_whole_above(number: Rational) -> Option<Rational> {
    let down = number
        .rounded_to(Rational::ONE, crate::quantity::Rounding::Down)
        .ok()?;
    down.plus(Rational::ONE).ok()
}

/// Whether a condition holds on a whole cell; by the cuts it holds on all of it or on none.
pub(super) fn accepts(condition: &Condition, cell: &Cell) -> bool {
    if condition.is_any {
        return true;
    }
    match cell {
        Cell::None => condition.none,
        Cell::Unknown => condition.unknown,
        Cell::Value(value) => condition.values.contains(value),
        Cell::Point(number) => condition.values.contains(&Value::Number(*number)),
        Cell::Open(low, high) => match &condition.values {
            ValueSet::Intervals(intervals) => intervals.iter().any(|interval| {
                let above = interval
                    .low
                    .is_none_or(|bound| low.is_some_and(|low| low >= bound.value));
                let below = interval
                    .high
                    .is_none_or(|bound| high.is_some_and(|high| high <= bound.value));
                above && below
            }),
            ValueSet::All => true,
            _ => false,
        },
    }
}

pub(super) fn shown(program: &Program, column: &Column, number: Rational) -> String {
    column
        .shown
        .text(program, column.value.value_type, &Value::Number(number))
}

/// One value of the cell.
pub(super) fn cell_text(program: &Program, column: &Column, cell: &Cell) -> String {
    match cell {
        Cell::Point(number) => shown(program, column, *number),
        Cell::Open(low, high) => match inside(column.value.value_type, *low, *high) {
            Some(number) => shown(program, column, number),
            None => "of any size".to_owned(),
        },
        Cell::Value(value) => column.shown.text(program, column.value.value_type, value),
        Cell::None => "that does not apply".to_owned(),
        Cell::Unknown => "unknown".to_owned(),
    }
}

pub(super) fn region_text(program: &Program, column: &Column, cell: &Cell) -> String {
    match cell {
        Cell::Open(Some(low), Some(high)) => {
            format!(
                "between {} and {}",
                shown(program, column, *low),
                shown(program, column, *high)
            )
        }
        Cell::Open(None, Some(high)) => format!("under {}", shown(program, column, *high)),
        Cell::Open(Some(low), None) => format!("over {}", shown(program, column, *low)),
        other => cell_text(program, column, other),
    }
}

/// A number strictly inside an open cell; of counts and dates a whole one.
pub(super) fn inside(
    value_type: Type,
    low: Option<Rational>,
    high: Option<Rational>,
) -> Option<Rational> {
    let is_whole = matches!(value_type, Type::Count | Type::Date);
    match (low, high) {
        (Some(low), _) if is_whole => first_whole_above(low),
        (Some(low), Some(high)) => low.plus(high).ok()?.over(Rational::whole(2)).ok(),
        (Some(low), None) => low.plus(Rational::ONE).ok(),
        (None, Some(high)) => high.minus(Rational::ONE).ok(),
        (None, None) => Some(Rational::ZERO),
    }
}
