//! Tables: columns, rows and what their conditions accept.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use super::{Expression, RowIndex, RowMasks, Value};
use crate::quantity::Rational;
use crate::syntax::Span;
use crate::syntax::tree::HitPolicy;

/// A decision table.
#[derive(Clone, Debug)]
pub struct Table {
    /// What the rows look at.
    pub columns: Vec<Column>,
    /// Unique or first.
    pub hit_policy: HitPolicy,
    /// What happens where readings are missing that would tell rows apart.
    pub if_unknown: Option<RowResult>,
    /// The rows; an `otherwise` is the last.
    pub rows: Vec<Row>,
    /// Where it stands.
    pub span: Span,
    masks: Option<RowMasks>,
    index: Option<RowIndex>,
}

impl Table {
    /// A table of these rows, made ready to be looked up.
    pub fn new(
        columns: Vec<Column>,
        hit_policy: HitPolicy,
        if_unknown: Option<RowResult>,
        rows: Vec<Row>,
        span: Span,
    ) -> Self {
        Table {
            masks: RowMasks::of(&columns, &rows),
            index: RowIndex::of(&columns, &rows),
            columns,
            hit_policy,
            if_unknown,
            rows,
            span,
        }
    }

    /// The rows that accept what a column is; none where they are too many.
    pub fn masks(&self) -> Option<&RowMasks> {
        self.masks.as_ref()
    }

    /// The index by which rows are found; none where they are few, or no column tells them apart.
    pub fn index(&self) -> Option<&RowIndex> {
        self.index.as_ref()
    }
}

/// A column of a table.
#[derive(Clone, Debug)]
pub struct Column {
    /// The value it looks at.
    pub value: Expression,
    /// As it is written.
    pub text: String,
    /// How its values are shown.
    pub shown: super::Shown,
    /// Whether some row names `none`, to take it or to leave it out: then it is a value of it.
    pub takes_none: bool,
    /// Whether some row names `unknown`, in the same way: then an absent reading is a value of it.
    pub takes_unknown: bool,
    /// The lowest and highest value it can have, where that is declared or can be computed.
    pub between: Option<(Rational, Rational)>,
}

/// A row of a table.
#[derive(Clone, Debug)]
pub struct Row {
    /// One condition a column; none at all for `otherwise`.
    pub conditions: Vec<Condition>,
    /// Whether this is `otherwise`.
    pub is_otherwise: bool,
    /// What it does.
    pub result: RowResult,
    /// Why.
    pub because: Option<String>,
    /// The row as it is written, conditions and result, without its reason.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

/// What a row asks of one column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Condition {
    /// Whether it is `any`: it holds of every value, of none and of an absent reading.
    pub is_any: bool,
    /// The known values that it accepts.
    pub values: ValueSet,
    /// Whether it accepts *does not apply*.
    pub none: bool,
    /// Whether it accepts an absent reading.
    pub unknown: bool,
}

/// A set of known values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ValueSet {
    /// Every value.
    All,
    /// Disjoint intervals of numbers, lowest first.
    Intervals(Vec<Interval>),
    /// Words of a vocabulary.
    Words(BTreeSet<i32>),
    /// Flags.
    Flags(BTreeSet<bool>),
    /// Texts.
    Texts(BTreeSet<String>),
}

/// An interval of numbers; an end that is `None` is open to infinity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Interval {
    /// The lower end.
    pub low: Option<Bound>,
    /// The upper end.
    pub high: Option<Bound>,
}

/// An end of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bound {
    /// Where it lies.
    pub value: Rational,
    /// Whether the end belongs to the interval.
    pub is_included: bool,
}

impl Interval {
    /// Whether the number lies in it.
    pub fn contains(&self, number: Rational) -> bool {
        let above = self.low.is_none_or(|low| match number.cmp(&low.value) {
            Ordering::Less => false,
            Ordering::Equal => low.is_included,
            Ordering::Greater => true,
        });
        let below = self.high.is_none_or(|high| match number.cmp(&high.value) {
            Ordering::Less => true,
            Ordering::Equal => high.is_included,
            Ordering::Greater => false,
        });
        above && below
    }
}

impl ValueSet {
    /// Whether the value is one of them.
    pub fn contains(&self, value: &Value) -> bool {
        match (self, value) {
            (ValueSet::All, _) => true,
            (ValueSet::Intervals(intervals), Value::Number(number)) => {
                intervals.iter().any(|interval| interval.contains(*number))
            }
            (ValueSet::Words(words), Value::Word(word)) => words.contains(word),
            (ValueSet::Flags(flags), Value::Flag(flag)) => flags.contains(flag),
            (ValueSet::Texts(texts), Value::Text(text)) => texts.contains(text.as_ref()),
            _ => false,
        }
    }
}

/// What a row does.
#[derive(Clone, Debug)]
pub enum RowResult {
    /// The value; in a `then by` table it takes the place of the value so far.
    Gives(Expression),
    /// Half steps up (positive) or down.
    Moves(i32),
    /// The value stays.
    Keeps,
    /// Something is added.
    Adds(Expression),
    /// Something is taken off.
    TakesOff(Expression),
    /// No player is here: the readings contradict each other.
    CannotHappen,
}
