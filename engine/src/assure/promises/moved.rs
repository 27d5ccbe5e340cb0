//! The readings that a promise rests on, and the values through which one of them is moved.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{children, dependencies};
use loftwright_dsl::program::{
    Decision, Expression, ExpressionKind, InputId, Node, Program, Type, Value, ValueSet,
};
use loftwright_dsl::quantity::Rational;

use super::players::reading_at;
use crate::sure::AffineForms;

/// Even steps from a reading's lowest value to its highest.
const STEPS: i64 = 16;
/// A reading is moved through no more values than this.
const MOST_VALUES: usize = 80;

/// What each node rests on.
pub(super) struct Rests {
    graph: BTreeMap<Node, BTreeSet<Node>>,
}

impl Rests {
    pub(super) fn of(program: &Program) -> Self {
        Rests {
            graph: dependencies(program),
        }
    }

    /// The nodes that a node rests on, directly or through others, itself among them.
    pub(super) fn below(&self, node: Node) -> BTreeSet<Node> {
        let mut found = BTreeSet::new();
        let mut waiting = vec![node];
        while let Some(node) = waiting.pop() {
            if found.insert(node) {
                waiting.extend(self.graph.get(&node).into_iter().flatten().copied());
            }
        }
        found
    }

    /// The readings that a node rests on.
    pub(super) fn inputs_below(&self, node: Node) -> Vec<InputId> {
        inputs_of(&self.below(node))
    }

    /// The readings that an expression rests on.
    pub(super) fn inputs_of_expression(&self, expression: &Expression) -> Vec<InputId> {
        let mut nodes = BTreeSet::new();
        mentioned(expression, &mut nodes);
        let below = nodes.into_iter().flat_map(|node| self.below(node));
        inputs_of(&below.collect())
    }
}

fn inputs_of(nodes: &BTreeSet<Node>) -> Vec<InputId> {
    let input = |node: &Node| match node {
        Node::Input(id) => Some(*id),
        _ => None,
    };
    nodes.iter().filter_map(input).collect()
}

fn mentioned(expression: &Expression, nodes: &mut BTreeSet<Node>) {
    nodes.extend(match &expression.kind {
        ExpressionKind::Input(id) => Some(Node::Input(*id)),
        ExpressionKind::Let(id, _) => Some(Node::Let(*id)),
        ExpressionKind::Decision(id, _) => Some(Node::Decision(*id)),
        ExpressionKind::Field { group, .. } => Some(Node::Group(*group)),
        ExpressionKind::Chosen { choose, .. } => Some(Node::Choose(*choose)),
        _ => None,
    });
    for child in children(expression) {
        mentioned(child, nodes);
    }
}

/// The values through which a reading is moved: every word; of numbers, even steps, every bound
/// that a table of `nodes` has for it, directly or through lets on a straight line, and the middle
/// between neighbours.
pub(super) fn values_of(program: &Program, input: InputId, nodes: &BTreeSet<Node>) -> Vec<Value> {
    let declared = &program.inputs[input];
    match declared.value_type {
        Type::Flag => return vec![Value::Flag(false), Value::Flag(true)],
        Type::Choice(id) | Type::Scale(id) => {
            let words = program.vocabularies[id].values().into_iter();
            return words.map(Value::Word).collect();
        }
        _ => {}
    }
    let mut numbers: BTreeSet<Rational> = (0..=STEPS)
        .filter_map(|step| {
            let share = Rational::fraction(i128::from(step), i128::from(STEPS)).ok()?;
            reading_at(program, declared, share)?.number()
        })
        .collect();
    let range = numbers.first().copied().zip(numbers.last().copied());
    let mut forms = AffineForms::new(program);
    for node in nodes {
        let Node::Decision(id) = node else { continue };
        numbers.extend(bounds_for(&program.decisions[*id], input, &mut forms));
    }
    if let Some((low, high)) = range {
        numbers.retain(|number| *number >= low && *number <= high);
    }
    let is_whole = matches!(declared.value_type, Type::Count | Type::Date);
    if is_whole {
        numbers.retain(|number| number.is_whole());
    } else {
        numbers.extend(middles(&numbers));
    }
    let step = numbers.len().div_ceil(MOST_VALUES).max(1);
    numbers
        .into_iter()
        .step_by(step)
        .map(Value::Number)
        .collect()
}

fn bounds_for(decision: &Decision, input: InputId, forms: &mut AffineForms<'_>) -> Vec<Rational> {
    let mut found = Vec::new();
    for table in decision.tables() {
        for (index, column) in table.columns.iter().enumerate() {
            let Some(line) = forms
                .slanted(&column.value)
                .filter(|line| line.input == input)
            else {
                continue;
            };
            let conditions = table
                .rows
                .iter()
                .filter_map(|row| row.conditions.get(index));
            for condition in conditions {
                let ValueSet::Intervals(intervals) = &condition.values else {
                    continue;
                };
                let ends = intervals
                    .iter()
                    .flat_map(|interval| [interval.low, interval.high]);
                found.extend(ends.flatten().filter_map(|end| line.reading_at(end.value)));
            }
        }
    }
    found
}

fn middles(numbers: &BTreeSet<Rational>) -> Vec<Rational> {
    let pairs = numbers.iter().zip(numbers.iter().skip(1));
    let middle = |(one, other): (&Rational, &Rational)| {
        let sum = one.plus(*other).ok()?;
        sum.over(Rational::whole(2)).ok()
    };
    pairs.filter_map(middle).collect()
}
