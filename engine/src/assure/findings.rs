//! Failures of cases as diagnostics.

use loftwright_dsl::diagnostic::{Code, Diagnostic};

use super::{CaseResult, ExpectationResult, Failure};
use crate::explain::{listed, quoted};

/// One finding for each expectation that is not met, or for the case that cannot be run.
pub(super) fn of_case(case: &CaseResult) -> Vec<Diagnostic> {
    if let Some(problem) = &case.problem {
        let message = format!("case {} cannot be run: {problem}", quoted(&case.title));
        return vec![Diagnostic::error(Code::CaseFailed, case.span, message)];
    }
    let of_line = |line: &ExpectationResult| {
        line.failure
            .as_ref()
            .map(|failure| of_failure(case, line, failure))
    };
    case.expectations.iter().filter_map(of_line).collect()
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
