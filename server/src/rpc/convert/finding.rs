//! What a check has to say, as messages.

use loftwright_dsl::diagnostic::{Diagnostic, Locator, Place, Severity};
use loftwright_dsl::syntax::Folder;
use loftwright_engine::assure::CaseReport;
use loftwright_proto::v1 as pb;

use crate::rpc::refusal::FieldFault;

/// The message of a finding.
pub fn finding(folder: &Folder, finding: &Diagnostic) -> pb::Finding {
    let severity = match finding.severity {
        Severity::Error => pb::Severity::Error,
        Severity::Warning => pb::Severity::Warning,
        Severity::Note => pb::Severity::Note,
    };
    let located = Locator::new(folder).locate(finding);
    let operands = located.operands.into_iter();
    let given = finding.witness.iter().flat_map(|witness| &witness.given);
    pb::Finding {
        code: located.code.to_owned(),
        severity: severity.into(),
        message: located.message,
        place: Some(place(located.place, located.label)),
        also: located
            .labels
            .into_iter()
            .map(|label| place(label.place, label.text))
            .collect(),
        help: located.help,
        operands: operands
            .map(|operand| pb::Operand {
                text: operand.text,
                measures: operand.measures,
            })
            .collect(),
        witness: given
            .map(|reading| pb::NamedText {
                name: reading.input.clone(),
                text: reading.value.clone(),
            })
            .collect(),
    }
}

/// A finding as a fault of the request: the place, the code, the sentence.
pub fn finding_fault(folder: &Folder, finding: &Diagnostic) -> FieldFault {
    let place = Locator::new(folder).place(finding.primary.span);
    let start = place.span.start;
    FieldFault {
        field: format!("{}:{}:{}", place.file, start.line, start.column),
        sentence: format!("{}: {}", finding.code.text(), finding.message),
    }
}

/// Whether a finding keeps rules from being published.
pub fn is_refusal(finding: &Diagnostic) -> bool {
    finding.severity == Severity::Error
}

/// What the cases came to, counted.
pub fn case_count(report: &CaseReport) -> pb::CaseCount {
    let passed = report.cases.iter().filter(|case| case.is_passed()).count();
    let totals = report.row_totals();
    pb::CaseCount {
        passed: count(passed),
        failed: count(report.cases.len() - passed),
        rows: count(totals.rows),
        rows_touched: count(totals.touched),
    }
}

fn place(place: Place, label: String) -> pb::SourcePlace {
    let (start, end) = (place.span.start, place.span.end);
    pb::SourcePlace {
        layer: place.layer,
        file: place.file,
        line: count(start.line),
        column: count(start.column),
        end_line: count(end.line),
        end_column: count(end.column),
        label,
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
