//! What a player's columns rest on, and the values at which something changes.

use std::collections::BTreeSet;

use crate::check::children;
use crate::program::{
    Body, Decision, Expression, ExpressionKind, InputId, Member, Node, Program, RowResult, Step,
    Table, Value, ValueSet,
};
use crate::quantity::Rational;

/// Lets, decisions and readings behind the columns of a table: beyond this many no player is tried,
/// since every try computes them all.
const MOST_NODES: usize = 256;

/// The readings that expressions rest on, through lets and decisions.
#[derive(Debug, Default)]
pub(super) struct Readings {
    /// The readings, in the order of their declarations.
    pub(super) inputs: BTreeSet<InputId>,
    /// Whether something else than readings decides: clubs, parts, models, or too much to try.
    pub(super) rests_on_more: bool,
    /// Numbers that conditions and rows on the way compare with.
    bounds: BTreeSet<Rational>,
}

/// Collects what expressions rest on.
pub(super) fn readings_of(program: &Program, expressions: &[&Expression]) -> Readings {
    let mut walk = Walk {
        program,
        readings: Readings::default(),
        seen: BTreeSet::new(),
        waiting: Vec::new(),
    };
    for expression in expressions {
        walk.expression(expression);
    }
    while let Some(node) = walk.waiting.pop() {
        walk.node(node);
        if walk.seen.len() > MOST_NODES {
            walk.readings.rests_on_more = true;
            break;
        }
    }
    walk.readings
}

/// The bounds on the way to a reading's use, as values of it; those that fit no value of it are
/// left out by its range.
pub(super) fn landmarks(program: &Program, readings: &Readings, input: InputId) -> Vec<Rational> {
    // A bound of another dimension is a number like any other: the range keeps most of them out.
    let is_numeric = program.inputs[input].value_type.is_numeric();
    let own: Vec<Rational> = readings
        .bounds
        .iter()
        .copied()
        .filter(|_| is_numeric)
        .collect();
    let two = Rational::whole(2);
    let between = own.windows(2).filter_map(|pair| match pair {
        [low, high] => low.plus(*high).ok()?.over(two).ok(),
        _ => None,
    });
    own.iter().copied().chain(between).collect()
}

struct Walk<'p> {
    program: &'p Program,
    readings: Readings,
    seen: BTreeSet<Node>,
    waiting: Vec<Node>,
}

impl Walk<'_> {
    fn expression(&mut self, expression: &Expression) {
        match &expression.kind {
            ExpressionKind::Constant(Value::Number(number)) => {
                self.readings.bounds.insert(*number);
                self.readings.bounds.insert(number.negated());
            }
            ExpressionKind::Input(id) => self.visit(Node::Input(*id)),
            ExpressionKind::Let(id, Member::Only) => self.visit(Node::Let(*id)),
            ExpressionKind::Decision(id, Member::Only) => self.visit(Node::Decision(*id)),
            ExpressionKind::Let(..)
            | ExpressionKind::Decision(..)
            | ExpressionKind::Field { .. }
            | ExpressionKind::Chosen { .. }
            | ExpressionKind::Candidate(_)
            | ExpressionKind::PreviousValue
            | ExpressionKind::Model(..)
            | ExpressionKind::Aggregate(_) => self.readings.rests_on_more = true,
            _ => {}
        }
        for child in children(expression) {
            self.expression(child);
        }
    }

    fn visit(&mut self, node: Node) {
        if self.seen.insert(node) {
            self.waiting.push(node);
        }
    }

    fn node(&mut self, node: Node) {
        let program = self.program;
        match node {
            Node::Input(id) => {
                self.readings.inputs.insert(id);
                if let Some(only_when) = &program.inputs[id].only_when {
                    self.expression(only_when);
                }
            }
            Node::Let(id) => self.expression(&program.lets[id].value),
            Node::Decision(id) => self.decision(&program.decisions[id]),
            _ => {}
        }
    }

    fn decision(&mut self, decision: &Decision) {
        if decision.for_each.is_some() {
            self.readings.rests_on_more = true;
            return;
        }
        if let Some(only_when) = &decision.only_when {
            self.expression(only_when);
        }
        match &decision.body {
            Body::Gives(gives) => self.expression(&gives.value),
            Body::Table(_) => {}
            Body::Progression(_) => self.readings.rests_on_more = true,
        }
        for table in decision.tables() {
            self.table(table);
        }
        for step in &decision.steps {
            match step {
                Step::Table(_) => {}
                Step::KeptWithin { low, high, .. } => {
                    self.expression(low);
                    self.expression(high);
                }
                Step::Rounded { to, .. } => self.expression(to),
                Step::OrIfUnknown { instead, .. } => self.expression(instead),
            }
        }
    }

    fn table(&mut self, table: &Table) {
        for column in &table.columns {
            self.expression(&column.value);
        }
        for row in &table.rows {
            for condition in &row.conditions {
                if let ValueSet::Intervals(intervals) = &condition.values {
                    let ends = intervals
                        .iter()
                        .flat_map(|interval| [interval.low, interval.high]);
                    let ends = ends.flatten().map(|bound| bound.value);
                    self.readings.bounds.extend(ends);
                }
            }
            match &row.result {
                RowResult::Gives(value) | RowResult::Adds(value) | RowResult::TakesOff(value) => {
                    self.expression(value);
                }
                _ => {}
            }
        }
    }
}
