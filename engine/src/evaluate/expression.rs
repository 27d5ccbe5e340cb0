//! Expressions: what a value is on its way, with all that is missing.
//!
//! A strict operator looks at all its operands: it is none where one of them is, undecided with all
//! their causes where one of them is, and computed otherwise. `and`, `or` and `if` look at their
//! operands from left to right and stop where the answer is settled, so that a condition on the
//! left guards what stands on its right.

use loftwright_dsl::program::{
    CandidateValue, Expression, ExpressionKind, GroupId, Program, Value,
};
use loftwright_dsl::quantity::Date;

use super::algebra::{Answer, Ended, flag, merge, not_all_known, number};
use super::budget::Budget;
use super::choose::Candidate;
use super::models::Flown;
use super::operators;
use super::prepare::Evaluator;
use super::state::Evaluation;
use crate::outcome::{Outcome, Place, State};
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::{Entry, How, TraceSink};

/// What an evaluation looks at and never changes.
#[derive(Clone, Copy)]
pub(super) struct World<'a> {
    pub(super) program: &'a Program,
    pub(super) prepared: &'a Evaluator<'a>,
    pub(super) parts: &'a Parts,
    pub(super) player: &'a Player,
    pub(super) today: Date,
    /// Flights that need not be flown again.
    pub(super) flown: Option<&'a Flown>,
}

/// Where along the bag the declaration at hand stands.
#[derive(Clone, Copy)]
pub(super) struct Along<'e> {
    /// The places of the clubs in the stated order.
    pub(super) order: &'e [usize],
    /// The place of the club at hand in that order.
    pub(super) position: usize,
}

/// What an expression is evaluated for.
#[derive(Clone, Copy, Default)]
pub(super) struct At<'e> {
    /// The club at hand: a group and the place in it.
    pub(super) club: Option<(GroupId, usize)>,
    /// The order along the bag; without it, the group's own.
    pub(super) along: Option<Along<'e>>,
    /// `previous`: the place before along the bag and what it came to.
    pub(super) previous: Option<(Place, &'e Outcome)>,
    /// The candidate at hand.
    pub(super) candidate: Option<&'e Candidate<'e>>,
}

impl At<'_> {
    /// For a club of a group, in the group's own order.
    pub(super) fn club(group: GroupId, member: usize) -> Self {
        At {
            club: Some((group, member)),
            ..At::default()
        }
    }
}

/// Evaluates the expressions of one node.
pub(super) struct Asker<'a, S> {
    pub(super) world: World<'a>,
    pub(super) evaluation: &'a Evaluation,
    pub(super) sink: &'a mut S,
    /// The node and club at hand, as the trace of models has it.
    pub(super) place: Place,
    pub(super) budget: Budget,
    /// Whether models are recorded; not while candidates are only tried.
    pub(super) is_recording: bool,
    /// The columns of the table at hand; what is there between two tables is of no account.
    pub(super) columns: Vec<State>,
}

impl<'a, S: TraceSink> Asker<'a, S> {
    /// For a node of the graph.
    pub(super) fn new(
        world: World<'a>,
        evaluation: &'a Evaluation,
        sink: &'a mut S,
        place: Place,
    ) -> Self {
        Asker {
            world,
            evaluation,
            sink,
            place,
            budget: Budget::default(),
            is_recording: true,
            columns: Vec::new(),
        }
    }

    /// Goes on with another club, which has its own budget.
    pub(super) fn turn_to(&mut self, member: Option<usize>) {
        self.place.member = member;
        self.budget = Budget::default();
    }

    /// Tells the trace how the place at hand came to its outcome.
    pub(super) fn record(&mut self, how: How) {
        if S::IS_KEPT {
            self.sink.node(Entry {
                place: self.place,
                how,
            });
        }
    }

    /// Takes one step of the budget.
    pub(super) fn step(&mut self) -> Result<(), Ended> {
        self.budget.step(self.evaluation, self.world.parts)
    }

    /// The state of an expression.
    pub(super) fn ask(&mut self, expression: &Expression, at: At<'_>) -> Answer {
        self.step()?;
        match &expression.kind {
            ExpressionKind::Constant(value) => Ok(State::Known(value.clone())),
            ExpressionKind::None => Ok(State::None),
            ExpressionKind::Input(id) => Ok(self.of_input(*id)),
            ExpressionKind::Let(id, member) => Ok(self.of_let(*id, *member, at)),
            ExpressionKind::Decision(id, member) => Ok(self.of_decision(*id, *member, at)),
            ExpressionKind::Field {
                group,
                field,
                member,
            } => Ok(self.of_field(*group, *field, *member, at)),
            ExpressionKind::Chosen {
                choose,
                value,
                member,
            } => Ok(self.of_chosen(*choose, *value, *member, at)),
            ExpressionKind::Candidate(value) => of_candidate(*value, at),
            ExpressionKind::PreviousValue => Ok(of_previous(at)),
            ExpressionKind::Model(model, arguments) => self.of_model(*model, arguments, at),
            ExpressionKind::Aggregate(aggregate) => self.aggregate(aggregate, at),
            _ => self.operator(expression, at),
        }
    }

    /// Operators on one value, and those that look at none and undecided themselves.
    fn operator(&mut self, expression: &Expression, at: At<'_>) -> Answer {
        match &expression.kind {
            ExpressionKind::Negative(value) => self.strict([value], at, |[value]| {
                Ok(Value::Number(number(value)?.negated()))
            }),
            ExpressionKind::SizeOf(value) => self.strict([value], at, |[value]| {
                Ok(Value::Number(number(value)?.size()))
            }),
            ExpressionKind::Not(value) => self.strict([value], at, |[value]| {
                value
                    .flag()
                    .map(|flag| Value::Flag(!flag))
                    .ok_or_else(Ended::not_checked)
            }),
            ExpressionKind::IsOneOf {
                negated,
                value,
                values,
            } => self.strict([value], at, |[value]| {
                Ok(Value::Flag(values.contains(value) != *negated))
            }),
            ExpressionKind::Moved(value, half_steps) => {
                let program = self.world.program;
                let value_type = value.value_type;
                self.strict([value], at, |[value]| {
                    Ok(operators::moved(program, value_type, value, *half_steps)?.0)
                })
            }
            ExpressionKind::IsNone { negated, value } => Ok(match self.ask(value, at)? {
                State::Known(_) => flag(*negated),
                State::None => flag(!*negated),
                undecided => undecided,
            }),
            ExpressionKind::IsKnown { negated, value } => {
                let is_known = matches!(self.ask(value, at)?, State::Known(_));
                Ok(flag(is_known != *negated))
            }
            ExpressionKind::OrIfUnknown { value, instead } => match self.ask(value, at)? {
                State::Undecided(_) => self.ask(instead, at),
                settled => Ok(settled),
            },
            ExpressionKind::And(left, right) => self.and_or(false, left, right, at),
            ExpressionKind::Or(left, right) => self.and_or(true, left, right, at),
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => match self.ask(condition, at)? {
                State::Known(Value::Flag(true)) => self.ask(then, at),
                State::Known(Value::Flag(false)) => self.ask(otherwise, at),
                State::Known(_) => Err(Ended::not_checked()),
                open => Ok(open),
            },
            _ => self.operator_on_several(expression, at),
        }
    }

    /// Strict operators on two or three values.
    fn operator_on_several(&mut self, expression: &Expression, at: At<'_>) -> Answer {
        match &expression.kind {
            ExpressionKind::Arithmetic(operator, left, right) => {
                self.strict([left, right], at, |[left, right]| {
                    operators::arithmetic(*operator, left, right)
                })
            }
            ExpressionKind::Is {
                negated,
                left,
                right,
            } => self.strict([left, right], at, |[left, right]| {
                Ok(Value::Flag((left == right) != *negated))
            }),
            ExpressionKind::Includes { list, value } => {
                self.strict([list, value], at, |[list, value]| match list {
                    Value::Values(values) => Ok(Value::Flag(values.contains(value))),
                    _ => Err(Ended::not_checked()),
                })
            }
            ExpressionKind::Order {
                relation,
                left,
                right,
            } => self.strict([left, right], at, |[left, right]| {
                Ok(Value::Flag(operators::relation(*relation, left, right)))
            }),
            ExpressionKind::Extreme(extreme, left, right) => {
                self.strict([left, right], at, |[left, right]| {
                    let is_more = operators::is_more_extreme(*extreme, right, left);
                    Ok(if is_more { right } else { left }.clone())
                })
            }
            ExpressionKind::Rounded {
                value,
                rounding,
                to,
            } => self.strict([value, to], at, |[value, to]| {
                Ok(Value::Number(
                    number(value)?.rounded_to(number(to)?, *rounding)?,
                ))
            }),
            ExpressionKind::Within {
                subject,
                tolerance,
                of,
            } => {
                let value_type = subject.value_type;
                self.strict([subject, of, tolerance], at, |[subject, of, tolerance]| {
                    let distance = operators::difference(value_type, subject, of)?.size();
                    Ok(Value::Flag(distance <= number(tolerance)?))
                })
            }
            ExpressionKind::KeptWithin { value, low, high } => {
                self.strict([value, low, high], at, |[value, low, high]| {
                    Ok(operators::kept_within(value, low, high).clone())
                })
            }
            _ => Err(Ended::not_checked()),
        }
    }

    /// A strict operator: the state that the operands make together, or what is computed of their
    /// values.
    fn strict<const OPERANDS: usize>(
        &mut self,
        operands: [&Expression; OPERANDS],
        at: At<'_>,
        compute: impl FnOnce([&Value; OPERANDS]) -> Result<Value, Ended>,
    ) -> Answer {
        let mut worked_out = [const { None }; OPERANDS];
        let mut values = [None; OPERANDS];
        let places = values.iter_mut().zip(&mut worked_out);
        for ((value, place), operand) in places.zip(operands) {
            *value = self.look(operand, at, place)?;
        }
        if values.iter().any(Option::is_none) {
            return Ok(not_all_known(worked_out.into_iter().flatten()));
        }
        compute(values.map(|value| value.unwrap_or(&Value::Flag(false)))).map(State::Known)
    }

    /// The value of an operand, where it is known; what a name stands for is looked at in its
    /// place, and what has to be worked out is put into one.
    fn look<'v>(
        &mut self,
        expression: &'v Expression,
        at: At<'v>,
        place: &'v mut Option<State>,
    ) -> Result<Option<&'v Value>, Ended>
    where
        'a: 'v,
    {
        if let Some(value) = self.in_place(expression, at) {
            self.step()?;
            return Ok(Some(value));
        }
        Ok(match place.insert(self.ask(expression, at)?) {
            State::Known(value) => Some(value),
            State::None | State::Undecided(_) => None,
        })
    }

    /// `and` where `settles` is no, `or` where it is yes: one operand that settles is enough,
    /// whatever the other; then none, then undecided.
    fn and_or(
        &mut self,
        settles: bool,
        left: &Expression,
        right: &Expression,
        at: At<'_>,
    ) -> Answer {
        let is_settled = |state: &State| match state {
            State::Known(Value::Flag(flag)) => *flag == settles,
            _ => false,
        };
        let left = self.ask(left, at)?;
        if is_settled(&left) {
            return Ok(left);
        }
        let right = self.ask(right, at)?;
        Ok(match (left, right) {
            (_, right) if is_settled(&right) => right,
            (State::None, _) | (_, State::None) => State::None,
            (State::Undecided(mut left), State::Undecided(right)) => {
                merge(&mut left, *right);
                State::Undecided(left)
            }
            (State::Undecided(undecided), _) | (_, State::Undecided(undecided)) => {
                State::Undecided(undecided)
            }
            (State::Known(_), State::Known(_)) => flag(!settles),
        })
    }
}

fn of_candidate(value: CandidateValue, at: At<'_>) -> Answer {
    match at.candidate {
        Some(candidate) => Ok(candidate.state(value)),
        None => Err(Ended::not_checked()),
    }
}

/// `previous`: what the club before along the bag came to.
pub(super) fn of_previous(at: At<'_>) -> State {
    match at.previous {
        Some((place, outcome)) => super::algebra::seen_from_outside(place, outcome),
        None => State::None,
    }
}
