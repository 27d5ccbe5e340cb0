//! `check`: the findings of folders of rules, and their cases.

use std::path::PathBuf;

use clap::Args;
use loftwright_dsl::check::CheckOutput;
use loftwright_dsl::diagnostic::{Diagnostic, Severity, render_in_layout, render_short};
use loftwright_dsl::syntax::Folder;
use loftwright_engine::assure::confirm_findings;

use super::cases::{NamedFolder, run_cases_of, summary};
use super::folder_report::{Document, FolderReport, of_severity};
use super::output::{layout, print, print_json};
use crate::ending::{CommandError, Ended};
use crate::files::report;
use crate::files::rules_folder::check_folder;
use crate::rpc::fitting::today;

/// What `check` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folders of rules
    #[arg(value_name = "DIR", required = true)]
    folders: Vec<PathBuf>,
    /// A folder of parts for the cases that name it `with stock`; `demo` and `thin` are built in
    #[arg(long, value_name = "NAME=DIR")]
    parts: Vec<NamedFolder>,
    /// A line for each finding: FILE:LINE:COLUMN: error[CODE]: what is wrong
    #[arg(long)]
    short: bool,
    /// One JSON document: every folder with its findings, its cases and which rows they touch
    ///
    /// A finding has its code, severity, message, file, layer, span (byte from 0, line and column
    /// from 1), label, further labels, operands and help. `cases` and `coverage` are null where
    /// errors keep the cases from being run.
    #[arg(long, conflicts_with = "short")]
    json: bool,
}

/// Checks every folder; a folder that cannot be read does not hide the others.
///
/// # Errors
/// [`CommandError::BadInput`] where a folder cannot be read.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let mut document = Document::default();
    let mut is_clean = true;
    for folder in &arguments.folders {
        match check_folder(folder) {
            Err(faults) => document.unreadable.extend(report(&faults)),
            Ok(mut output) => {
                today()
                    .into_iter()
                    .for_each(|day| confirm_findings(&mut output, day));
                let name = folder.display().to_string();
                if arguments.json {
                    let report = as_json(name, &output, &arguments.parts, &mut is_clean)?;
                    document.folders.push(report);
                } else {
                    is_clean &= check_one(&name, &output, arguments)?;
                }
            }
        }
    }
    if arguments.json {
        print_json(&document)?;
    }
    match (document.unreadable.is_empty(), is_clean) {
        (false, _) => Err(CommandError::BadInput(document.unreadable)),
        (true, true) => Ok(Ended::Answered),
        (true, false) => Ok(Ended::WithFindings),
    }
}

fn as_json(
    name: String,
    output: &CheckOutput,
    parts: &[NamedFolder],
    is_clean: &mut bool,
) -> Result<FolderReport, CommandError> {
    let program = output.program.as_ref();
    let report = program
        .map(|program| run_cases_of(program, parts))
        .transpose()?;
    *is_clean &= report.as_ref().is_some_and(|report| report.is_passed());
    Ok(FolderReport::new(name, output, report.as_ref(), None))
}

/// Prints the findings, the cases' outcome and a line that sums up; whether nothing is wrong.
fn check_one(
    name: &str,
    output: &CheckOutput,
    arguments: &Arguments,
) -> Result<bool, CommandError> {
    let shown = |findings: &[Diagnostic]| print(&shown(&output.folder, findings, arguments.short));
    shown(&output.diagnostics)?;
    let count = |severity| of_severity(&output.diagnostics, severity);
    let findings = format!(
        "{name}: {}, {}, {}",
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
        counted(count(Severity::Note), "note"),
    );
    let Some(program) = &output.program else {
        print(&format!("{findings}; the cases were not run\n"))?;
        return Ok(false);
    };
    let report = run_cases_of(program, &arguments.parts)?;
    shown(&report.diagnostics)?;
    print(&format!("{findings}; {}\n", summary(&report)))?;
    Ok(report.is_passed())
}

/// Findings as text for standard output.
pub(super) fn shown(folder: &Folder, findings: &[Diagnostic], is_short: bool) -> String {
    if is_short {
        render_short(folder, findings)
    } else {
        render_in_layout(folder, findings, layout())
    }
}

/// `1 error`, `2 errors`.
pub(super) fn counted(count: usize, thing: &str) -> String {
    match count {
        1 => format!("1 {thing}"),
        _ => format!("{count} {thing}s"),
    }
}
