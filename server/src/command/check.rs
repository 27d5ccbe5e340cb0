//! `check`: the findings of folders of rules, and their cases.

use std::path::PathBuf;

use clap::Args;
use loftwright_dsl::check::CheckOutput;
use loftwright_dsl::diagnostic::{Severity, render_for_terminal};

use super::cases::{NamedFolder, run_cases_of, summary};
use super::output::{is_coloured, print};
use crate::ending::{CommandError, Ended};
use crate::files::report;
use crate::files::rules_folder::check_folder;

/// What `check` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folders of rules
    #[arg(value_name = "DIR", required = true)]
    folders: Vec<PathBuf>,
    /// A folder of parts for the cases that name it `with stock`; the built-in one is `demo`
    #[arg(long, value_name = "NAME=DIR")]
    parts: Vec<NamedFolder>,
}

/// Checks every folder; a folder that cannot be read does not hide the others.
///
/// # Errors
/// [`CommandError::BadInput`] where a folder cannot be read.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let mut unreadable = Vec::new();
    let mut is_clean = true;
    for folder in &arguments.folders {
        match check_folder(folder) {
            Err(faults) => unreadable.extend(report(&faults)),
            Ok(output) => {
                let name = folder.display().to_string();
                is_clean &= check_one(&name, &output, &arguments.parts)?;
            }
        }
    }
    match (unreadable.is_empty(), is_clean) {
        (false, _) => Err(CommandError::BadInput(unreadable)),
        (true, true) => Ok(Ended::Answered),
        (true, false) => Ok(Ended::WithFindings),
    }
}

/// Prints the findings, the cases' outcome and a line that sums up; whether nothing is wrong.
fn check_one(
    name: &str,
    output: &CheckOutput,
    parts: &[NamedFolder],
) -> Result<bool, CommandError> {
    print(&render_for_terminal(
        &output.folder,
        &output.diagnostics,
        is_coloured(),
    ))?;
    let count = |severity: Severity| {
        let of_severity = |finding: &&_| severity_of(finding) == severity;
        output.diagnostics.iter().filter(of_severity).count()
    };
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
    let report = run_cases_of(program, parts)?;
    print(&render_for_terminal(
        &output.folder,
        &report.diagnostics,
        is_coloured(),
    ))?;
    print(&format!("{findings}; {}\n", summary(&report)))?;
    Ok(report.is_passed())
}

fn severity_of(finding: &loftwright_dsl::diagnostic::Diagnostic) -> Severity {
    finding.severity
}

/// `1 error`, `2 errors`.
pub(super) fn counted(count: usize, thing: &str) -> String {
    match count {
        1 => format!("1 {thing}"),
        _ => format!("{count} {thing}s"),
    }
}
