//! The tables of the decisions that are whole, handed to the analysis.

use std::collections::BTreeSet;

use super::checker::{Checker, Progress, Symbol};
use super::dependencies::dependencies;
use crate::analysis::{
    DividesAs, Divisor, GivenWords, Ranges, literal_text, rests_on, table_findings, zero_divisors,
};
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::program::{Body, Decision, DecisionId, NextStep, Node, Program, Step, Table, Value};
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
        let left_out = self.left_out();
        let whole = self.whole_decisions(&left_out);
        let mut ranges = Ranges::new(&self.program);
        for node in &left_out {
            ranges.leave_out(*node);
        }
        let columns = column_ranges(&mut ranges, &self.program, &whole);
        let findings = self.range_findings(&mut ranges, &whole, &left_out);
        self.diagnostics.extend(findings);
        for (id, ranges) in columns {
            let tables = tables_mut(&mut self.program.decisions[id]);
            for (table, ranges) in tables.into_iter().zip(ranges) {
                for (column, range) in table.columns.iter_mut().zip(ranges) {
                    column.between = range;
                }
            }
        }
        for id in &whole {
            let findings = table_findings(&self.program, &self.program.decisions[*id]);
            let is_sound = !findings
                .iter()
                .any(|finding| finding.severity == Severity::Error);
            self.diagnostics.extend(findings);
            if is_sound {
                self.prove_promises(*id);
            }
        }
        self.note_words_never_given(&whole);
    }

    /// Notes words that no row of the top layer can give.
    fn note_words_never_given(&mut self, decisions: &[DecisionId]) {
        let top = self.program.layers.len().saturating_sub(1);
        let is_own = |id: &&DecisionId| self.program.decisions[**id].origin.layer == top;
        let own = decisions.iter().filter(is_own);
        let mut words = GivenWords::new(&self.program);
        let notes: Vec<Diagnostic> = own.filter_map(|id| words.missed(*id)).collect();
        self.diagnostics.extend(notes);
    }

    /// What may be divided by zero, and what may grow too large. Nothing is said of what rests on a
    /// let or decision that is at fault itself.
    fn range_findings<'p>(
        &'p self,
        ranges: &mut Ranges<'p>,
        whole: &[DecisionId],
        left_out: &BTreeSet<Node>,
    ) -> Vec<Diagnostic> {
        let whole: BTreeSet<DecisionId> = whole.iter().copied().collect();
        let is_faulty = |node: Node| match node {
            _ if left_out.contains(&node) => true,
            Node::Let(id) => {
                let progress = self
                    .let_trees
                    .get(id.index())
                    .map(|(_, progress)| *progress);
                progress == Some(Progress::Failed)
            }
            Node::Decision(id) => !whole.contains(&id),
            _ => false,
        };
        let divisors = zero_divisors(ranges);
        let divisors = divisors
            .iter()
            .filter(|divisor| !rests_on(&self.program, divisor.expression, &is_faulty));
        let mut findings: Vec<Diagnostic> =
            divisors.map(|found| self.zero_divisor(found)).collect();
        findings.extend(ranges.too_large().map(|span| {
            let message = format!(
                "`{}` may come out too large to be held exactly",
                self.text(span)
            );
            Diagnostic::warning(Code::MayOverflow, span, message)
                .with_help("keep what it is computed from within a range that players have")
        }));
        findings
    }

    fn zero_divisor(&self, divisor: &Divisor<'_>) -> Diagnostic {
        let text = self.text(divisor.expression.span);
        let value_type = divisor.expression.value_type;
        let shown = self.shown_of(divisor.expression);
        let written =
            |number| literal_text(&self.program, &shown, value_type, &Value::Number(number));
        let reach = match divisor.reach.ends() {
            Some((low, high)) => {
                format!(
                    "`{text}` lies between {} and {}",
                    written(low),
                    written(high)
                )
            }
            None => format!("no range of `{text}` is known here"),
        };
        let zero = written(Rational::ZERO);
        let fault = match divisor.divides_as {
            DividesAs::Divisor => format!("nothing can be divided by {zero}"),
            DividesAs::RoundingUnit => format!("nothing can be rounded to {zero}"),
            DividesAs::Distance => format!("nothing is near within {zero}"),
        };
        let message = format!("{fault}, and {reach}");
        Diagnostic::error(Code::MayDivideByZero, divisor.expression.span, message)
            .with_help(format!(
                "write `if {text} over {zero} then … otherwise …`, or rows with one for {zero}"
            ))
            .with_help("or state a range without it: `between`, `kept within`, `the larger of`")
    }

    /// The inputs, lets and decisions of which nothing can be proved: they stand in a circle,
    /// are at
    /// fault themselves, or rest on one that is.
    fn left_out(&self) -> BTreeSet<Node> {
        let ordered: BTreeSet<Node> = self.program.order.iter().copied().collect();
        let lets = self.program.lets.ids().map(Node::Let);
        let decisions = self.program.decisions.ids().map(Node::Decision);
        let nodes = lets.chain(decisions);
        let mut left_out: BTreeSet<Node> = nodes.filter(|node| !ordered.contains(node)).collect();
        let faulty = self.faulty_places();
        for entry in &self.merged.entries {
            let declaration = entry.declaration;
            if !declaration.is_damaged && !holds_one(declaration.span, &faulty) {
                continue;
            }
            left_out.extend(match self.symbols.get(entry.name) {
                Some(Symbol::Input(id)) => Some(Node::Input(*id)),
                Some(Symbol::Let(id)) => Some(Node::Let(*id)),
                // What a word may be, its type says.
                Some(Symbol::Decision(id)) => {
                    let is_numeric = self.program.decisions[*id].value_type.is_numeric();
                    is_numeric.then_some(Node::Decision(*id))
                }
                _ => None,
            });
        }
        if !left_out.is_empty() {
            let needs = dependencies(&self.program);
            for node in &self.program.order {
                let mut needed = needs.get(node).into_iter().flatten();
                let is_value = matches!(node, Node::Let(_) | Node::Decision(_));
                if is_value && needed.any(|need| left_out.contains(need)) {
                    left_out.insert(*node);
                }
            }
        }
        left_out
    }

    /// The places of errors, and those of which nothing is said for the sake of another, in order.
    fn faulty_places(&self) -> Vec<Span> {
        let is_error = |finding: &&Diagnostic| finding.severity == Severity::Error;
        let errors = self.diagnostics.iter().filter(is_error);
        let mut faulty: Vec<Span> = errors.map(|finding| finding.primary.span).collect();
        faulty.extend(&self.silent);
        faulty.sort_unstable();
        faulty
    }

    /// The decisions in which every line was read, every name and type is right, and which are not
    /// left out.
    fn whole_decisions(&self, left_out: &BTreeSet<Node>) -> Vec<DecisionId> {
        let faulty = self.faulty_places();
        let mut whole = Vec::new();
        for entry in &self.merged.entries {
            let declaration = entry.declaration;
            let (DeclarationKind::Decide(decide), Some(Symbol::Decision(id))) =
                (&declaration.kind, self.symbols.get(entry.name).copied())
            else {
                continue;
            };
            let is_faulty = holds_one(declaration.span, &faulty);
            let tables = self.program.decisions[id].tables();
            // A column that rests on a let that failed is missing without a finding here.
            let has_all_columns = tables.iter().zip(tree_tables(decide)).all(|(table, tree)| {
                table.columns.len() == tree.columns.len() && table.rows.len() == tree.rows.len()
            });
            let is_ordered = !left_out.contains(&Node::Decision(id));
            if !declaration.is_damaged && !is_faulty && has_all_columns && is_ordered {
                whole.push(id);
            }
        }
        whole
    }
}

/// Whether a declaration holds one of these places, which are sorted.
fn holds_one(outer: Span, places: &[Span]) -> bool {
    let first =
        places.partition_point(|inner| (inner.file, inner.start) < (outer.file, outer.start));
    let place = places.get(first);
    place.is_some_and(|inner| inner.file == outer.file && inner.start <= outer.end)
}

/// The ranges of the columns of decisions. Every node is computed once, after what it rests on.
fn column_ranges<'p>(
    ranges: &mut Ranges<'p>,
    program: &'p Program,
    decisions: &[DecisionId],
) -> Vec<(DecisionId, ColumnRanges)> {
    for node in &program.order {
        if matches!(node, Node::Let(_) | Node::Decision(_)) {
            ranges.node(*node);
        }
    }
    let mut columns = Vec::with_capacity(decisions.len());
    for id in decisions {
        let mut of_decision = Vec::new();
        for table in program.decisions[*id].tables() {
            let mut of_table = Vec::with_capacity(table.columns.len());
            for column in &table.columns {
                let is_numeric = column.value.value_type.is_numeric();
                of_table.push(if is_numeric {
                    ranges.of(&column.value)
                } else {
                    None
                });
            }
            of_decision.push(of_table);
        }
        columns.push((*id, of_decision));
    }
    columns
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
