//! The steps of a decision as sentences: what was looked at, the row or expression, the value.

use loftwright_dsl::program::{
    Body, Decision, ExpressionKind, Gives, NextStep, Node, Progression, RowResult, Step, Table,
    Value,
};

use super::readings::{looked_at, table_readings};
use super::view::{Evaluated, View};
use super::words::{clause, listed, moved_by};
use crate::recommendation::StepReport;
use crate::trace::{GivesWhich, StepTrace};

/// The steps of a decision; none for anything else.
pub(crate) fn of_entry(view: &View<'_>, entry: &Evaluated<'_>) -> Vec<StepReport> {
    let (Node::Decision(id), Some(steps)) = (entry.place.node, view.trace.steps(entry.how)) else {
        return Vec::new();
    };
    let decision = &view.program.decisions[id];
    steps
        .iter()
        .map(|step| report(view, entry, decision, step))
        .collect()
}

fn report(
    view: &View<'_>,
    entry: &Evaluated<'_>,
    decision: &Decision,
    step: &StepTrace,
) -> StepReport {
    let text = |value: &Value| {
        let shown = &decision.shown;
        shown.text(view.program, decision.value_type, value)
    };
    match step {
        StepTrace::Row { table, value, .. } | StepTrace::IfUnknown { table, value, .. } => {
            StepReport {
                value: value.as_ref().map(text),
                ..table_report(view, decision, step, *table)
            }
        }
        StepTrace::Remaining { table, .. } => table_report(view, decision, step, *table),
        StepTrace::Gives { which, value } => {
            gives_report(view, entry, decision, *which, text(value))
        }
        StepTrace::Moved {
            half_steps,
            value,
            stopped,
        } => {
            let end = if *stopped {
                ", stopped at the end of the scale"
            } else {
                ""
            };
            StepReport {
                rule: format!("moved {}{end}", moved_by(*half_steps)),
                value: Some(text(value)),
                ..StepReport::default()
            }
        }
        StepTrace::Post { step, value } => {
            let declared = decision.steps.get(*step);
            StepReport {
                rule: declared.map_or_else(String::new, post_rule),
                value: Some(text(value)),
                ..StepReport::default()
            }
        }
    }
}

/// What a table looked at and what it said, but for the value.
fn table_report(
    view: &View<'_>,
    decision: &Decision,
    step: &StepTrace,
    table: usize,
) -> StepReport {
    let tables = decision.tables();
    let declared = tables.get(table).copied();
    let mut report = StepReport {
        readings: table_readings(view, declared, view.trace.columns(step)),
        table: Some(table + 1),
        ..StepReport::default()
    };
    match step {
        StepTrace::Row { row, .. } => {
            report.row = Some(row + 1);
            if let Some(found) = declared.and_then(|table| table.rows.get(*row)) {
                report.rule.clone_from(&found.text);
                report.because.clone_from(&found.because);
            }
        }
        StepTrace::IfUnknown { value, .. } => {
            let result = declared.and_then(|table| table.if_unknown.as_ref());
            let result = result.map(|result| result_text(view, decision, result, value));
            report.rule = clause("if unknown", &result.unwrap_or_default());
        }
        StepTrace::Remaining { rows, .. } => report.rule = remaining_rule(declared, rows),
        StepTrace::Gives { .. } | StepTrace::Moved { .. } | StepTrace::Post { .. } => {}
    }
    report
}

fn gives_report(
    view: &View<'_>,
    entry: &Evaluated<'_>,
    decision: &Decision,
    which: GivesWhich,
    value: String,
) -> StepReport {
    let opening = match which {
        GivesWhich::Gives => "gives",
        GivesWhich::Kept => "kept gives",
        GivesWhich::First => "first gives",
        GivesWhich::Next => "next gives",
        GivesWhich::Last => "last gives",
    };
    let gives = gives_of(decision, which);
    StepReport {
        readings: gives.map_or_else(Vec::new, |gives| {
            looked_at(view, entry.place, decision, &gives.value)
        }),
        rule: gives.map_or_else(String::new, |gives| clause(opening, &gives.text)),
        value: Some(value),
        because: gives.and_then(|gives| gives.because.clone()),
        ..StepReport::default()
    }
}

fn gives_of(decision: &Decision, which: GivesWhich) -> Option<&Gives> {
    let progression: Option<&Progression> = match &decision.body {
        Body::Gives(gives) => return (which == GivesWhich::Gives).then_some(gives),
        Body::Progression(progression) => Some(progression),
        Body::Table(_) => None,
    };
    let progression = progression?;
    match which {
        GivesWhich::Gives => None,
        GivesWhich::Kept => progression.kept.as_ref(),
        GivesWhich::First => Some(&progression.first),
        GivesWhich::Last => progression.last.as_ref(),
        GivesWhich::Next => match &progression.next {
            Some(NextStep::Gives(gives)) => Some(gives),
            _ => None,
        },
    }
}

/// What `if unknown` does, as the header has it.
fn result_text(
    view: &View<'_>,
    decision: &Decision,
    result: &RowResult,
    value: &Option<Value>,
) -> String {
    let shown = |value: &Value| {
        decision
            .shown
            .text(view.program, decision.value_type, value)
    };
    // What is added to a point of a scale is a difference; its size is shown.
    let difference = |expression: &loftwright_dsl::program::Expression| match &expression.kind {
        ExpressionKind::Constant(value) => format!(
            " {}",
            loftwright_dsl::program::Shown::default().text(
                view.program,
                expression.value_type,
                value
            )
        ),
        _ => String::new(),
    };
    match result {
        RowResult::Gives(_) => match value {
            Some(value) => format!("gives {}", shown(value)),
            None => "gives".to_owned(),
        },
        RowResult::Moves(half_steps) => format!("moves {}", moved_by(*half_steps)),
        RowResult::Keeps => "keeps".to_owned(),
        RowResult::Adds(expression) => format!("adds{}", difference(expression)),
        RowResult::TakesOff(expression) => format!("takes off{}", difference(expression)),
        RowResult::CannotHappen => "cannot happen".to_owned(),
    }
}

fn post_rule(step: &Step) -> String {
    match step {
        Step::Table(_) => "then by".to_owned(),
        Step::KeptWithin { text, .. }
        | Step::Rounded { text, .. }
        | Step::OrIfUnknown { text, .. } => clause("then", text),
    }
}

fn remaining_rule(table: Option<&Table>, rows: &[usize]) -> String {
    let text = |row: &usize| {
        let written = table.and_then(|table| table.rows.get(*row));
        match written {
            Some(written) => format!("row {} ({})", row + 1, written.text),
            None => format!("row {}", row + 1),
        }
    };
    let texts: Vec<_> = rows.iter().map(text).collect();
    match texts.as_slice() {
        [] => "no row remains".to_owned(),
        [only] => format!("{only} remains"),
        several => format!("{} remain", listed(several)),
    }
}
