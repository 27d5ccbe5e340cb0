//! What a check has to say, as messages.

use loftwright_dsl::diagnostic::{Diagnostic, Label, Severity};
use loftwright_dsl::syntax::Folder;
use loftwright_engine::assure::CaseReport;
use loftwright_proto::v1 as pb;

use crate::rpc::status::FieldFault;

/// The message of a finding.
pub fn finding(folder: &Folder, finding: &Diagnostic) -> pb::Finding {
    let severity = match finding.severity {
        Severity::Error => pb::Severity::Error,
        Severity::Warning => pb::Severity::Warning,
        Severity::Note => pb::Severity::Note,
    };
    pb::Finding {
        code: finding.code.text().to_owned(),
        severity: severity.into(),
        message: finding.message.clone(),
        place: Some(place(folder, &finding.primary)),
        also: finding
            .secondary
            .iter()
            .map(|label| place(folder, label))
            .collect(),
        help: finding.help.clone(),
    }
}

/// A finding as a fault of the request: the place, the code, the sentence.
pub fn finding_fault(folder: &Folder, finding: &Diagnostic) -> FieldFault {
    let place = place(folder, &finding.primary);
    FieldFault {
        field: format!("{}:{}:{}", place.file, place.line, place.column),
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
    let rows = || report.coverage.iter().flat_map(|table| &table.rows);
    pb::CaseCount {
        passed: count(passed),
        failed: count(report.cases.len() - passed),
        rows: count(rows().count()),
        rows_touched: count(rows().filter(|row| row.cases > 0).count()),
    }
}

fn place(folder: &Folder, label: &Label) -> pb::SourcePlace {
    let file = &folder[label.span.file];
    let (line, column) = line_and_column(&file.text, label.span.start);
    let (end_line, end_column) = line_and_column(&file.text, label.span.end);
    pb::SourcePlace {
        layer: file.layer.clone(),
        file: file.name.clone(),
        line,
        column,
        end_line,
        end_column,
        label: label.text.clone(),
    }
}

/// Line and column in characters of a byte, both from 1.
fn line_and_column(text: &str, byte: usize) -> (u32, u32) {
    let before = text.get(..byte).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let in_line = before.rsplit('\n').next().unwrap_or(before);
    (count(line), count(in_line.chars().count() + 1))
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
