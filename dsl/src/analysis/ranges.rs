//! The range that a value can have, by interval arithmetic: never too narrow.
//!
//! A range that cannot be computed is `None`: everything is possible.

use std::collections::BTreeMap;

use crate::program::{
    Arithmetic, Body, Expression, ExpressionKind, GroupId, Members, Node, Program, RowResult, Step,
    Table, Value,
};
use crate::quantity::{Rational, Rounding};
use crate::syntax::tree::Extreme;

/// The lowest and highest value; both may occur.
pub(crate) type Range = (Rational, Rational);

/// Computes ranges, each node's once.
pub(crate) struct Ranges<'p> {
    program: &'p Program,
    known: BTreeMap<Node, Option<Range>>,
}

impl<'p> Ranges<'p> {
    pub(crate) fn new(program: &'p Program) -> Self {
        Ranges {
            program,
            known: BTreeMap::new(),
        }
    }

    /// The range of an expression of a numeric type.
    pub(crate) fn of(&mut self, expression: &Expression) -> Option<Range> {
        match &expression.kind {
            ExpressionKind::Constant(value) => value.number().map(|number| (number, number)),
            ExpressionKind::Input(id) => numbers(self.program.inputs[*id].between.as_ref()),
            ExpressionKind::Let(id, _) => self.node(Node::Let(*id)),
            ExpressionKind::Decision(id, _) => self.node(Node::Decision(*id)),
            ExpressionKind::Field { group, field, .. } => self.field(*group, *field),
            ExpressionKind::Negative(value) => {
                let (low, high) = self.of(value)?;
                Some((high.negated(), low.negated()))
            }
            ExpressionKind::Arithmetic(operator, left, right) => {
                let left = self.of(left)?;
                let right = self.of(right)?;
                arithmetic(*operator, left, right)
            }
            ExpressionKind::If {
                then, otherwise, ..
            } => {
                let then = self.of(then)?;
                Some(hull(then, self.of(otherwise)?))
            }
            ExpressionKind::OrIfUnknown { value, instead } => {
                let value = self.of(value)?;
                Some(hull(value, self.of(instead)?))
            }
            ExpressionKind::Extreme(extreme, left, right) => {
                let (left, right) = (self.of(left)?, self.of(right)?);
                Some(match extreme {
                    Extreme::Larger => (left.0.max(right.0), left.1.max(right.1)),
                    Extreme::Smaller => (left.0.min(right.0), left.1.min(right.1)),
                })
            }
            ExpressionKind::SizeOf(value) => {
                let (low, high) = self.of(value)?;
                let largest = low.size().max(high.size());
                let holds_zero = low <= Rational::ZERO && high >= Rational::ZERO;
                let smallest = if holds_zero {
                    Rational::ZERO
                } else {
                    low.size().min(high.size())
                };
                Some((smallest, largest))
            }
            ExpressionKind::Rounded {
                value,
                rounding,
                to,
            } => {
                let range = self.of(value);
                let unit = self.of(to)?;
                rounded(range?, *rounding, unit)
            }
            ExpressionKind::KeptWithin { value, low, high } => {
                let range = self.of(value);
                let (low, high) = (self.of(low), self.of(high));
                kept_within(range, low?, high?)
            }
            _ => None,
        }
    }

    pub(crate) fn node(&mut self, node: Node) -> Option<Range> {
        if let Some(known) = self.known.get(&node) {
            return *known;
        }
        // A progression rests on its own value before: until it is known, everything is possible.
        self.known.insert(node, None);
        let program = self.program;
        let range = match node {
            Node::Let(id) => self.of(&program.lets[id].value),
            Node::Decision(id) => {
                let decision = &program.decisions[id];
                let body = match &decision.body {
                    Body::Table(table) => self.table(table, None),
                    Body::Gives(gives) => self.of(&gives.value),
                    Body::Progression(_) => None,
                };
                decision
                    .steps
                    .iter()
                    .fold(body, |range, step| self.step(range, step))
            }
            _ => None,
        };
        self.known.insert(node, range);
        range
    }

    fn field(&mut self, group: GroupId, field: usize) -> Option<Range> {
        let owner = crate::check::field_owner(self.program, group);
        let declared = &self.program.groups[owner];
        let field = declared.fields.get(field)?;
        if matches!(declared.members, Members::AsManyAs(_)) && field.name == "number" {
            return Some((
                Rational::ONE,
                Rational::whole(crate::check::MOST_CLUBS_OF_A_KIND),
            ));
        }
        numbers(field.between.as_ref())
    }

    fn table(&mut self, table: &Table, before: Option<Range>) -> Option<Range> {
        let mut whole: Option<Range> = None;
        let results = table
            .rows
            .iter()
            .map(|row| &row.result)
            .chain(table.if_unknown.as_ref());
        for result in results {
            let range = match result {
                RowResult::Gives(value) => self.of(value)?,
                RowResult::Keeps => before?,
                RowResult::Adds(value) => arithmetic(Arithmetic::Plus, before?, self.of(value)?)?,
                RowResult::TakesOff(value) => {
                    arithmetic(Arithmetic::Minus, before?, self.of(value)?)?
                }
                RowResult::Moves(_) => return None,
                RowResult::CannotHappen => continue,
            };
            whole = Some(whole.map_or(range, |whole| hull(whole, range)));
        }
        whole
    }

    fn step(&mut self, range: Option<Range>, step: &Step) -> Option<Range> {
        match step {
            Step::Table(table) => self.table(table, range),
            Step::KeptWithin { low, high, .. } => {
                let (low, high) = (self.of(low), self.of(high));
                kept_within(range, low?, high?)
            }
            Step::Rounded { rounding, to, .. } => {
                let unit = self.of(to)?;
                rounded(range?, *rounding, unit)
            }
            Step::OrIfUnknown { instead, .. } => {
                let instead = self.of(instead)?;
                Some(hull(range?, instead))
            }
        }
    }
}

/// The range between two values.
fn numbers(between: Option<&(Value, Value)>) -> Option<Range> {
    let (low, high) = between?;
    Some((low.number()?, high.number()?))
}

fn hull(one: Range, other: Range) -> Range {
    (one.0.min(other.0), one.1.max(other.1))
}

fn arithmetic(operator: Arithmetic, left: Range, right: Range) -> Option<Range> {
    let corners = |pick: fn(Rational, Rational) -> Option<Rational>| {
        let all = [
            pick(left.0, right.0)?,
            pick(left.0, right.1)?,
            pick(left.1, right.0)?,
            pick(left.1, right.1)?,
        ];
        Some((all.into_iter().min()?, all.into_iter().max()?))
    };
    match operator {
        Arithmetic::Plus => Some((left.0.plus(right.0).ok()?, left.1.plus(right.1).ok()?)),
        Arithmetic::Minus => Some((left.0.minus(right.1).ok()?, left.1.minus(right.0).ok()?)),
        Arithmetic::Times => corners(|one, other| one.times(other).ok()),
        Arithmetic::Over if right.0 <= Rational::ZERO && right.1 >= Rational::ZERO => None,
        Arithmetic::Over => corners(|one, other| one.over(other).ok()),
    }
}

fn rounded(range: Range, rounding: Rounding, unit: Range) -> Option<Range> {
    if unit.0 != unit.1 {
        return None;
    }
    Some((
        range.0.rounded_to(unit.0, rounding).ok()?,
        range.1.rounded_to(unit.0, rounding).ok()?,
    ))
}

/// Kept within two ends, the value cannot leave them; a range that is known narrows them.
fn kept_within(range: Option<Range>, low: Range, high: Range) -> Option<Range> {
    let ends = (low.0, high.1);
    Some(match range {
        Some(range) => (
            range.0.clamp(ends.0, ends.1.max(ends.0)),
            range.1.clamp(ends.0, ends.1.max(ends.0)),
        ),
        None => ends,
    })
}
