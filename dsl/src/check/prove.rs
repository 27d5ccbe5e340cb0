//! The tables of the decisions that are whole, handed to the analysis.

use super::checker::{Checker, Symbol};
use crate::analysis::{Ranges, table_findings};
use crate::diagnostic::{Diagnostic, Severity};
use crate::program::{Body, Decision, DecisionId, NextStep, Node, Program, Step, Table};
use crate::quantity::Rational;
use crate::syntax::Span;
use crate::syntax::tree::{self, DeclarationKind};

/// The range of each column of each table of a decision.
type ColumnRanges = Vec<Vec<Option<(Rational, Rational)>>>;

impl Checker<'_> {
    /// Proves every table of every decision, and writes the columns' ranges into the program. A
    /// decision that is not whole is left out: nothing can be said of what it lacks.
    pub(super) fn prove_tables(&mut self) {
        if self.program.order.is_empty() {
            return;
        }
        let whole = self.whole_decisions();
        for (id, ranges) in column_ranges(&self.program, &whole) {
            let tables = tables_mut(&mut self.program.decisions[id]);
            for (table, ranges) in tables.into_iter().zip(ranges) {
                for (column, range) in table.columns.iter_mut().zip(ranges) {
                    column.between = range;
                }
            }
        }
        for id in whole {
            let findings = table_findings(&self.program, &self.program.decisions[id]);
            let is_sound = !findings
                .iter()
                .any(|finding| finding.severity == Severity::Error);
            self.diagnostics.extend(findings);
            if is_sound {
                self.prove_promises(id);
            }
        }
    }

    /// The decisions in which every line was read, and every name and type is right.
    fn whole_decisions(&self) -> Vec<DecisionId> {
        let is_error = |finding: &&Diagnostic| finding.severity == Severity::Error;
        let faulty = self.diagnostics.iter().filter(is_error);
        let mut faulty: Vec<Span> = faulty.map(|finding| finding.primary.span).collect();
        faulty.sort_unstable();
        let mut whole = Vec::new();
        for entry in &self.merged.entries {
            let declaration = entry.declaration;
            let (DeclarationKind::Decide(decide), Some(Symbol::Decision(id))) =
                (&declaration.kind, self.symbols.get(entry.name).copied())
            else {
                continue;
            };
            let outer = declaration.span;
            let first = faulty
                .partition_point(|inner| (inner.file, inner.start) < (outer.file, outer.start));
            let is_faulty = faulty
                .get(first)
                .is_some_and(|inner| inner.file == outer.file && inner.start <= outer.end);
            let tables = self.program.decisions[id].tables();
            // A column that rests on a let that failed is missing without a finding here.
            let has_all_columns = tables.iter().zip(tree_tables(decide)).all(|(table, tree)| {
                table.columns.len() == tree.columns.len() && table.rows.len() == tree.rows.len()
            });
            if !declaration.is_damaged && !is_faulty && has_all_columns {
                whole.push(id);
            }
        }
        whole
    }
}

/// The ranges of the columns of decisions. Every node is computed once, after what it rests on.
fn column_ranges(program: &Program, decisions: &[DecisionId]) -> Vec<(DecisionId, ColumnRanges)> {
    let mut ranges = Ranges::new(program);
    for node in &program.order {
        if matches!(node, Node::Let(_) | Node::Decision(_)) {
            ranges.node(*node);
        }
    }
    let mut of_columns = |table: &Table| {
        let of_column = |column: &crate::program::Column| {
            let is_numeric = column.value.value_type.is_numeric();
            is_numeric.then(|| ranges.of(&column.value)).flatten()
        };
        table.columns.iter().map(of_column).collect()
    };
    decisions
        .iter()
        .map(|id| {
            let tables = program.decisions[*id].tables();
            (*id, tables.into_iter().map(&mut of_columns).collect())
        })
        .collect()
}

/// The tables of a decision as they are written, in the order of [`Decision::tables`].
fn tree_tables(decide: &tree::Decide) -> Vec<&tree::Table> {
    let body = match &decide.body {
        tree::DecideBody::Table(table) => Some(table),
        tree::DecideBody::Progression(progression) => match &progression.next {
            Some(tree::NextStep::Table(table)) => Some(table),
            _ => None,
        },
        tree::DecideBody::Gives(_) => None,
    };
    let steps = decide.steps.iter().filter_map(|step| match step {
        tree::Step::Table(table) => Some(table),
        tree::Step::Post(..) => None,
    });
    body.into_iter().chain(steps).collect()
}

fn tables_mut(decision: &mut Decision) -> Vec<&mut Table> {
    let body = match &mut decision.body {
        Body::Table(table) => Some(table),
        Body::Progression(progression) => match &mut progression.next {
            Some(NextStep::Table(table)) => Some(table),
            _ => None,
        },
        Body::Gives(_) => None,
    };
    let steps = decision.steps.iter_mut().filter_map(|step| match step {
        Step::Table(table) => Some(table),
        _ => None,
    });
    body.into_iter().chain(steps).collect()
}
