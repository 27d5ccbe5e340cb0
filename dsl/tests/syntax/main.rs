//! The reader and the parser of the rules language, from outside.

#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::string_slice,
    reason = "a test stops at the first surprise"
)]

mod corpus;
mod junk;
mod limits;
mod lines;
mod messages;
mod slips;
mod tree;

use loftwright_dsl::diagnostic::Diagnostic;
use loftwright_dsl::syntax::{Folder, ParsedFile, SourceFile, parse_file};

/// Reads one text as a file of its own.
fn read(text: &str) -> ParsedFile {
    let mut folder = Folder::new();
    let file = folder.push(SourceFile {
        layer: "trial".to_owned(),
        name: "trial.rules".to_owned(),
        text: text.to_owned(),
    });
    parse_file(file, &folder[file])
}

/// `L0102 `text at the place`: message | help` of each finding.
fn told(text: &str, findings: &[Diagnostic]) -> Vec<String> {
    findings
        .iter()
        .map(|finding| {
            let span = finding.primary.span;
            let place = text.get(span.start..span.end).expect("a place in the text");
            let mut line = format!("{} `{place}`: {}", finding.code, finding.message);
            for help in &finding.help {
                line.push_str(" | ");
                line.push_str(help);
            }
            line
        })
        .collect()
}

/// Reads a text and tells its findings.
fn findings(text: &str) -> Vec<String> {
    told(text, &read(text).diagnostics)
}
