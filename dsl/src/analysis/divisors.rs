//! Every place of a program where something is divided, and whether by what may be zero.
//!
//! Division, rounding to a unit, and the distance of a preference divide. The walk takes with it
//! what is known to hold (`guards`), as the evaluator does: of an `if` one branch, behind `only
//! when` and `when`, in the row that decides.

use std::collections::BTreeMap;

use super::ranges::{Candidates, Ranges};
use super::reach::Reach;
use crate::check::children;
use crate::program::{
    Aggregate, Arithmetic, Body, Choose, Decision, Expression, ExpressionKind, Gives, Members,
    Needs, NextStep, Node, Over, Preference, Program, RowResult, RungKind, Step, Table, TextPiece,
};
use crate::syntax::Span;

/// What goes by a divisor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DividesAs {
    /// `a / b`.
    Divisor,
    /// `rounded to b`.
    RoundingUnit,
    /// `near a, within b`.
    Distance,
}

/// A divisor that may be zero.
#[derive(Clone, Debug)]
pub(crate) struct Divisor<'p> {
    pub(crate) expression: &'p Expression,
    pub(crate) divides_as: DividesAs,
    /// How far it is known to reach.
    pub(crate) reach: Reach,
}

/// The divisors of a program that may be zero, by their places.
pub(crate) fn zero_divisors<'p>(ranges: &mut Ranges<'p>) -> Vec<Divisor<'p>> {
    let program = ranges.program;
    let mut walk = Walk {
        ranges,
        found: BTreeMap::new(),
    };
    walk.program(program);
    walk.found.into_values().collect()
}

struct Walk<'w, 'p> {
    ranges: &'w mut Ranges<'p>,
    found: BTreeMap<Span, Divisor<'p>>,
}

impl<'p> Walk<'_, 'p> {
    fn program(&mut self, program: &'p Program) {
        for input in program.inputs.iter() {
            self.all(&input.only_when);
        }
        for let_ in program.lets.iter() {
            self.expression(&let_.value);
        }
        for group in program.groups.iter() {
            match &group.members {
                Members::AsManyAs(count) => self.expression(count),
                Members::Where { condition, .. } => self.expression(condition),
                Members::GivenWithThePlayer | Members::MadeBy { .. } => {}
            }
        }
        for decision in program.decisions.iter() {
            self.guarded(decision.only_when.as_ref(), true, |walk| {
                walk.decision(decision)
            });
        }
        for (id, choose) in program.chooses.entries() {
            self.guarded(choose.only_when.as_ref(), true, |walk| {
                walk.ranges.candidates = Candidates::Choose(id);
                walk.choose(choose);
                walk.ranges.candidates = Candidates::Nobody;
            });
        }
        for limit in program.limits.iter() {
            self.guarded(limit.only_when.as_ref(), true, |walk| {
                walk.expression(&limit.condition);
                walk.texts(&limit.says);
            });
        }
        for caution in program.cautions.iter() {
            self.guarded(caution.only_when.as_ref(), true, |walk| {
                walk.expression(&caution.condition);
                walk.texts(&caution.says);
            });
        }
    }

    fn all(&mut self, expressions: impl IntoIterator<Item = &'p Expression>) {
        for expression in expressions {
            self.expression(expression);
        }
    }

    fn texts(&mut self, pieces: &'p [TextPiece]) {
        for piece in pieces {
            if let TextPiece::Value(value, _) = piece {
                self.expression(value);
            }
        }
    }

    /// What stands behind a condition, with what the condition says.
    fn guarded(
        &mut self,
        condition: Option<&'p Expression>,
        holds: bool,
        behind: impl FnOnce(&mut Self),
    ) {
        let before = self.ranges.guards.len();
        if let Some(condition) = condition {
            self.expression(condition);
            self.ranges.guard(condition, holds);
        }
        behind(self);
        self.ranges.guards.truncate(before);
    }

    fn decision(&mut self, decision: &'p Decision) {
        match &decision.body {
            Body::Table(table) => self.table(table),
            Body::Gives(gives) => self.gives([gives]),
            Body::Progression(progression) => {
                self.gives(progression.kept.iter().chain([&progression.first]));
                self.gives(&progression.last);
                match &progression.next {
                    Some(NextStep::Gives(gives)) => self.gives([gives]),
                    Some(NextStep::Table(table)) => self.table(table),
                    None => {}
                }
            }
        }
        for step in &decision.steps {
            match step {
                Step::Table(table) => self.table(table),
                Step::KeptWithin { low, high, .. } => self.all([low, high]),
                Step::Rounded { to, .. } => {
                    self.expression(to);
                    self.divisor(to, DividesAs::RoundingUnit);
                }
                Step::OrIfUnknown { instead, .. } => self.expression(instead),
            }
        }
    }

    fn gives(&mut self, gives: impl IntoIterator<Item = &'p Gives>) {
        for gives in gives {
            self.expression(&gives.value);
        }
    }

    fn table(&mut self, table: &'p Table) {
        for column in &table.columns {
            self.expression(&column.value);
        }
        for row in &table.rows {
            let before = self.ranges.guards.len();
            self.ranges.guard_row(table, row);
            self.result(&row.result);
            self.ranges.guards.truncate(before);
        }
        if let Some(result) = &table.if_unknown {
            self.result(result);
        }
    }

    fn result(&mut self, result: &'p RowResult) {
        match result {
            RowResult::Gives(value) | RowResult::Adds(value) | RowResult::TakesOff(value) => {
                self.expression(value);
            }
            RowResult::Moves(_) | RowResult::Keeps | RowResult::CannotHappen => {}
        }
    }

    fn choose(&mut self, choose: &'p Choose) {
        for own in &choose.lets {
            self.expression(&own.value);
        }
        for needs in &choose.needs {
            self.needs(needs);
        }
        for rung in &choose.rungs {
            if let RungKind::Needs { needs, .. } = &rung.kind {
                self.needs(needs);
            }
        }
        for prefers in &choose.prefers {
            self.guarded(prefers.when.as_ref(), true, |walk| match &prefers.what {
                Preference::Holds(condition) => walk.expression(condition),
                Preference::Near {
                    value,
                    near,
                    within,
                } => {
                    walk.all([value, near, within]);
                    walk.divisor(within, DividesAs::Distance);
                }
            });
        }
    }

    fn needs(&mut self, needs: &'p Needs) {
        self.guarded(needs.when.as_ref(), true, |walk| {
            walk.expression(&needs.condition)
        });
    }

    fn expression(&mut self, expression: &'p Expression) {
        match &expression.kind {
            ExpressionKind::Arithmetic(Arithmetic::Over, left, right) => {
                self.all([&**left, &**right]);
                self.divisor(right, DividesAs::Divisor);
            }
            ExpressionKind::Rounded { value, to, .. } => {
                self.all([&**value, &**to]);
                self.divisor(to, DividesAs::RoundingUnit);
            }
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => {
                self.guarded(Some(condition), true, |walk| walk.expression(then));
                self.guarded(Some(condition), false, |walk| walk.expression(otherwise));
            }
            ExpressionKind::Aggregate(aggregate) => self.aggregate(aggregate),
            _ => self.all(children(expression)),
        }
    }

    /// Inside an aggregate another club or part is at hand: what is known of this one says nothing.
    fn aggregate(&mut self, aggregate: &'p Aggregate) {
        let (over, value) = match aggregate {
            Aggregate::NumberOf(over, condition) => (*over, condition.as_ref()),
            Aggregate::ExtremeOf(_, over, value)
            | Aggregate::TotalOf(over, value)
            | Aggregate::AnyWhere(over, value) => (*over, Some(value)),
        };
        let guards = std::mem::take(&mut self.ranges.guards);
        let candidates = self.ranges.candidates;
        if let Over::PartsOnHand(part) = over {
            self.ranges.candidates = Candidates::OnHand(part);
        }
        self.all(value);
        self.ranges.candidates = candidates;
        self.ranges.guards = guards;
    }

    fn divisor(&mut self, expression: &'p Expression, divides_as: DividesAs) {
        // A constant that is zero is refused where it is read.
        let is_constant = matches!(expression.kind, ExpressionKind::Constant(_));
        let reach = self.ranges.reach(expression);
        if !is_constant && reach.may_be_zero() {
            let divisor = Divisor {
                expression,
                divides_as,
                reach,
            };
            self.found.insert(expression.span, divisor);
        }
    }
}

/// Whether an expression rests on one of these nodes, through lets and decisions.
pub(crate) fn rests_on(
    program: &Program,
    expression: &Expression,
    is_meant: &dyn Fn(Node) -> bool,
) -> bool {
    let mut seen = std::collections::BTreeSet::new();
    let mut waiting = vec![expression];
    while let Some(expression) = waiting.pop() {
        let node = match &expression.kind {
            ExpressionKind::Input(id) => Node::Input(*id),
            ExpressionKind::Let(id, _) => Node::Let(*id),
            ExpressionKind::Decision(id, _) => Node::Decision(*id),
            _ => {
                waiting.extend(children(expression));
                continue;
            }
        };
        if is_meant(node) {
            return true;
        }
        if let (true, Node::Let(id)) = (seen.insert(node), node) {
            waiting.push(&program.lets[id].value);
        }
    }
    false
}
