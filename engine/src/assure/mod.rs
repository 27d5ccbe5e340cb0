//! The rules put to the test: their cases run, their rows counted, a checker's witness confirmed.
//!
//! A case is a player and what must come out. Its readings are all there are: one that it does not
//! give is unknown (an input's default stands in, as everywhere). A case over a range is *proved*
//! where every value it looks at can be followed over the range (`over_range`); else it is *tried*
//! at fixed points (`try_points`), both ends and the middle among them; that is no proof, and the
//! result says so. Promises that are only `tested` are tried at players (`promises`).
//! `expectation` holds an outcome against a line, `coverage` counts the rows, `findings` turns
//! failures into diagnostics.

mod coverage;
mod expectation;
mod findings;
mod over_range;
mod promises;
mod run;
mod try_points;
mod witness;

use loftwright_dsl::diagnostic::{Diagnostic, Severity};
use loftwright_dsl::syntax::Span;

use crate::recommendation::NamedText;

pub use coverage::{RowCoverage, RowTotals, TableCoverage};
pub use promises::{PLAYERS_A_PROMISE, TestedPromise};
pub use run::run_cases;
pub use witness::{WitnessAnswer, confirm_findings, confirm_witness};

/// What the cases of a program came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaseReport {
    /// Every case, in the program's order.
    pub cases: Vec<CaseResult>,
    /// Every table of the rules with the number of cases that touched each row; in the order of the
    /// declarations.
    pub coverage: Vec<TableCoverage>,
    /// How many promises the checker has proved.
    pub promises_proved: usize,
    /// Every promise that is tested and not proved, in the order of the declarations.
    pub promises: Vec<TestedPromise>,
    /// One finding for each expectation that is not met, for each case that cannot be run or
    /// proved, and for each tested promise that is broken.
    pub diagnostics: Vec<Diagnostic>,
}

/// One case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaseResult {
    /// The title.
    pub title: String,
    /// The layer that declares it.
    pub layer: String,
    /// Where it stands.
    pub span: Span,
    /// How many players were run: 1, or several where a reading is given over a range.
    pub players: usize,
    /// Whether a reading is given over a range.
    pub is_over_a_range: bool,
    /// Why the case is only tried at points of its range; `None` where it is proved over all of it.
    pub not_proved: Option<String>,
    /// Why it cannot be run: the stock it names is not there.
    pub problem: Option<String>,
    /// Its expectations, in order.
    pub expectations: Vec<ExpectationResult>,
}

/// One expectation of a case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExpectationResult {
    /// The line as it is written.
    pub text: String,
    /// Where it stands.
    pub span: Span,
    /// What is wrong, of the first player for whom it is not met.
    pub failure: Option<Failure>,
}

/// Why an expectation is not met.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// What must come out.
    pub expected: String,
    /// What came out.
    pub found: String,
    /// How it came about: the row that decided, with what it looked at. Where a reading is needed,
    /// what was found says so.
    pub reason: Option<String>,
    /// Where the row stands that decided.
    pub row: Option<Span>,
    /// The readings that were tried, where the case gives ranges.
    pub tried_with: Vec<NamedText>,
}

impl CaseResult {
    /// Whether it could be run and every expectation is met.
    pub fn is_passed(&self) -> bool {
        self.problem.is_none() && self.expectations.iter().all(|line| line.failure.is_none())
    }
}

impl CaseReport {
    /// The rows of all tables, counted.
    pub fn row_totals(&self) -> RowTotals {
        RowTotals::of(&self.coverage)
    }

    /// Whether every case is passed and every tested promise kept: no error is among the findings.
    pub fn is_passed(&self) -> bool {
        self.diagnostics
            .iter()
            .all(|finding| finding.severity != Severity::Error)
    }
}
