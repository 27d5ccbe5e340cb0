//! Tables: which row decides.

use std::collections::BTreeSet;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{
    Condition, ConditionKind, HitPolicy, ListedValue, Literal, LiteralKind, Row, RowConditions,
    RowResult, Table,
};

use super::operators::{number, same};
use super::{Oracle, Outcome, Scope, State, Undecided, Value};

/// What a table comes to.
pub enum Hit<'t> {
    /// A row, or the header's `if unknown`, with the row's number where it is one.
    Result(&'t RowResult, Option<usize>),
    /// A column does not apply.
    DoesNotApply,
    /// Readings are missing.
    Undecided(Undecided),
    /// No row is left: contradicted in the last row.
    Gap(usize),
}

/// A column with its state and whether `none` and `unknown` are values of it.
struct ColumnState {
    state: State,
    vocabulary: Option<String>,
    has_unknown: bool,
}

impl ColumnState {
    /// Undecided, and `unknown` is no value of it: it contradicts no row.
    fn is_open(&self) -> bool {
        matches!(self.state, State::Undecided(_)) && !self.has_unknown
    }
}

impl Oracle<'_> {
    /// Which row of a table decides.
    pub(super) fn hit<'t>(&self, table: &'t Table, scope: &Scope) -> Result<Hit<'t>, Outcome> {
        let mut columns = Vec::new();
        for (place, column) in table.columns.iter().enumerate() {
            let column_scope = scope.expecting(None);
            let state = self.evaluate(&column.value, &column_scope)?;
            let asks = |what: fn(&ListedValue) -> bool| {
                table.rows.iter().any(|row| lists(row, place, what))
            };
            let has_none = asks(|value| {
                matches!(
                    value,
                    ListedValue::Value(Literal {
                        kind: LiteralKind::None,
                        ..
                    })
                )
            });
            if state == State::None && !has_none {
                return Ok(Hit::DoesNotApply);
            }
            columns.push(ColumnState {
                state,
                vocabulary: self.vocabulary_of(&column.value, &column_scope),
                has_unknown: asks(|value| matches!(value, ListedValue::Unknown(_))),
            });
        }
        let mut remaining: Vec<usize> = Vec::new();
        let is_out = |row: &Row| match &row.conditions {
            RowConditions::Otherwise => false,
            RowConditions::Each(conditions) => conditions
                .iter()
                .zip(&columns)
                .any(|(condition, column)| self.contradicts(condition, column)),
        };
        for (place, row) in table.rows.iter().enumerate() {
            if !is_out(row) {
                remaining.push(place);
            }
        }
        let certain: Vec<usize> = remaining
            .iter()
            .copied()
            .filter(|place| is_certain(&table.rows[*place], &columns))
            .collect();
        let is_otherwise =
            |place: &usize| matches!(table.rows[*place].conditions, RowConditions::Otherwise);
        if certain.iter().any(|place| !is_otherwise(place)) {
            remaining.retain(|place| !is_otherwise(place));
        }
        if table.hit_policy == HitPolicy::First
            && let Some(first) = certain.first()
        {
            remaining.retain(|place| place <= first);
        }
        Ok(match remaining.as_slice() {
            [] => Hit::Gap(table.rows.len() - 1),
            [row] => Hit::Result(&table.rows[*row].result, Some(*row)),
            _ => match &table.if_unknown {
                Some(result) => Hit::Result(result, None),
                None => Hit::Undecided(self.differing(table, &remaining, &columns)),
            },
        })
    }

    /// Whether a column's value contradicts a row's condition on it.
    fn contradicts(&self, condition: &Condition, column: &ColumnState) -> bool {
        if column.is_open() {
            return false;
        }
        match &column.state {
            State::Known(value) => !self.accepts(condition, value, column.vocabulary.as_deref()),
            State::None => !names(condition, |listed| {
                matches!(
                    listed,
                    ListedValue::Value(Literal {
                        kind: LiteralKind::None,
                        ..
                    })
                )
            }),
            State::Undecided(_) => !names(condition, |listed| {
                matches!(listed, ListedValue::Unknown(_))
            }),
        }
    }

    fn accepts(&self, condition: &Condition, value: &Value, vocabulary: Option<&str>) -> bool {
        let bound = |literal: &Literal| match self.literal(&literal.kind, vocabulary) {
            State::Known(bound) => number(&bound),
            other => panic!("a bound is {other:?}"),
        };
        let is_listed = |listed: &[ListedValue]| {
            listed.iter().any(|listed| match listed {
                ListedValue::Value(literal) => match self.literal(&literal.kind, vocabulary) {
                    State::Known(word) => same(&word, value),
                    _ => false,
                },
                ListedValue::Unknown(_) => false,
            })
        };
        match &condition.kind {
            ConditionKind::Any => true,
            ConditionKind::OneOf(listed) => is_listed(listed),
            ConditionKind::NotOneOf(listed) => !is_listed(listed),
            ConditionKind::Under(high) => number(value) < bound(high),
            ConditionKind::UpTo(high) => number(value) <= bound(high),
            ConditionKind::Over(low) => number(value) > bound(low),
            ConditionKind::OrMore(low) => number(value) >= bound(low),
            ConditionKind::Through(low, high) => {
                number(value) >= bound(low) && number(value) <= bound(high)
            }
            ConditionKind::ToUnder(low, high) => {
                number(value) >= bound(low) && number(value) < bound(high)
            }
            ConditionKind::OverToUnder(low, high) => {
                number(value) > bound(low) && number(value) < bound(high)
            }
            ConditionKind::OverThrough(low, high) => {
                number(value) > bound(low) && number(value) <= bound(high)
            }
            ConditionKind::NearMiss => panic!("the parser refuses this"),
        }
    }

    /// The causes of the open columns in which the rows that remain differ.
    fn differing(&self, table: &Table, rows: &[usize], columns: &[ColumnState]) -> Undecided {
        let mut merged = Undecided::default();
        for (place, column) in columns.iter().enumerate() {
            let State::Undecided(undecided) = &column.state else {
                continue;
            };
            if !column.is_open() {
                continue;
            }
            let asked: BTreeSet<String> = rows
                .iter()
                .map(|row| match &table.rows[*row].conditions {
                    RowConditions::Otherwise => "any".to_owned(),
                    RowConditions::Each(conditions) => {
                        self.meaning(&conditions[place], column.vocabulary.as_deref())
                    }
                })
                .collect();
            if asked.len() > 1 {
                merged.merge(undecided);
            }
        }
        merged
    }

    /// What a condition accepts, written so that equal conditions read alike.
    fn meaning(&self, condition: &Condition, vocabulary: Option<&str>) -> String {
        let value = |literal: &Literal| match self.literal(&literal.kind, vocabulary) {
            State::Known(value) => value.to_string(),
            State::None => "none".to_owned(),
            State::Undecided(_) => panic!("a bound is undecided"),
        };
        let list = |listed: &[ListedValue]| {
            let texts: BTreeSet<String> = listed
                .iter()
                .map(|listed| match listed {
                    ListedValue::Value(literal) => value(literal),
                    ListedValue::Unknown(_) => "unknown".to_owned(),
                })
                .collect();
            texts.into_iter().collect::<Vec<_>>().join("|")
        };
        match &condition.kind {
            ConditionKind::Any => "any".to_owned(),
            ConditionKind::OneOf(listed) => list(listed),
            ConditionKind::NotOneOf(listed) => format!("not {}", list(listed)),
            ConditionKind::Under(high) => format!("..{}", value(high)),
            ConditionKind::UpTo(high) => format!("..={}", value(high)),
            ConditionKind::Over(low) => format!("<{}..", value(low)),
            ConditionKind::OrMore(low) => format!("{}..", value(low)),
            ConditionKind::Through(low, high) => format!("{}..={}", value(low), value(high)),
            ConditionKind::ToUnder(low, high) => format!("{}..{}", value(low), value(high)),
            ConditionKind::OverToUnder(low, high) => format!("<{}..{}", value(low), value(high)),
            ConditionKind::OverThrough(low, high) => format!("<{}..={}", value(low), value(high)),
            ConditionKind::NearMiss => panic!("the parser refuses this"),
        }
    }
}

/// Whether a row's condition on a column lists such a value, to take it or to leave it out.
fn lists(row: &Row, column: usize, what: fn(&ListedValue) -> bool) -> bool {
    let RowConditions::Each(conditions) = &row.conditions else {
        return false;
    };
    match &conditions[column].kind {
        ConditionKind::OneOf(listed) | ConditionKind::NotOneOf(listed) => listed.iter().any(what),
        _ => false,
    }
}

/// Whether a condition takes such a value: `any`, or one that lists it.
fn names(condition: &Condition, what: fn(&ListedValue) -> bool) -> bool {
    match &condition.kind {
        ConditionKind::Any => true,
        ConditionKind::OneOf(listed) => listed.iter().any(what),
        _ => false,
    }
}

/// Whether no condition of the row rests on an open column.
fn is_certain(row: &Row, columns: &[ColumnState]) -> bool {
    match &row.conditions {
        RowConditions::Otherwise => true,
        RowConditions::Each(conditions) => {
            conditions.iter().zip(columns).all(|(condition, column)| {
                !column.is_open() || matches!(condition.kind, ConditionKind::Any)
            })
        }
    }
}

/// Half steps as a whole number of steps, for scores.
pub fn distance(left: &Value, right: &Value) -> Result<Rational, Outcome> {
    let distance = number(left).minus(number(right));
    distance
        .map(Rational::size)
        .map_err(super::operators::fault)
}
