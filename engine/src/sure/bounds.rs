//! Where the row that decided ends: the points of a column at which another row begins.

use loftwright_dsl::program::{Bound, Interval, Row, Table, ValueSet};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::HitPolicy;

use crate::outcome::State;

/// A point of a column where the deciding row ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Edge {
    /// Where, as a value of the column.
    pub(crate) value: Rational,
    /// Whether the other side lies above it.
    pub(crate) other_side_is_above: bool,
    /// Whether the point itself belongs to the other side.
    pub(crate) belongs_to_other_side: bool,
}

/// The edges of the row in the column: the ends of its own intervals, and, where it stands behind
/// other rows (`otherwise`, hit policy *first*), the ends of theirs.
pub(crate) fn edges(table: &Table, row: usize, column: usize, columns: &[State]) -> Vec<Edge> {
    let mut edges = Vec::new();
    let Some(decided) = table.rows.get(row) else {
        return edges;
    };
    for interval in intervals(decided, column) {
        edges.extend(interval.low.map(|low| leaving(low, false)));
        edges.extend(interval.high.map(|high| leaving(high, true)));
    }
    for (index, other) in table.rows.iter().enumerate() {
        let comes_first = table.hit_policy == HitPolicy::First && index < row;
        let is_exception = decided.is_otherwise && index != row;
        if (comes_first || is_exception) && accepts_elsewhere(other, column, columns) {
            for interval in intervals(other, column) {
                edges.extend(interval.low.map(|low| entering(low, true)));
                edges.extend(interval.high.map(|high| entering(high, false)));
            }
        }
    }
    edges
}

/// The distance from an edge to the nearest other bound of the column on its other side, so that a
/// point closer than that crosses this edge alone.
pub(crate) fn room_beyond(table: &Table, column: usize, edge: Edge) -> Option<Rational> {
    let beyond = |bound: &Bound| {
        let distance = bound.value.minus(edge.value).ok()?;
        let is_beyond = if edge.other_side_is_above {
            distance > Rational::ZERO
        } else {
            distance < Rational::ZERO
        };
        is_beyond.then(|| distance.size())
    };
    table
        .rows
        .iter()
        .flat_map(|row| intervals(row, column))
        .flat_map(|interval| interval.low.iter().chain(interval.high.iter()))
        .filter_map(beyond)
        .min()
}

fn leaving(bound: Bound, other_side_is_above: bool) -> Edge {
    Edge {
        value: bound.value,
        other_side_is_above,
        belongs_to_other_side: !bound.is_included,
    }
}

fn entering(bound: Bound, other_side_is_above: bool) -> Edge {
    Edge {
        value: bound.value,
        other_side_is_above,
        belongs_to_other_side: bound.is_included,
    }
}

fn intervals(row: &Row, column: usize) -> &[Interval] {
    match row.conditions.get(column) {
        Some(condition) if !condition.is_any => match &condition.values {
            ValueSet::Intervals(intervals) => intervals,
            _ => &[],
        },
        _ => &[],
    }
}

/// Whether the row holds of every column but this one.
fn accepts_elsewhere(row: &Row, column: usize, columns: &[State]) -> bool {
    row.conditions
        .iter()
        .zip(columns)
        .enumerate()
        .all(|(index, (condition, state))| {
            index == column
                || condition.is_any
                || match state {
                    State::Known(value) => condition.values.contains(value),
                    State::None => condition.none,
                    State::Undecided(_) => condition.unknown,
                }
        })
}

#[cfg(test)]
#[path = "bounds_tests.rs"]
mod tests;
