//! The space that rows divide: an axis for each column, its cells, and rows as boxes.
//!
//! Each column is cut at its rows' own bounds into *cells* on which no condition changes: points
//! and the open intervals between them, words, flags, *none* and *unknown*. Cells lie within the
//! column's range; of counts and dates only those that hold a whole number are there, of scales
//! every step (half steps too, where the scale has them). So "every cell" is "every value", and a
//! proof over cells is a proof over values.
//!
//! Several tables can share one space: columns that look at the same value share an axis, which is
//! then cut at the bounds of all of them.

use super::cell_set::CellSet;
use super::sweep::BoxRow;
use crate::program::{Bound, Column, Condition, Interval, Program, Table, Type, Value, ValueSet};
use crate::quantity::{Rational, Rounding};
use crate::syntax::tree::HitPolicy;

/// A set of values of a column on which no condition changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cell {
    /// One number.
    Point(Rational),
    /// The numbers strictly between two others; an end that is `None` is open to infinity.
    Open(Option<Rational>, Option<Rational>),
    /// A word or flag.
    Value(Value),
    /// Does not apply.
    None,
    /// An absent reading.
    Unknown,
}

/// The cells of one column, in order: numbers from the lowest, words as they are declared, `no`
/// before `yes`, then *none* and *unknown* where some row has a condition on them.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The type of the column's values.
    pub value_type: Type,
    /// The lowest and highest number the column can have, where that is known.
    pub between: Option<(Rational, Rational)>,
    /// Where the line of numbers is cut.
    cuts: Vec<Rational>,
    /// The cells of numbers that are there: `2 i` for those under cut `i` and over the one before,
    /// `2 i + 1` for cut `i` itself.
    numbers: Vec<usize>,
    words: Vec<Value>,
    has_none: bool,
    has_unknown: bool,
}

/// The axes of some tables, and which axis each of their columns is.
#[derive(Clone, Debug)]
pub struct Space {
    /// The axes.
    pub axes: Vec<Axis>,
    /// For each table, for each of its columns, the index of its axis.
    pub columns: Vec<Vec<usize>>,
}

impl Space {
    /// The space of one table: an axis for each column, in order.
    pub fn of_table(program: &Program, table: &Table) -> Self {
        let axes: Vec<Axis> = (0..table.columns.len())
            .filter_map(|index| Axis::of_columns(program, &[(table, index)]))
            .collect();
        Space {
            columns: vec![(0..axes.len()).collect()],
            axes,
        }
    }

    /// The joint space of tables of one decision. Columns written alike look at the same value: the
    /// tables of a decision see the same club.
    pub fn of_tables(program: &Program, tables: &[&Table]) -> Self {
        let mut texts: Vec<&str> = Vec::new();
        let mut members: Vec<Vec<(&Table, usize)>> = Vec::new();
        let mut columns = Vec::new();
        for table in tables {
            let mut own = Vec::new();
            for (index, column) in table.columns.iter().enumerate() {
                let axis = match texts.iter().position(|text| *text == column.text) {
                    Some(axis) => axis,
                    None => {
                        texts.push(&column.text);
                        members.push(Vec::new());
                        texts.len() - 1
                    }
                };
                if let Some(members) = members.get_mut(axis) {
                    members.push((table, index));
                }
                own.push(axis);
            }
            columns.push(own);
        }
        let axes = members
            .iter()
            .filter_map(|members| Axis::of_columns(program, members))
            .collect();
        Space { axes, columns }
    }

    /// How many cells each axis has.
    pub fn lengths(&self) -> Vec<usize> {
        self.axes.iter().map(Axis::len).collect()
    }

    /// The rows of the table `number` of the space as boxes, in order. `otherwise` is the whole
    /// space. Under *first* they are of the group `number`: an earlier one goes before a later one.
    pub fn rows_of(&self, number: usize, table: &Table) -> Vec<BoxRow> {
        let nowhere = Vec::new();
        let columns = self.columns.get(number).unwrap_or(&nowhere);
        let everything: Vec<CellSet> = self.axes.iter().map(Axis::everything).collect();
        let mut rows = Vec::with_capacity(table.rows.len());
        for row in &table.rows {
            let mut sets = everything.clone();
            for (axis, condition) in columns.iter().zip(&row.conditions) {
                if let (Some(set), Some(axis)) = (sets.get_mut(*axis), self.axes.get(*axis)) {
                    // A column may stand twice in a header: both conditions must hold.
                    *set = set.intersection(&axis.accepted(condition));
                }
            }
            rows.push(BoxRow {
                sets,
                first_of: (table.hit_policy == HitPolicy::First).then_some(number),
            });
        }
        rows
    }
}

impl Axis {
    /// The axis of columns that look at the same value, cut at the bounds of all their rows; `None`
    /// without a column.
    pub fn of_columns(program: &Program, columns: &[(&Table, usize)]) -> Option<Axis> {
        let known: Vec<&Column> = columns
            .iter()
            .filter_map(|(table, index)| table.columns.get(*index))
            .collect();
        let first = known.first()?;
        let value_type = first.value.value_type;
        let between = first.between.filter(|(low, high)| low <= high);
        let mut axis = Axis {
            value_type,
            between,
            cuts: Vec::new(),
            numbers: Vec::new(),
            words: Vec::new(),
            has_none: known.iter().any(|column| column.takes_none),
            has_unknown: known.iter().any(|column| column.takes_unknown),
        };
        match value_type {
            Type::Flag => axis.words = vec![Value::Flag(false), Value::Flag(true)],
            Type::Choice(id) | Type::Scale(id) => {
                let values = program.vocabularies[id].values();
                axis.words = values.into_iter().map(Value::Word).collect();
            }
            Type::Text | Type::List(_) | Type::ListOf(_) => {}
            _ => axis.cut(columns),
        }
        Some(axis)
    }

    /// Cuts the line of numbers at the bounds of rows, within the range.
    fn cut(&mut self, columns: &[(&Table, usize)]) {
        let is_inside = |number: &Rational| {
            self.between
                .is_none_or(|(low, high)| *number >= low && *number <= high)
        };
        let mut cuts: Vec<Rational> = columns
            .iter()
            .flat_map(|(table, index)| {
                let conditions = table
                    .rows
                    .iter()
                    .filter_map(|row| row.conditions.get(*index));
                conditions.flat_map(bounds).filter(is_inside)
            })
            .collect();
        cuts.extend(self.between.into_iter().flat_map(|(low, high)| [low, high]));
        cuts.sort_unstable();
        cuts.dedup();
        self.cuts = cuts;
        let last = 2 * self.cuts.len();
        let is_there = |number: &usize| {
            let is_end = *number == 0 || *number == last;
            !(is_end && self.between.is_some()) && self.holds_a_value(*number)
        };
        self.numbers = (0..=last).filter(is_there).collect();
    }

    /// Whether a cell of numbers holds a value at all: of counts and dates, a whole number.
    fn holds_a_value(&self, number: usize) -> bool {
        if !self.is_whole() {
            return true;
        }
        match self.number_cell(number) {
            Cell::Point(point) => point.is_whole(),
            Cell::Open(Some(low), Some(high)) => {
                first_whole_above(low).is_some_and(|whole| whole < high)
            }
            _ => true,
        }
    }

    /// Whether only whole numbers are values.
    pub fn is_whole(&self) -> bool {
        matches!(self.value_type, Type::Count | Type::Date)
    }

    fn number_cell(&self, number: usize) -> Cell {
        let cut = |index: usize| self.cuts.get(index).copied();
        let index = number / 2;
        match cut(index) {
            Some(point) if number % 2 == 1 => Cell::Point(point),
            high => Cell::Open(index.checked_sub(1).and_then(cut), high),
        }
    }

    /// How many cells there are. A column of texts has none: nothing is proved of it.
    pub fn len(&self) -> usize {
        self.known_len() + usize::from(self.has_none) + usize::from(self.has_unknown)
    }

    /// Whether there is no cell.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// How many cells hold known values; they are the first ones.
    pub fn known_len(&self) -> usize {
        self.numbers.len() + self.words.len()
    }

    /// How many cells hold numbers; they are the first ones.
    pub(super) fn numbers_len(&self) -> usize {
        self.numbers.len()
    }

    /// Every cell.
    pub fn everything(&self) -> CellSet {
        CellSet::run(0, self.len())
    }

    /// The place of *none*, where it is a value of the column.
    pub fn none_place(&self) -> Option<usize> {
        self.has_none.then(|| self.known_len())
    }

    /// The place of *unknown*, where it is a value of the column.
    pub fn unknown_place(&self) -> Option<usize> {
        let place = self.known_len() + usize::from(self.has_none);
        self.has_unknown.then_some(place)
    }

    /// The cell at a place.
    pub fn cell(&self, place: usize) -> Option<Cell> {
        if let Some(number) = self.numbers.get(place) {
            return Some(self.number_cell(*number));
        }
        if let Some(word) = place
            .checked_sub(self.numbers.len())
            .and_then(|place| self.words.get(place))
        {
            return Some(Cell::Value(word.clone()));
        }
        if Some(place) == self.none_place() {
            return Some(Cell::None);
        }
        (Some(place) == self.unknown_place()).then_some(Cell::Unknown)
    }

    /// The cells on which a condition of one of the axis's rows holds; by the cuts it holds on all
    /// of a cell or on none of it.
    pub fn accepted(&self, condition: &Condition) -> CellSet {
        if condition.is_any {
            return self.everything();
        }
        let mut set = CellSet::empty();
        match &condition.values {
            ValueSet::All => set.push(0, self.known_len()),
            ValueSet::Intervals(intervals) => {
                for (start, end) in intervals.iter().map(|interval| self.places_in(interval)) {
                    set.push(start, end);
                }
            }
            values => {
                for (place, word) in self.words.iter().enumerate() {
                    if values.contains(word) {
                        set.push(place, place + 1);
                    }
                }
            }
        }
        let (none, unknown) = (self.none_place(), self.unknown_place());
        if let (true, Some(place)) = (condition.none, none) {
            set.push(place, place + 1);
        }
        if let (true, Some(place)) = (condition.unknown, unknown) {
            set.push(place, place + 1);
        }
        set
    }

    /// The places of the cells of numbers inside an interval.
    fn places_in(&self, interval: &Interval) -> (usize, usize) {
        // A bound that is no cut lies beyond the range.
        let cut = |bound: Bound| self.cuts.binary_search(&bound.value);
        let low = interval.low.map_or(0, |bound| match cut(bound) {
            Ok(index) if bound.is_included => 2 * index + 1,
            Ok(index) => 2 * index + 2,
            Err(index) => 2 * index,
        });
        let high = interval.high.map_or(usize::MAX, |bound| match cut(bound) {
            Ok(index) if bound.is_included => 2 * index + 2,
            Ok(index) => 2 * index + 1,
            Err(index) => 2 * index + 1,
        });
        let place = |number: usize| self.numbers.partition_point(|known| *known < number);
        (place(low), place(high))
    }
}

/// The bounds of a condition's intervals.
fn bounds(condition: &Condition) -> impl Iterator<Item = Rational> + '_ {
    let intervals: &[Interval] = match &condition.values {
        ValueSet::Intervals(intervals) => intervals,
        _ => &[],
    };
    intervals
        .iter()
        .flat_map(|interval| [interval.low, interval.high])
        .flatten()
        .map(|bound| bound.value)
}

/// The smallest whole number above `number`.
pub(crate) fn first_whole_above(number: Rational) -> Option<Rational> {
    let down = number.rounded_to(Rational::ONE, Rounding::Down).ok()?;
    down.plus(Rational::ONE).ok()
}
