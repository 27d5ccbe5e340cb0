//! `cases`: runs the cases of a folder alone, and says which rows none of them touches.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::str::FromStr;

use clap::Args;
use loftwright_dsl::program::Program;
use loftwright_engine::assure::{CaseReport, PLAYERS_A_PROMISE, run_cases};

use super::check::{counted, shown};
use super::folder_report::{Document, FolderReport};
use super::output::{print, print_json};
use crate::ending::{CommandError, Ended};
use crate::files::built_in;
use crate::files::rules_folder::check_folder;
use crate::load;
use crate::rpc::fitting::today;

/// What `cases` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folder of rules
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// A folder of parts for the cases that name it `with stock`; `demo` and `thin` are built in
    #[arg(long, value_name = "NAME=DIR")]
    parts: Vec<NamedFolder>,
    /// The least percentage of rows that the cases must touch; rows that say `cannot happen` are
    /// not counted [exit code 1 below it]
    #[arg(long, value_name = "PERCENT", value_parser = clap::value_parser!(u8).range(0..=100))]
    min_coverage: Option<u8>,
    /// A line for each finding: FILE:LINE:COLUMN: error[CODE]: what is wrong
    #[arg(long)]
    short: bool,
    /// One JSON document, the same as that of `check`: the findings, every case with what came out
    /// instead, and in how many cases each row of each table decided
    #[arg(long, conflicts_with = "short")]
    json: bool,
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
    let report = match &output.program {
        Some(program) => Some(run_cases_of(program, &arguments.parts)?),
        None => None,
    };
    let name = arguments.folder.display().to_string();
    if arguments.json {
        let report = FolderReport::new(name, &output, report.as_ref(), arguments.min_coverage);
        print_json(&Document {
            folders: vec![report],
            ..Document::default()
        })?;
    } else if let Some(report) = &report {
        print(&shown(&output.folder, &report.diagnostics, arguments.short))?;
        print(&untouched_rows(report))?;
        print(&format!("{name}: {}\n", summary(report)))?;
        print(&below_coverage(report, arguments.min_coverage))?;
    }
    let Some(report) = report else {
        return Err(load::findings(&output));
    };
    let percent = arguments.min_coverage.unwrap_or(0);
    if report.is_passed() && report.row_totals().missing_for(percent) == 0 {
        Ok(Ended::Answered)
    } else {
        Ok(Ended::WithFindings)
    }
}

/// What is to be said where too few rows are touched; which ones, the lines above it say.
fn below_coverage(report: &CaseReport, min_percent: Option<u8>) -> String {
    let missing = min_percent.map_or(0, |percent| report.row_totals().missing_for(percent));
    match min_percent.filter(|_| missing > 0) {
        Some(percent) => format!(
            "fewer than {percent} percent of the rows are touched: cases for {} of those named above are missing\n",
            counted(missing, "row")
        ),
        None => String::new(),
    }
}

/// Runs a program's cases with the stocks that they may name.
pub(crate) fn run_cases_of(
    program: &Program,
    folders: &[NamedFolder],
) -> Result<CaseReport, CommandError> {
    let mut stocks = BTreeMap::new();
    let is_named = |name: &str| {
        let named = |case: &loftwright_dsl::program::Case| case.with_stock.as_deref() == Some(name);
        program.cases.iter().any(named)
    };
    for name in built_in::parts_names()
        .into_iter()
        .filter(|name| is_named(name))
    {
        let files = load::stock_of_built_in(name)?.files;
        let parts = files.parts(program);
        let parts = parts.map_err(|faults| load::file_faults(&faults))?;
        stocks.insert(name.to_owned(), parts);
    }
    for named in folders {
        let parts = load::parts(program, Some(&named.folder))?;
        stocks.insert(named.name.clone(), parts);
    }
    let today =
        today().ok_or_else(|| CommandError::own("this machine's clock stands before 1970"))?;
    Ok(run_cases(program, &stocks, today))
}

/// `41 cases passed, 0 failed; 120 of 131 rows touched, 2 that cannot happen not counted;
/// 4 promises proved, 1 tested at 200 players`.
pub(super) fn summary(report: &CaseReport) -> String {
    let passed = report.cases.iter().filter(|case| case.is_passed()).count();
    let failed = report.cases.len() - passed;
    let totals = report.row_totals();
    let apart = match totals.cannot_happen {
        0 => String::new(),
        cannot_happen => format!(", {cannot_happen} that cannot happen not counted"),
    };
    format!(
        "{} passed, {failed} failed; {} of {} touched{apart}{}",
        counted(passed, "case"),
        totals.touched,
        counted(totals.rows, "row"),
        promises(report)
    )
}

/// `; 4 promises proved, 1 tested at 200 players`; nothing where nothing is promised.
fn promises(report: &CaseReport) -> String {
    let proved = report.promises_proved;
    let broken = report.promises.iter().filter(|one| one.is_broken).count();
    let kept = report.promises.len() - broken;
    if proved + kept + broken == 0 {
        return String::new();
    }
    let mut text = format!("; {} proved", counted(proved, "promise"));
    if kept > 0 {
        text.push_str(&format!(", {kept} tested at {PLAYERS_A_PROMISE} players"));
    }
    if broken > 0 {
        text.push_str(&format!(", {broken} broken"));
    }
    text
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
