//! The steps of a decision: what was looked at, the row, what it gave and why.

use loftwright_proto::v1 as pb;
use maud::{Markup, html};

/// The steps in their order.
pub(super) fn steps(report: &pb::DecisionReport) -> Markup {
    html! {
        @if report.steps.is_empty() && report.explanation.is_none() {
            p.none { "It has no steps." }
        }
        ol.steps {
            @for step in &report.steps { li { (step_markup(step)) } }
            @if let Some(explanation) = &report.explanation {
                li { p.open { (explanation) } }
            }
        }
        @for sentence in &report.beyond_literature {
            p.note { (sentence) "." }
        }
    }
}

fn step_markup(step: &pb::StepReport) -> Markup {
    let place = match (step.table, step.row) {
        (Some(table), Some(row)) if table > 1 => Some(format!("Table {table}, row {row}")),
        (_, Some(row)) => Some(format!("Row {row}")),
        _ => None,
    };
    html! {
        @if !step.readings.is_empty() {
            p.read {
                @for reading in &step.readings {
                    span.pair { span.what { (reading.name) } " " b { (reading.text) } }
                    " "
                }
            }
        }
        p.rule-line {
            @if let Some(place) = &place { span.place { (place) } " " }
            code { (step.rule) }
        }
        @if let Some(value) = &step.value {
            p.gives { span.arrow aria-hidden="true" { "→" } " " span.hidden { "gives " } b { (value) } }
        }
        @if let Some(because) = &step.because { p.because { (because) } }
    }
}
