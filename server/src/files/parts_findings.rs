//! The faults of a parts folder as findings: the same data as those of rules, so that a terminal
//! shows them with a caret and `--json` with bytes, lines and columns.

use loftwright_dsl::diagnostic::{Code, Diagnostic, Label, Severity};
use loftwright_dsl::syntax::{FileId, Folder, SourceFile, Span};

use super::fault::FileFault;
use super::text_file::TextFile;

/// The files with what is found in them. A fault of something that is no file among them (a kind
/// that was sent without one) stands at the beginning of the first.
pub fn findings(
    layer: &str,
    files: &[TextFile],
    faults: &[FileFault],
) -> (Folder, Vec<Diagnostic>) {
    let mut folder = Folder::default();
    let mut ids: Vec<(&str, FileId)> = Vec::new();
    for file in files {
        let id = folder.push(SourceFile {
            layer: layer.to_owned(),
            name: file.shown.clone(),
            text: file.text.clone(),
        });
        ids.push((file.shown.as_str(), id));
    }
    let file_of = |fault: &FileFault| {
        let found = ids.iter().find(|(shown, _)| *shown == fault.file);
        found.or(ids.first()).map(|(_, id)| *id)
    };
    let findings = faults
        .iter()
        .filter_map(|fault| Some(finding(file_of(fault)?, fault)))
        .collect();
    (folder, findings)
}

fn finding(file: FileId, fault: &FileFault) -> Diagnostic {
    let at = |range: &std::ops::Range<usize>| Span {
        file,
        start: range.start,
        end: range.end,
    };
    let span = fault
        .marked
        .as_ref()
        .map_or(at(&(0..0)), |marked| at(&marked.span));
    let code = fault.kind.code_of_parts().unwrap_or(Code::PartsSyntax);
    let message = if fault.key.is_empty() {
        fault.message.clone()
    } else {
        format!("{}: {}", fault.key, fault.message)
    };
    let first = fault
        .marked
        .iter()
        .filter_map(|marked| marked.first.as_ref());
    let first = first.map(|first| Label {
        span: at(first),
        text: "the first".to_owned(),
    });
    Diagnostic {
        code,
        severity: Severity::Error,
        message,
        primary: Label {
            span,
            text: String::new(),
        },
        secondary: first.collect(),
        operands: Vec::new(),
        help: Vec::new(),
        witness: None,
    }
}
