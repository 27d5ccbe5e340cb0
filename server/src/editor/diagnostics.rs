//! Findings as an editor shows them.
//!
//! A folder speaks for its own files alone, so that two open folders never contradict each other
//! about a file of a layer below: what is wrong there is said at the `ruleset` line.

use std::collections::BTreeMap;
use std::path::PathBuf;

use loftwright_dsl::diagnostic::{Code, Diagnostic, Severity};
use loftwright_dsl::index::Kind;
use loftwright_dsl::syntax::Span;
use lsp_types::{
    DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, NumberOrString, Position,
    Range,
};

use super::folders::Checked;
use crate::files::FileFault;

/// What stands before every finding: who says it.
const SPEAKER: &str = "loftwright";

/// The findings of every file of the ruleset's folder, of those without any too.
pub(super) fn of_folder(checked: &Checked) -> BTreeMap<PathBuf, Vec<lsp_types::Diagnostic>> {
    let own = checked.own_files();
    let mut files: BTreeMap<PathBuf, Vec<lsp_types::Diagnostic>> = own
        .map(|(_, found)| (found.path.clone(), Vec::new()))
        .collect();
    let findings = checked.index.diagnostics.iter();
    for finding in findings.chain(&checked.case_findings) {
        let place = finding.primary.span;
        let own = checked.on_disk(place.file);
        match own.and_then(|found| files.get_mut(&found.path)) {
            Some(of_file) => of_file.push(shown(checked, finding, place)),
            None if finding.severity == Severity::Error => {
                let Some(head) = head(checked) else { continue };
                let head_file = checked.on_disk(head.file);
                if let Some(of_file) = head_file.and_then(|found| files.get_mut(&found.path)) {
                    of_file.push(from_below(checked, finding, head));
                }
            }
            None => {}
        }
    }
    files
}

/// The faults of a folder that cannot be read, as one finding.
pub(super) fn of_faults(faults: &[FileFault]) -> lsp_types::Diagnostic {
    let lines = crate::files::report(faults);
    lsp_types::Diagnostic {
        range: Range::new(Position::new(0, 0), Position::new(0, 0)),
        severity: Some(DiagnosticSeverity::ERROR),
        source: Some(SPEAKER.to_owned()),
        message: lines.join("\n"),
        ..lsp_types::Diagnostic::default()
    }
}

/// The name on the ruleset's own `ruleset` line, or the start of its first file.
fn head(checked: &Checked) -> Option<Span> {
    let index = &checked.index;
    let mut own = checked.own_files();
    let mut declared = index.declarations.iter().rev();
    let head = declared.find(|declaration| {
        let is_own = checked
            .on_disk(declaration.span.file)
            .is_some_and(|found| found.path.parent() == Some(checked.folder.as_path()));
        declaration.kind == Kind::Ruleset && is_own
    });
    head.map(|declaration| declaration.span).or_else(|| {
        let (file, _) = own.next()?;
        Some(Span {
            file,
            start: 0,
            end: 0,
        })
    })
}

fn from_below(checked: &Checked, finding: &Diagnostic, head: Span) -> lsp_types::Diagnostic {
    let place = finding.primary.span;
    let layer = &checked.index.folder[place.file].layer;
    let mut diagnostic = shown(checked, finding, head);
    diagnostic.message = format!("in `{layer}`: {}", diagnostic.message);
    if let Some(location) = checked.location(place) {
        let related = diagnostic.related_information.get_or_insert_default();
        related.insert(
            0,
            DiagnosticRelatedInformation {
                location,
                message: "here".to_owned(),
            },
        );
    }
    diagnostic
}

fn shown(checked: &Checked, finding: &Diagnostic, place: Span) -> lsp_types::Diagnostic {
    let severity = match finding.severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warning => DiagnosticSeverity::WARNING,
        Severity::Note => DiagnosticSeverity::INFORMATION,
    };
    let mut message = finding.message.clone();
    if !finding.primary.text.is_empty() {
        message.push_str(&format!("\n{}", finding.primary.text));
    }
    let related: Vec<_> = finding
        .secondary
        .iter()
        .filter_map(|label| {
            Some(DiagnosticRelatedInformation {
                location: checked.location(label.span)?,
                message: label.text.clone(),
            })
        })
        .collect();
    for help in &finding.help {
        message.push_str(&format!("\nhelp: {help}"));
    }
    lsp_types::Diagnostic {
        range: checked.range(place),
        severity: Some(severity),
        code: Some(NumberOrString::String(finding.code.text().to_owned())),
        source: Some(SPEAKER.to_owned()),
        message,
        related_information: (!related.is_empty()).then_some(related),
        tags: (finding.code == Code::Unused).then(|| vec![DiagnosticTag::UNNECESSARY]),
        ..lsp_types::Diagnostic::default()
    }
}
