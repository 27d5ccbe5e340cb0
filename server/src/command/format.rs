//! `format`: lays out the files of folders of rules, or says which of them are not.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_dsl::diagnostic::{Located, locate, render_for_terminal};
use loftwright_dsl::format::{NotFormatted, format_file};
use loftwright_dsl::syntax::{Folder, SourceFile};
use serde::Serialize;
use similar::TextDiff;

use super::check::counted;
use super::output::{is_coloured, print, print_json};
use crate::ending::{CommandError, Ended};
use crate::files::rules_folder::rules_files;
use crate::files::{TextFile, replace_text, report};

/// The most lines that are shown of the difference of one file.
const MOST_DIFFERENCE_LINES: usize = 60;

/// What `format` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folders of rules
    #[arg(value_name = "DIR", required = true)]
    folders: Vec<PathBuf>,
    /// Change nothing; say which files are not laid out, and how they would change
    #[arg(long)]
    check: bool,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
}

/// What has become of one file.
#[derive(Debug, Serialize)]
struct FileReport {
    file: String,
    state: State,
    /// How it changes, as a unified difference; empty where it does not.
    difference: String,
    /// Why it is left as it is; empty where it is not.
    why: String,
    /// The findings for which it is left as it is.
    findings: Vec<Located>,
    /// The findings for a terminal.
    #[serde(skip)]
    rendered: String,
    /// The new text.
    #[serde(skip)]
    text: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
enum State {
    /// It is laid out already.
    Unchanged,
    /// It was changed; with `--check`, it would be.
    Changed,
    /// It has errors, and is left as it is.
    Left,
}

/// Formats every folder; a folder that cannot be read does not hide the others.
///
/// # Errors
/// [`CommandError::BadInput`] where a file cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let mut faults = Vec::new();
    let mut reports = Vec::new();
    for folder in &arguments.folders {
        match rules_files(folder) {
            Err(found) => faults.extend(found),
            Ok(files) => reports.extend(files.into_iter().map(formatted)),
        }
    }
    let is_written = |report: &&FileReport| !arguments.check && report.state == State::Changed;
    for report in reports.iter().filter(is_written) {
        let path = Path::new(&report.file);
        faults.extend(replace_text(path, &report.file, &report.text).err());
    }
    if arguments.json {
        print_json(&reports)?;
    } else {
        print(&as_text(&reports, arguments.check))?;
    }
    let wants_attention = |report: &FileReport| match report.state {
        State::Unchanged => false,
        State::Changed => arguments.check,
        State::Left => true,
    };
    match (faults.is_empty(), reports.iter().any(wants_attention)) {
        (false, _) => Err(CommandError::BadInput(report(&faults))),
        (true, true) => Ok(Ended::WithFindings),
        (true, false) => Ok(Ended::Answered),
    }
}

fn formatted(file: TextFile) -> FileReport {
    let mut folder = Folder::new();
    let source = SourceFile {
        layer: String::new(),
        name: file.shown.clone(),
        text: file.text,
    };
    let id = folder.push(source);
    let source = &folder[id];
    let mut report = FileReport {
        file: file.shown,
        state: State::Unchanged,
        difference: String::new(),
        why: String::new(),
        findings: Vec::new(),
        rendered: String::new(),
        text: String::new(),
    };
    match format_file(id, source) {
        Ok(text) if text == source.text => {}
        Ok(text) => {
            report.state = State::Changed;
            report.difference = difference(&source.text, &text);
            report.text = text;
        }
        Err(why) => {
            report.state = State::Left;
            report.why = why.to_string();
            if let NotFormatted::Findings(findings) = &why {
                report.findings = locate(&folder, findings);
                report.rendered = render_for_terminal(&folder, findings, is_coloured());
            }
        }
    }
    report
}

/// The lines that change, with one line around them.
fn difference(before: &str, after: &str) -> String {
    let difference = TextDiff::from_lines(before, after);
    difference
        .unified_diff()
        .context_radius(1)
        .missing_newline_hint(false)
        .to_string()
}

fn as_text(reports: &[FileReport], is_check: bool) -> String {
    let mut text = String::new();
    for report in reports {
        match report.state {
            State::Unchanged => {}
            State::Changed if is_check => add_difference(&mut text, report),
            State::Changed => text.push_str(&format!("{}: formatted\n", report.file)),
            State::Left => {
                text.push_str(&report.rendered);
                text.push_str(&format!("{}: left as it is: {}\n", report.file, report.why));
            }
        }
    }
    let of_state = |state: State| reports.iter().filter(|one| one.state == state).count();
    let changed = if is_check { "would change" } else { "changed" };
    text.push_str(&format!(
        "{}: {} {changed}, {} left with errors\n",
        counted(reports.len(), "file"),
        of_state(State::Changed),
        of_state(State::Left),
    ));
    text
}

fn add_difference(text: &mut String, report: &FileReport) {
    text.push_str(&format!("{}: would change\n", report.file));
    let lines = report.difference.lines().count();
    for line in report.difference.lines().take(MOST_DIFFERENCE_LINES) {
        text.push_str(line);
        text.push('\n');
    }
    if lines > MOST_DIFFERENCE_LINES {
        // Writing to a text cannot fail.
        let _ = writeln!(text, "… {} more lines", lines - MOST_DIFFERENCE_LINES);
    }
}
