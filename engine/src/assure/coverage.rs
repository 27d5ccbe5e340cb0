//! Which rows of which tables the cases touch.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{DecisionId, Node, Program, Table};
use loftwright_dsl::syntax::Span;

use crate::evaluate::Evaluation;
use crate::outcome::Outcome;
use crate::trace::{CompactTrace, StepTrace};

/// A table of a decision with its rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableCoverage {
    /// The decision.
    pub decision: String,
    /// The layer that declares it.
    pub layer: String,
    /// The table's number in the decision, counted from 1.
    pub table: usize,
    /// The rows, in order.
    pub rows: Vec<RowCoverage>,
    /// In how many cases `if unknown` decided, where the table has it.
    pub if_unknown: Option<usize>,
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowCoverage {
    /// The row's number, counted from 1.
    pub row: usize,
    /// Its conditions as they are written.
    pub text: String,
    /// Where it stands.
    pub span: Span,
    /// In how many cases it decided, for any club.
    pub cases: usize,
    /// Whether it says that no player is there: then no case is to touch it.
    pub cannot_happen: bool,
}

/// Rows counted over all tables. Those that say `cannot happen` are counted apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RowTotals {
    /// Rows that decide something.
    pub rows: usize,
    /// Those of them that some case touches.
    pub touched: usize,
    /// Rows that say `cannot happen`.
    pub cannot_happen: usize,
}

impl RowTotals {
    /// The rows of these tables.
    pub(super) fn of(tables: &[TableCoverage]) -> Self {
        let mut totals = RowTotals::default();
        for row in tables.iter().flat_map(|table| &table.rows) {
            if row.cannot_happen {
                totals.cannot_happen += 1;
            } else {
                totals.rows += 1;
                totals.touched += usize::from(row.cases > 0);
            }
        }
        totals
    }

    /// How many more rows a case must touch until `percent` of them are touched; 0 where they are.
    pub fn missing_for(self, percent: u8) -> usize {
        let needed = self.rows.saturating_mul(usize::from(percent)).div_ceil(100);
        needed.saturating_sub(self.touched)
    }
}

impl TableCoverage {
    /// The rows that no case touches, but for those that say `cannot happen`.
    pub fn untouched(&self) -> impl Iterator<Item = &RowCoverage> {
        let is_untouched = |row: &&RowCoverage| row.cases == 0 && !row.cannot_happen;
        self.rows.iter().filter(is_untouched)
    }
}

/// A row, or the `if unknown` of a table where the row is `None`.
type Touched = (DecisionId, usize, Option<usize>);

/// Counts the cases that touch each row.
#[derive(Debug, Default)]
pub(super) struct RowCounts {
    cases: BTreeMap<Touched, usize>,
    touched_by_case: BTreeSet<Touched>,
}

impl RowCounts {
    /// Notes the rows that decided in one evaluation of the case at hand.
    pub(super) fn note(&mut self, evaluation: &Evaluation, trace: &CompactTrace) {
        for entry in &trace.entries {
            let Node::Decision(id) = entry.place.node else {
                continue;
            };
            let outcome = evaluation.outcome(entry.place);
            if let Some(Outcome::Contradicted { table, row }) = outcome {
                self.touched_by_case.insert((id, *table, Some(*row)));
            }
            let steps = trace.steps(&entry.how).unwrap_or_default();
            self.touched_by_case
                .extend(steps.iter().filter_map(|step| match step {
                    StepTrace::Row { table, row, .. } => Some((id, *table, Some(*row))),
                    StepTrace::IfUnknown { table, .. } => Some((id, *table, None)),
                    _ => None,
                }));
        }
    }

    /// The case at hand is done: what it touched counts once, however many clubs and players it
    /// has.
    pub(super) fn end_case(&mut self) {
        for touched in std::mem::take(&mut self.touched_by_case) {
            *self.cases.entry(touched).or_default() += 1;
        }
    }

    /// Every table of the program with its counts.
    pub(super) fn coverage(&self, program: &Program) -> Vec<TableCoverage> {
        let of_decision = |(id, decision): (DecisionId, &loftwright_dsl::program::Decision)| {
            let layer = program.layers.get(decision.origin.layer);
            let tables = decision.tables();
            let of_table = |(index, table): (usize, &&Table)| TableCoverage {
                decision: decision.name.clone(),
                layer: layer.map_or_else(String::new, |layer| layer.name.clone()),
                table: index + 1,
                rows: self.rows(id, index, table),
                if_unknown: table
                    .if_unknown
                    .as_ref()
                    .map(|_| self.count((id, index, None))),
            };
            tables.iter().enumerate().map(of_table).collect::<Vec<_>>()
        };
        program.decisions.entries().flat_map(of_decision).collect()
    }

    fn rows(&self, id: DecisionId, table_index: usize, table: &Table) -> Vec<RowCoverage> {
        let of_row = |(index, row): (usize, &loftwright_dsl::program::Row)| RowCoverage {
            row: index + 1,
            text: row.text.clone(),
            span: row.span,
            cases: self.count((id, table_index, Some(index))),
            cannot_happen: row.result.cannot_happen(),
        };
        table.rows.iter().enumerate().map(of_row).collect()
    }

    fn count(&self, touched: Touched) -> usize {
        self.cases.get(&touched).copied().unwrap_or(0)
    }
}
