//! The range that a value can have, by interval arithmetic through lets, decisions, fields and
//! parts: never too narrow.
//!
//! What a condition says holds where it is known to hold (`guards`): in the branch of an `if` that
//! is taken, in a declaration `only when` it holds, in the result of the row that has it. Every
//! other use of the value is as wide as ever.

use std::collections::{BTreeMap, BTreeSet};

use super::guards::Guard;
use super::reach::Reach;
use crate::check::{MOST_CLUBS_OF_A_KIND, field_owner};
use crate::program::{
    Aggregate, Body, CandidateValue, ChooseId, Expression, ExpressionKind, GroupId, Members,
    NextStep, Node, Over, PartId, Program, Progression, RowResult, Step, Table, Type, Value,
};
use crate::quantity::Rational;
use crate::syntax::Span;
use crate::syntax::tree::Extreme;

/// The lowest and highest value; both may occur.
pub(crate) type Range = (Rational, Rational);

/// Whose candidate is at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Candidates {
    /// None's.
    Nobody,
    /// A choice's.
    Choose(ChooseId),
    /// The parts on hand of a kind, in an aggregate.
    OnHand(PartId),
}

/// Computes ranges, each node's once.
pub(crate) struct Ranges<'p> {
    pub(super) program: &'p Program,
    known: BTreeMap<Node, Reach>,
    /// What is known to hold at the place that is looked at.
    pub(super) guards: Vec<Guard<'p>>,
    pub(super) candidates: Candidates,
    /// Where an end of a range is too large to hold.
    too_large: BTreeSet<Span>,
}

impl<'p> Ranges<'p> {
    pub(crate) fn new(program: &'p Program) -> Self {
        Ranges {
            program,
            known: BTreeMap::new(),
            guards: Vec::new(),
            candidates: Candidates::Nobody,
            too_large: BTreeSet::new(),
        }
    }

    /// The expressions for which an end of a range is too large to hold, of all that was computed.
    pub(crate) fn too_large(&self) -> impl Iterator<Item = Span> + '_ {
        self.too_large.iter().copied()
    }

    /// The range of an expression of a numeric type, where both ends are known.
    pub(crate) fn of(&mut self, expression: &'p Expression) -> Option<Range> {
        self.reach(expression).ends()
    }

    /// How far an expression reaches at the place that is looked at.
    pub(crate) fn reach(&mut self, expression: &'p Expression) -> Reach {
        let reach = self.unguarded(expression);
        let guards = self.guards.iter().filter(|guard| guard.is_of(expression));
        guards.fold(reach, |reach, guard| reach.intersection(guard.reach))
    }

    fn unguarded(&mut self, expression: &'p Expression) -> Reach {
        match &expression.kind {
            ExpressionKind::Constant(value) => match value.number() {
                Some(number) => Reach::between(number, number),
                None => Reach::ANYTHING,
            },
            ExpressionKind::Input(id) => between(self.program.inputs[*id].between.as_ref()),
            ExpressionKind::Let(id, _) => self.node(Node::Let(*id)),
            ExpressionKind::Decision(id, _) => self.node(Node::Decision(*id)),
            ExpressionKind::Field { group, field, .. } => self.field(*group, *field),
            ExpressionKind::Chosen { choose, value, .. } => self.candidate(*choose, *value),
            ExpressionKind::Candidate(value) => match (self.candidates, value) {
                (Candidates::Choose(choose), value) => self.candidate(choose, *value),
                (Candidates::OnHand(part), CandidateValue::Field(field)) => {
                    self.part_field(part, *field)
                }
                _ => Reach::ANYTHING,
            },
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => {
                let then = self.under(condition, true, then);
                then.hull(self.under(condition, false, otherwise))
            }
            ExpressionKind::OrIfUnknown { value, instead } => {
                let value = self.reach(value);
                value.hull(self.reach(instead))
            }
            ExpressionKind::Aggregate(aggregate) => self.aggregate(aggregate),
            _ => self.computed(expression),
        }
    }

    fn computed(&mut self, expression: &'p Expression) -> Reach {
        let reach = match &expression.kind {
            ExpressionKind::Negative(value) => Ok(self.reach(value).negated()),
            ExpressionKind::SizeOf(value) => Ok(self.reach(value).size()),
            ExpressionKind::Arithmetic(operator, left, right) => {
                let left = self.reach(left);
                left.arithmetic(*operator, self.reach(right))
            }
            ExpressionKind::Extreme(extreme, left, right) => {
                let (left, right) = (self.reach(left), self.reach(right));
                Ok(match extreme {
                    Extreme::Larger => left.larger(right),
                    Extreme::Smaller => left.smaller(right),
                })
            }
            ExpressionKind::Rounded {
                value,
                rounding,
                to,
            } => {
                let value = self.reach(value);
                value.rounded(*rounding, self.reach(to))
            }
            ExpressionKind::KeptWithin { value, low, high } => {
                let (value, low) = (self.reach(value), self.reach(low));
                Ok(value.kept_within(low, self.reach(high)))
            }
            _ => Ok(Reach::ANYTHING),
        };
        reach.unwrap_or_else(|_| {
            self.too_large.insert(expression.span);
            Reach::ANYTHING
        })
    }

    /// The reach of an expression where a condition holds, or does not.
    fn under(&mut self, condition: &'p Expression, holds: bool, then: &'p Expression) -> Reach {
        let before = self.guards.len();
        self.guard(condition, holds);
        let reach = self.reach(then);
        self.guards.truncate(before);
        reach
    }

    /// Takes a node as one of which nothing is known.
    pub(crate) fn leave_out(&mut self, node: Node) {
        self.known.insert(node, Reach::ANYTHING);
    }

    /// How far a node reaches, whatever holds at the place that is looked at.
    pub(crate) fn node(&mut self, node: Node) -> Reach {
        if let Some(known) = self.known.get(&node) {
            return *known;
        }
        // A progression rests on its own value before: until it is known, everything is possible.
        self.known.insert(node, Reach::ANYTHING);
        let guards = std::mem::take(&mut self.guards);
        let candidates = std::mem::replace(&mut self.candidates, Candidates::Nobody);
        let program = self.program;
        let reach = match node {
            Node::Let(id) => self.reach(&program.lets[id].value),
            Node::Decision(id) => {
                let decision = &program.decisions[id];
                if let Some(only_when) = &decision.only_when {
                    self.guard(only_when, true);
                }
                let body = match &decision.body {
                    Body::Table(table) => self.table(table, Reach::ANYTHING),
                    Body::Gives(gives) => self.reach(&gives.value),
                    Body::Progression(progression) => self.progression(progression),
                };
                let steps = decision.steps.iter();
                steps.fold(body, |reach, step| self.step(reach, step))
            }
            _ => Reach::ANYTHING,
        };
        self.guards = guards;
        self.candidates = candidates;
        self.known.insert(node, reach);
        reach
    }

    fn progression(&mut self, progression: &'p Progression) -> Reach {
        let mut reach = self.reach(&progression.first.value);
        for gives in progression.kept.iter().chain(&progression.last) {
            reach = reach.hull(self.reach(&gives.value));
        }
        match &progression.next {
            Some(NextStep::Gives(gives)) => reach.hull(self.reach(&gives.value)),
            Some(NextStep::Table(table)) => reach.hull(self.table(table, Reach::ANYTHING)),
            None => reach,
        }
    }

    fn field(&mut self, group: GroupId, field: usize) -> Reach {
        let declared = &self.program.groups[field_owner(self.program, group)];
        let Some(field) = declared.fields.get(field) else {
            return Reach::ANYTHING;
        };
        if matches!(declared.members, Members::AsManyAs(_)) && field.name == "number" {
            return Reach::between(Rational::ONE, Rational::whole(MOST_CLUBS_OF_A_KIND));
        }
        between(field.between.as_ref())
    }

    fn part_field(&self, part: PartId, field: usize) -> Reach {
        let field = self.program.parts[part].fields.get(field);
        field.map_or(Reach::ANYTHING, |field| between(field.between.as_ref()))
    }

    fn candidate(&mut self, choose: ChooseId, value: CandidateValue) -> Reach {
        let program = self.program;
        let choice = &program.chooses[choose];
        match value {
            CandidateValue::Field(field) => self.part_field(choice.part, field),
            CandidateValue::Setting(field) => match choice.in_each {
                Some((_, settings)) => self.part_field(settings, field),
                None => Reach::ANYTHING,
            },
            // A let uses those before it only, so this ends.
            CandidateValue::Let(number) => match choice.lets.get(number) {
                Some(own) => self.of_candidates(Candidates::Choose(choose), &own.value),
                None => Reach::ANYTHING,
            },
        }
    }

    /// The reach of an expression of candidates, whatever holds at the place that is looked at.
    fn of_candidates(&mut self, candidates: Candidates, value: &'p Expression) -> Reach {
        let guards = std::mem::take(&mut self.guards);
        let before = std::mem::replace(&mut self.candidates, candidates);
        let reach = self.reach(value);
        self.candidates = before;
        self.guards = guards;
        reach
    }

    fn aggregate(&mut self, aggregate: &'p Aggregate) -> Reach {
        let zero = Reach::between(Rational::ZERO, Rational::ZERO);
        match aggregate {
            Aggregate::NumberOf(..) => Reach::at_least(Rational::ZERO),
            Aggregate::ExtremeOf(_, over, value) => self.over(*over, value),
            // An empty group has the total zero; one of many is as large as they are many.
            Aggregate::TotalOf(over, value) => {
                let each = self.over(*over, value);
                let sign = |end: Option<Rational>, is_end: fn(&Rational) -> bool| {
                    end.filter(is_end).map(|_| Rational::ZERO)
                };
                Reach {
                    low: sign(each.low, |low| *low >= Rational::ZERO),
                    high: sign(each.high, |high| *high <= Rational::ZERO),
                    ..zero
                }
            }
            Aggregate::AnyWhere(..) => Reach::ANYTHING,
        }
    }

    fn over(&mut self, over: Over, value: &'p Expression) -> Reach {
        match over {
            Over::Group(_) => {
                let guards = std::mem::take(&mut self.guards);
                let reach = self.reach(value);
                self.guards = guards;
                reach
            }
            Over::PartsOnHand(part) => self.of_candidates(Candidates::OnHand(part), value),
        }
    }

    fn table(&mut self, table: &'p Table, before: Reach) -> Reach {
        let mut whole: Option<Reach> = None;
        let mut add = |reach: Reach| {
            whole = Some(whole.map_or(reach, |whole| whole.hull(reach)));
        };
        for row in &table.rows {
            let guards = self.guards.len();
            self.guard_row(table, row);
            let reach = self.result(&row.result, before);
            self.guards.truncate(guards);
            reach.into_iter().for_each(&mut add);
        }
        if let Some(result) = &table.if_unknown {
            self.result(result, before).into_iter().for_each(&mut add);
        }
        whole.unwrap_or(Reach::ANYTHING)
    }

    /// The reach of what a row leaves behind; `None` where it leaves nothing.
    fn result(&mut self, result: &'p RowResult, before: Reach) -> Option<Reach> {
        let sum = |ranges: &mut Self, by: &'p Expression, is_less: bool| {
            let by_reach = ranges.reach(by);
            let by_reach = if is_less {
                by_reach.negated()
            } else {
                by_reach
            };
            let sum = before.arithmetic(crate::program::Arithmetic::Plus, by_reach);
            sum.unwrap_or_else(|_| {
                ranges.too_large.insert(by.span);
                Reach::ANYTHING
            })
        };
        match result {
            RowResult::Gives(value) => Some(self.reach(value)),
            RowResult::Keeps => Some(before),
            RowResult::Adds(by) => Some(sum(self, by, false)),
            RowResult::TakesOff(by) => Some(sum(self, by, true)),
            RowResult::Moves(_) => Some(Reach::ANYTHING),
            RowResult::CannotHappen => None,
        }
    }

    fn step(&mut self, reach: Reach, step: &'p Step) -> Reach {
        match step {
            Step::Table(table) => self.table(table, reach),
            Step::KeptWithin { low, high, .. } => {
                let low = self.reach(low);
                reach.kept_within(low, self.reach(high))
            }
            Step::Rounded { rounding, to, .. } => {
                let unit = self.reach(to);
                reach.rounded(*rounding, unit).unwrap_or_else(|_| {
                    self.too_large.insert(to.span);
                    Reach::ANYTHING
                })
            }
            Step::OrIfUnknown { instead, .. } => reach.hull(self.reach(instead)),
        }
    }

    /// Whether an expression has numbers as values.
    pub(super) fn is_number(expression: &Expression) -> bool {
        expression.value_type.is_numeric() && expression.value_type != Type::Text
    }
}

/// The range between two values.
fn between(between: Option<&(Value, Value)>) -> Reach {
    let ends = between.and_then(|(low, high)| low.number().zip(high.number()));
    ends.map_or(Reach::ANYTHING, |(low, high)| Reach::between(low, high))
}
