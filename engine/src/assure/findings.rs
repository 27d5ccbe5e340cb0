//! Failures of cases, and ranges that are not proved, as diagnostics.

use loftwright_dsl::diagnostic::{Code, Diagnostic};

use super::{CaseResult, ExpectationResult, Failure};
use crate::explain::{listed, quoted};

/// One finding for each expectation that is not met, or for the case that cannot be run.
pub(super) fn of_case(case: &CaseResult) -> Vec<Diagnostic> {
    if let Some(problem) = &case.problem {
        let message = format!("case {} cannot be run: {problem}", quoted(&case.title));
        return vec![Diagnostic::error(Code::CaseFailed, case.span, message)];
    }
    let mut findings: Vec<Diagnostic> = not_proved(case).into_iter().collect();
    let of_line = |line: &ExpectationResult| {
        line.failure
            .as_ref()
            .map(|failure| of_failure(case, line, failure))
    };
    findings.extend(case.expectations.iter().filter_map(of_line));
    findings
}

/// A case over a range that holds where it was tried and is not proved.
fn not_proved(case: &CaseResult) -> Option<Diagnostic> {
    let why = case.not_proved.as_ref().filter(|_| case.is_passed())?;
    let message = format!(
        "case {} holds at the {} points of its range that were tried, and is not proved over it",
        quoted(&case.title),
        case.players
    );
    let finding = Diagnostic::warning(Code::RangeNotProved, case.span, message)
        .labelled(format!("in the way of a proof: {why}"))
        .with_help("give single readings that matter, each in a case of its own");
    Some(finding)
}

fn of_failure(case: &CaseResult, line: &ExpectationResult, failure: &Failure) -> Diagnostic {
    let message = format!(
        "case {}: expected {}, found {}",
        quoted(&case.title),
        failure.expected,
        failure.found
    );
    let mut finding = Diagnostic::error(Code::CaseFailed, line.span, message)
        .labelled(format!("found {}", failure.found));
    if let Some(row) = failure.row {
        finding = finding.also_at(row, "this row decided");
    }
    if let Some(reason) = &failure.reason {
        finding = finding.with_help(reason.clone());
    }
    if !failure.tried_with.is_empty() {
        let readings: Vec<String> = failure
            .tried_with
            .iter()
            .map(|reading| format!("{} = {}", quoted(&reading.name), reading.text))
            .collect();
        finding = finding.with_help(format!("tried with {}", listed(&readings)));
    }
    finding
}
