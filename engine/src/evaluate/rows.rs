//! Where a row is matched.
//!
//! A row is *out* when a known value contradicts it, *certain* when it is not out and none of its
//! conditions rests on something that is not decided, and *possible* otherwise. If exactly one row
//! is not out it decides, whatever else is missing; so a condition `any` never needs a reading.

use loftwright_dsl::program::{Column, Condition, Row, Table};
use loftwright_dsl::syntax::tree::HitPolicy;

use super::algebra::{Ended, merge};
use super::expression::{Asker, At};
use crate::outcome::{State, Undecided};
use crate::trace::TraceSink;

/// What a table comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Match {
    /// This row decides.
    Row(usize),
    /// A column does not apply and no row has a condition on that.
    DoesNotApply,
    /// No row is left: the table's gap, which the checker has excluded.
    NoRow,
    /// Several rows are left.
    Several {
        /// Which.
        rows: Vec<usize>,
        /// What would tell them apart.
        undecided: Box<Undecided>,
    },
}

/// What is known of a row.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    Out,
    Possible,
    Certain,
}

impl<S: TraceSink> Asker<'_, S> {
    /// Adds the states of a table's columns to a list.
    pub(super) fn ask_columns(
        &mut self,
        table: &Table,
        at: At<'_>,
        states: &mut Vec<State>,
    ) -> Result<(), Ended> {
        for column in &table.columns {
            states.push(self.ask(&column.value, at)?);
        }
        Ok(())
    }

    /// The row that decides, where one does.
    pub(super) fn match_rows(&mut self, table: &Table, states: &[State]) -> Result<Match, Ended> {
        if does_not_apply(table, states) {
            return Ok(Match::DoesNotApply);
        }
        if let Some(row) = row_by_masks(table, states) {
            self.step()?;
            return Ok(row.map_or(Match::NoRow, Match::Row));
        }
        let mut left = None;
        let mut are_several = false;
        let mut one_is_certain = false;
        for index in rows_to_look_at(table, states) {
            let Some(row) = table.rows.get(index) else {
                continue;
            };
            self.step()?;
            let standing = standing_of(table, row, states, one_is_certain);
            if standing == Standing::Out {
                continue;
            }
            are_several |= left.is_some();
            left = left.or(Some(index));
            one_is_certain |= standing == Standing::Certain;
            if one_is_certain && table.hit_policy == HitPolicy::First {
                break;
            }
        }
        Ok(match left {
            None => Match::NoRow,
            Some(row) if !are_several => Match::Row(row),
            Some(_) => several(table, states),
        })
    }
}

/// The row that decides, or that there is none, where the table's masks say so: nothing that would
/// tell rows apart is missing, and no two rows of a table of single rows are left.
fn row_by_masks(table: &Table, states: &[State]) -> Option<Option<usize>> {
    let masks = table.masks()?;
    let mut left = masks.all();
    for (index, (column, state)) in table.columns.iter().zip(states).enumerate() {
        left &= match state {
            State::Known(value) => masks.accepting(index, value)?,
            State::None => masks.accepting_none(index)?,
            State::Undecided(_) if column.takes_unknown => masks.accepting_unknown(index)?,
            State::Undecided(_) => return None,
        };
    }
    let ruled = left & !masks.otherwise();
    if ruled != 0 {
        left = ruled;
    }
    if table.hit_policy != HitPolicy::First && left.count_ones() > 1 {
        return None;
    }
    let first = usize::try_from(left.trailing_zeros()).ok()?;
    Some((left != 0).then_some(first))
}

/// The rows that are not out by the column of the table's index: all of them where there is none,
/// or its value is not a known number.
fn rows_to_look_at<'t>(
    table: &'t Table,
    states: &[State],
) -> impl Iterator<Item = usize> + use<'t> {
    let listed = table.index().and_then(|index| {
        let state = states.get(index.column())?;
        match state {
            State::Known(value) => Some(index.rows_of(value.number()?)),
            State::None | State::Undecided(_) => None,
        }
    });
    let all = match listed {
        Some(_) => 0..0,
        None => 0..table.rows.len(),
    };
    listed.unwrap_or_default().iter().copied().chain(all)
}

fn does_not_apply(table: &Table, states: &[State]) -> bool {
    let mut columns = table.columns.iter().zip(states);
    columns.any(|(column, state)| matches!(state, State::None) && !column.takes_none)
}

fn standing_of(table: &Table, row: &Row, states: &[State], one_is_certain: bool) -> Standing {
    if row.is_otherwise {
        return if one_is_certain {
            Standing::Out
        } else {
            Standing::Certain
        };
    }
    let mut standing = Standing::Certain;
    for ((column, condition), state) in table.columns.iter().zip(&row.conditions).zip(states) {
        match standing_in_column(column, condition, state) {
            Standing::Out => return Standing::Out,
            Standing::Possible => standing = Standing::Possible,
            Standing::Certain => {}
        }
    }
    standing
}

fn standing_in_column(column: &Column, condition: &Condition, state: &State) -> Standing {
    if condition.is_any {
        return Standing::Certain;
    }
    let accepts = match state {
        State::Known(value) => condition.values.contains(value),
        State::None => condition.none,
        State::Undecided(_) if column.takes_unknown => condition.unknown,
        State::Undecided(_) => return Standing::Possible,
    };
    if accepts {
        Standing::Certain
    } else {
        Standing::Out
    }
}

/// The rows that are left and the causes of those columns in which they differ.
fn several(table: &Table, states: &[State]) -> Match {
    let mut rows = Vec::new();
    let mut one_is_certain = false;
    for (index, row) in table.rows.iter().enumerate() {
        let standing = standing_of(table, row, states, one_is_certain);
        if standing != Standing::Out {
            rows.push(index);
        }
        one_is_certain |= standing == Standing::Certain;
        if one_is_certain && table.hit_policy == HitPolicy::First {
            break;
        }
    }
    let remaining: Vec<&Row> = rows
        .iter()
        .filter_map(|index| table.rows.get(*index))
        .collect();
    let mut undecided: Box<Undecided> = Box::default();
    for (index, (column, state)) in table.columns.iter().zip(states).enumerate() {
        let State::Undecided(missing) = state else {
            continue;
        };
        if !column.takes_unknown && rows_differ(&remaining, index) {
            merge(&mut undecided, (**missing).clone());
        }
    }
    Match::Several { rows, undecided }
}

/// Whether the rows ask different things of a column. `otherwise` differs from every row in every
/// column that another row restricts.
fn rows_differ(rows: &[&Row], column: usize) -> bool {
    let has_otherwise = rows.iter().any(|row| row.is_otherwise);
    let mut conditions = rows.iter().filter_map(|row| row.conditions.get(column));
    let Some(first) = conditions.next() else {
        return false;
    };
    if has_otherwise && (!first.is_any || conditions.clone().any(|other| !other.is_any)) {
        return true;
    }
    conditions.any(|other| other != first)
}
