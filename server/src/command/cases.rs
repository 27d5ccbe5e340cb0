//! `cases`: runs the cases of a folder alone, and says which rows none of them touches.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::str::FromStr;

use clap::Args;
use loftwright_dsl::diagnostic::render_for_terminal;
use loftwright_dsl::program::Program;
use loftwright_engine::assure::{CaseReport, run_cases};

use super::check::counted;
use super::output::{is_coloured, print};
use crate::ending::{CommandError, Ended};
use crate::files::rules_folder::check_folder;
use crate::load::{self, DEMO_STOCK};
use crate::rpc::fitting::today;

/// What `cases` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folder of rules
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// A folder of parts for the cases that name it `with stock`; the built-in one is `demo`
    #[arg(long, value_name = "NAME=DIR")]
    parts: Vec<NamedFolder>,
}

/// A folder of parts under the name by which cases know it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedFolder {
    name: String,
    folder: PathBuf,
}

impl FromStr for NamedFolder {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.split_once('=') {
            Some((name, folder)) if !name.is_empty() && !folder.is_empty() => Ok(NamedFolder {
                name: name.to_owned(),
                folder: PathBuf::from(folder),
            }),
            _ => Err(format!("`{text}` is not of the form NAME=DIR")),
        }
    }
}

/// Runs the cases.
///
/// # Errors
/// [`CommandError::BadInput`] where the folder cannot be read or its rules have errors.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let output = check_folder(&arguments.folder).map_err(|faults| load::file_faults(&faults))?;
    let Some(program) = &output.program else {
        return Err(load::findings(&output));
    };
    let report = run_cases_of(program, &arguments.parts)?;
    print(&render_for_terminal(
        &output.folder,
        &report.diagnostics,
        is_coloured(),
    ))?;
    print(&untouched_rows(&report))?;
    let name = arguments.folder.display();
    print(&format!("{name}: {}\n", summary(&report)))?;
    if report.is_passed() {
        Ok(Ended::Answered)
    } else {
        Ok(Ended::WithFindings)
    }
}

/// Runs a program's cases with the stocks that they may name.
pub(super) fn run_cases_of(
    program: &Program,
    folders: &[NamedFolder],
) -> Result<CaseReport, CommandError> {
    let mut stocks = BTreeMap::new();
    let is_named = |name: &str| {
        let named = |case: &loftwright_dsl::program::Case| case.with_stock.as_deref() == Some(name);
        program.cases.iter().any(named)
    };
    if is_named(DEMO_STOCK) {
        let parts = load::parts(program, None)?;
        stocks.insert(DEMO_STOCK.to_owned(), parts);
    }
    for named in folders {
        let parts = load::parts(program, Some(&named.folder))?;
        stocks.insert(named.name.clone(), parts);
    }
    let today =
        today().ok_or_else(|| CommandError::own("this machine's clock stands before 1970"))?;
    Ok(run_cases(program, &stocks, today))
}

/// `41 cases passed, 0 failed; 120 of 131 rows touched`.
pub(super) fn summary(report: &CaseReport) -> String {
    let passed = report.cases.iter().filter(|case| case.is_passed()).count();
    let failed = report.cases.len() - passed;
    let rows = || report.coverage.iter().flat_map(|table| &table.rows);
    let touched = rows().filter(|row| row.cases > 0).count();
    format!(
        "{} passed, {failed} failed; {touched} of {} touched",
        counted(passed, "case"),
        counted(rows().count(), "row")
    )
}

/// The rows that no case touches, a line a table.
fn untouched_rows(report: &CaseReport) -> String {
    let mut text = String::new();
    for table in &report.coverage {
        let untouched: Vec<String> = table
            .untouched()
            .map(|row| format!("{} `{}`", row.row, row.text))
            .collect();
        if !untouched.is_empty() {
            text.push_str(&format!(
                "not touched: {} ({}), table {}, row {}\n",
                table.decision,
                table.layer,
                table.table,
                untouched.join(", ")
            ));
        }
    }
    text
}
