//! The rows of a decision, each with the first thing that ruled it out.
//!
//! The trace holds what every column was that a table was asked with; nothing is evaluated here.

use loftwright_dsl::program::{
    Column, Condition, Decision, ExpressionKind, Node, Row, RowResult, Table,
};

use super::words::condition_text;
use crate::explain::value::state_text;
use crate::explain::view::{Evaluated, View};
use crate::outcome::State;
use crate::trace::StepTrace;

/// A table of a decision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableReport {
    /// Its number in the decision, from 1.
    pub table: usize,
    /// Its rows.
    pub rows: Vec<RowReport>,
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowReport {
    /// Its number in the table, from 1.
    pub row: usize,
    /// As it is written.
    pub text: String,
    /// The value it gives, as it is shown; `None` where it computes one, or moves one.
    pub gives: Option<String>,
    /// Its own reason.
    pub because: Option<String>,
    /// How it stands.
    pub standing: RowStanding,
}

/// How a row stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowStanding {
    /// It decided.
    Decided,
    /// Nothing that is known rules it out.
    Possible,
    /// A column rules it out; the first that does.
    RuledOut {
        /// The column as it is written.
        column: String,
        /// What it was.
        reading: String,
        /// What the row asks of it.
        asks: String,
    },
    /// Another row comes before it.
    Behind {
        /// That row's number, from 1.
        row: usize,
    },
    /// Its table was not asked.
    NotAsked,
}

/// The tables of a decision; `None` for anything else.
pub(super) fn tables(view: &View<'_>, entry: &Evaluated<'_>) -> Option<Vec<TableReport>> {
    let Node::Decision(id) = entry.place.node else {
        return None;
    };
    let decision = &view.program.decisions[id];
    let steps = view.trace.steps(entry.how).unwrap_or_default();
    let tables = decision.tables().into_iter().enumerate();
    let report = |(number, table): (usize, &Table)| {
        let asked = steps.iter().find_map(|step| match step {
            StepTrace::Row { table, row, .. } if *table == number => Some((step, Some(*row))),
            StepTrace::IfUnknown { table, .. } | StepTrace::Remaining { table, .. }
                if *table == number =>
            {
                Some((step, None))
            }
            _ => None,
        });
        let asked = asked.map(|(step, row)| (view.trace.columns(step), row));
        let rows = table.rows.iter().enumerate().map(|(index, row)| RowReport {
            row: index + 1,
            text: row.text.clone(),
            gives: given(view, decision, row),
            because: row.because.clone(),
            standing: match asked {
                None => RowStanding::NotAsked,
                Some((_, Some(decided))) if decided == index => RowStanding::Decided,
                Some((columns, decided)) => standing(view, table, row, columns, decided),
            },
        });
        TableReport {
            table: number + 1,
            rows: rows.collect(),
        }
    };
    Some(tables.map(report).collect())
}

fn standing(
    view: &View<'_>,
    table: &Table,
    row: &Row,
    columns: &[State],
    decided: Option<usize>,
) -> RowStanding {
    let looked_at = table.columns.iter().zip(&row.conditions).zip(columns);
    for ((column, condition), state) in looked_at {
        if contradicts(column, condition, state) {
            let shown = &column.shown;
            return RowStanding::RuledOut {
                column: column.text.clone(),
                reading: state_text(view.program, column.value.value_type, shown, state),
                asks: condition_text(view.program, column, condition),
            };
        }
    }
    match decided {
        Some(decided) => RowStanding::Behind { row: decided + 1 },
        None => RowStanding::Possible,
    }
}

/// Whether what is known of a column rules the condition out.
fn contradicts(column: &Column, condition: &Condition, state: &State) -> bool {
    let accepts = match state {
        _ if condition.is_any => true,
        State::Known(value) => condition.values.contains(value),
        State::None => condition.none,
        State::Undecided(_) => condition.unknown || !column.takes_unknown,
    };
    !accepts
}

/// The constant that a row gives, as the decision is shown.
fn given(view: &View<'_>, decision: &Decision, row: &Row) -> Option<String> {
    let RowResult::Gives(expression) = &row.result else {
        return None;
    };
    match &expression.kind {
        ExpressionKind::Constant(value) => {
            let shown = &decision.shown;
            Some(shown.text(view.program, decision.value_type, value))
        }
        ExpressionKind::None => Some("none".to_owned()),
        _ => None,
    }
}
