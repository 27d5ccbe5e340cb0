//! What is found in folders of rules, and what their cases come to, as one JSON document.
//!
//! `check` and `cases` print the same document. Field names are stable: fields are added, never
//! renamed or given another meaning. Lines, columns and bytes are those of
//! `loftwright_dsl::diagnostic::Located`.

use loftwright_dsl::check::CheckOutput;
use loftwright_dsl::diagnostic::{Diagnostic, Located, Locator, Place, Severity, locate};
use loftwright_dsl::syntax::Folder;
use loftwright_engine::assure::{
    CaseReport, CaseResult, ExpectationResult, Failure, RowCoverage, TableCoverage,
};
use serde::Serialize;

/// The whole document.
#[derive(Debug, Default, Serialize)]
pub(super) struct Document {
    /// The folders that could be read, in the order given.
    pub(super) folders: Vec<FolderReport>,
    /// What kept the others from being read, a sentence each.
    pub(super) unreadable: Vec<String>,
}

/// One folder.
#[derive(Debug, Serialize)]
pub(super) struct FolderReport {
    /// The folder as it was given.
    folder: String,
    /// How many of the checker's findings are errors.
    errors: usize,
    /// How many are warnings.
    warnings: usize,
    /// How many are notes.
    notes: usize,
    /// The checker's findings.
    findings: Vec<Located>,
    /// The cases; null where errors kept them from being run.
    cases: Option<CasesReport>,
    /// The promises; null where errors kept those that are tested from being tried.
    promises: Option<PromisesReport>,
    /// The rows; null where errors kept the cases from being run.
    coverage: Option<CoverageReport>,
}

/// What the cases came to.
#[derive(Debug, Serialize)]
struct CasesReport {
    passed: usize,
    failed: usize,
    findings: Vec<Located>,
    list: Vec<Case>,
}

/// One case.
#[derive(Debug, Serialize)]
struct Case {
    title: String,
    layer: String,
    place: Place,
    passed: bool,
    /// How many players were run.
    players: usize,
    over_a_range: bool,
    /// Why a case over a range is only tried at points of it.
    not_proved: Option<String>,
    /// Why it could not be run.
    problem: Option<String>,
    expectations: Vec<Expectation>,
}

/// One line of a case that expects something.
#[derive(Debug, Serialize)]
struct Expectation {
    text: String,
    place: Place,
    failure: Option<CaseFailure>,
}

/// What came out instead.
#[derive(Debug, Serialize)]
struct CaseFailure {
    expected: String,
    found: String,
    reason: Option<String>,
    /// The row that decided.
    row: Option<Place>,
    tried_with: Vec<Reading>,
}

/// A reading that was tried.
#[derive(Debug, Serialize)]
struct Reading {
    name: String,
    value: String,
}

/// What became of the promises of decisions.
#[derive(Debug, Serialize)]
struct PromisesReport {
    /// How many are proved.
    proved: usize,
    /// Those that are only tested.
    tested: Vec<Promise>,
}

/// A promise that was tested.
#[derive(Debug, Serialize)]
struct Promise {
    decision: String,
    text: String,
    place: Place,
    /// How many players were run.
    players: usize,
    /// How many pairs of values were held against each other.
    pairs: usize,
    kept: bool,
}

/// Which rows the cases touch.
#[derive(Debug, Serialize)]
struct CoverageReport {
    /// Rows that decide something.
    rows: usize,
    /// Those of them that some case touches.
    touched: usize,
    /// Rows that say `cannot happen`, counted in neither.
    cannot_happen: usize,
    /// The least percentage that was asked for.
    min_percent: Option<u8>,
    /// How many more rows must be touched for it.
    missing: Option<usize>,
    tables: Vec<Table>,
}

/// A table of a decision.
#[derive(Debug, Serialize)]
struct Table {
    decision: String,
    layer: String,
    /// Its number in the decision, from 1.
    table: usize,
    rows: Vec<Row>,
    /// In how many cases `if unknown` decided, where the table has it.
    if_unknown: Option<usize>,
}

/// A row of a table.
#[derive(Debug, Serialize)]
struct Row {
    /// Its number, from 1.
    row: usize,
    text: String,
    place: Place,
    /// In how many cases it decided.
    cases: usize,
    cannot_happen: bool,
}

impl FolderReport {
    /// Of a check, and of its cases if they were run.
    pub(super) fn new(
        folder: String,
        output: &CheckOutput,
        report: Option<&CaseReport>,
        min_percent: Option<u8>,
    ) -> Self {
        let count = |severity| of_severity(&output.diagnostics, severity);
        FolderReport {
            folder,
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            notes: count(Severity::Note),
            findings: locate(&output.folder, &output.diagnostics),
            cases: report.map(|report| cases(&output.folder, report)),
            promises: report.map(|report| promises(&output.folder, report)),
            coverage: report.map(|report| coverage(&output.folder, report, min_percent)),
        }
    }
}

/// How many findings are of a severity.
pub(super) fn of_severity(findings: &[Diagnostic], severity: Severity) -> usize {
    let is_of = |finding: &&Diagnostic| finding.severity == severity;
    findings.iter().filter(is_of).count()
}

fn cases(folder: &Folder, report: &CaseReport) -> CasesReport {
    let mut locator = Locator::new(folder);
    let passed = report.cases.iter().filter(|case| case.is_passed()).count();
    let list = report.cases.iter();
    CasesReport {
        passed,
        failed: report.cases.len() - passed,
        findings: locate(folder, &report.diagnostics),
        list: list.map(|one| case(&mut locator, one)).collect(),
    }
}

fn promises(folder: &Folder, report: &CaseReport) -> PromisesReport {
    let mut locator = Locator::new(folder);
    let tested = report.promises.iter().map(|promise| Promise {
        decision: promise.decision.clone(),
        text: promise.text.clone(),
        place: locator.place(promise.span),
        players: promise.players,
        pairs: promise.pairs,
        kept: !promise.is_broken,
    });
    PromisesReport {
        proved: report.promises_proved,
        tested: tested.collect(),
    }
}

fn case(locator: &mut Locator<'_>, case: &CaseResult) -> Case {
    let lines = case.expectations.iter();
    Case {
        title: case.title.clone(),
        layer: case.layer.clone(),
        place: locator.place(case.span),
        passed: case.is_passed(),
        players: case.players,
        over_a_range: case.is_over_a_range,
        not_proved: case.not_proved.clone(),
        problem: case.problem.clone(),
        expectations: lines.map(|line| expectation(locator, line)).collect(),
    }
}

fn expectation(locator: &mut Locator<'_>, line: &ExpectationResult) -> Expectation {
    let failure = line.failure.as_ref();
    Expectation {
        text: line.text.clone(),
        place: locator.place(line.span),
        failure: failure.map(|failure| case_failure(locator, failure)),
    }
}

fn case_failure(locator: &mut Locator<'_>, failure: &Failure) -> CaseFailure {
    let readings = failure.tried_with.iter();
    CaseFailure {
        expected: failure.expected.clone(),
        found: failure.found.clone(),
        reason: failure.reason.clone(),
        row: failure.row.map(|row| locator.place(row)),
        tried_with: readings
            .map(|reading| Reading {
                name: reading.name.clone(),
                value: reading.text.clone(),
            })
            .collect(),
    }
}

fn coverage(folder: &Folder, report: &CaseReport, min_percent: Option<u8>) -> CoverageReport {
    let mut locator = Locator::new(folder);
    let totals = report.row_totals();
    let tables = report.coverage.iter();
    CoverageReport {
        rows: totals.rows,
        touched: totals.touched,
        cannot_happen: totals.cannot_happen,
        min_percent,
        missing: min_percent.map(|percent| totals.missing_for(percent)),
        tables: tables.map(|one| table(&mut locator, one)).collect(),
    }
}

fn table(locator: &mut Locator<'_>, table: &TableCoverage) -> Table {
    let rows = table.rows.iter();
    Table {
        decision: table.decision.clone(),
        layer: table.layer.clone(),
        table: table.table,
        rows: rows.map(|one| row(locator, one)).collect(),
        if_unknown: table.if_unknown,
    }
}

fn row(locator: &mut Locator<'_>, row: &RowCoverage) -> Row {
    Row {
        row: row.row,
        text: row.text.clone(),
        place: locator.place(row.span),
        cases: row.cases,
        cannot_happen: row.cannot_happen,
    }
}
