//! The parts of a decision in the order in which they are done.

use super::gather::Desk;
use super::words::{cells_of, one_line};
use super::{Detail, RowFact, StepFact, TableFact};
use crate::program::{Body, Decision, Gives, NextStep, RowResult, Step, Table};
use crate::syntax::tree::HitPolicy;

/// What a decision says.
pub(super) fn decision_detail(desk: &Desk<'_>, decision: &Decision) -> Detail {
    let mut steps = body_steps(desk, &decision.body);
    for step in &decision.steps {
        steps.push(match step {
            Step::Table(table) => StepFact::Table(table_fact(desk, "then by", table)),
            Step::KeptWithin { text, .. }
            | Step::Rounded { text, .. }
            | Step::OrIfUnknown { text, .. } => line(text),
        });
    }
    let promises = decision.promises.iter();
    Detail::Decision {
        steps,
        promises: promises.map(|promise| one_line(&promise.text)).collect(),
    }
}

/// A step's text may or may not hold its own `then`.
fn line(text: &str) -> StepFact {
    let text = one_line(text);
    let after = text.strip_prefix("then ").unwrap_or(&text);
    StepFact::Line {
        text: format!("then {after}"),
    }
}

fn body_steps(desk: &Desk<'_>, body: &Body) -> Vec<StepFact> {
    let progression = match body {
        Body::Table(table) => return vec![StepFact::Table(table_fact(desk, "by", table))],
        Body::Gives(value) => return vec![gives("gives", value)],
        Body::Progression(progression) => progression,
    };
    let mut steps = Vec::new();
    steps.extend(
        progression
            .kept
            .as_ref()
            .map(|kept| gives("kept gives", kept)),
    );
    steps.push(gives("first gives", &progression.first));
    match &progression.next {
        Some(NextStep::Gives(next)) => steps.push(gives("next gives", next)),
        Some(NextStep::Table(table)) => {
            steps.push(StepFact::Table(table_fact(desk, "next by", table)));
        }
        None => {}
    }
    steps.extend(
        progression
            .last
            .as_ref()
            .map(|last| gives("last gives", last)),
    );
    steps
}

fn gives(verb: &str, value: &Gives) -> StepFact {
    StepFact::Gives {
        verb: verb.to_owned(),
        value: one_line(&value.text),
        because: value.because.clone(),
    }
}

fn table_fact(desk: &Desk<'_>, opening: &str, table: &Table) -> TableFact {
    let row = |row| {
        let (conditions, result) = cells_of(row);
        RowFact {
            conditions,
            result,
            because: row.because.clone(),
        }
    };
    TableFact {
        opening: opening.to_owned(),
        columns: table
            .columns
            .iter()
            .map(|column| one_line(&column.text))
            .collect(),
        is_first: table.hit_policy == HitPolicy::First,
        if_unknown: table
            .if_unknown
            .as_ref()
            .map(|result| result_text(desk, result)),
        rows: table.rows.iter().map(row).collect(),
    }
}

/// What is done, as it would be written.
fn result_text(desk: &Desk<'_>, result: &RowResult) -> String {
    match result {
        RowResult::Gives(value) => format!("gives {}", desk.written(value)),
        RowResult::Adds(value) => format!("adds {}", desk.written(value)),
        RowResult::TakesOff(value) => format!("takes off {}", desk.written(value)),
        RowResult::Keeps => "keeps".to_owned(),
        RowResult::CannotHappen => "cannot happen".to_owned(),
        RowResult::Moves(half_steps) => {
            let way = if *half_steps < 0 { "down" } else { "up" };
            let size = half_steps.unsigned_abs();
            let steps = match (size / 2, size % 2) {
                (0, _) => "1/2".to_owned(),
                (whole, 0) => whole.to_string(),
                (whole, _) => format!("{whole} 1/2"),
            };
            format!("moves {way} {steps}")
        }
    }
}
