//! Lines whose other side is worked out once for the club, so that a value of the candidate is only
//! compared.
//!
//! `kind is wedge`, `mass within 10 g of wood_shaft_mass`: a value of the candidate against values
//! that are the same for every candidate. Everything else, and every value that is not known, goes
//! the general way; the answer is the same.

use loftwright_dsl::program::{CandidateValue, Expression, ExpressionKind, Type, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::Relation;

use super::lets::speaks_of_the_candidate;
use super::sides::Side;
use crate::evaluate::algebra::{Ended, number};
use crate::evaluate::expression::{Asker, At};
use crate::evaluate::operators;
use crate::outcome::State;
use crate::trace::TraceSink;

/// A comparison of a candidate's value with known values.
#[derive(Clone, PartialEq)]
pub(super) struct Settled<'p> {
    pub(super) value: CandidateValue,
    test: Test<'p>,
    /// What misses are counted from, where the line compares numbers.
    pub(super) aim: Option<Aim>,
}

#[derive(Clone, PartialEq)]
enum Test<'p> {
    Is(Value, bool),
    IsOneOf(&'p [Value], bool),
    Order(Relation, Value),
    /// From the lower to the higher number, both included.
    Within(Rational, Rational),
}

/// The number that a line wants to be near to.
#[derive(Clone, PartialEq)]
pub(super) struct Aim {
    pub(super) wanted: Value,
    value_type: Type,
    tolerance: Option<Rational>,
}

/// The values that are nearer to what a line wants than the nearest of those that failed it so far:
/// those between two.
pub(super) struct Nearer {
    low: Rational,
    high: Rational,
}

impl Nearer {
    /// Whether a value is among them.
    pub(super) fn has(&self, value: &Value) -> bool {
        let number = value.number();
        number.is_some_and(|number| self.low < number && number < self.high)
    }
}

impl Aim {
    /// What would be nearer than a value that fails the line; `None` where the values are no
    /// numbers.
    pub(super) fn nearer_than(&self, value: &Value) -> Option<Nearer> {
        let wanted = self.wanted.number()?;
        let distance = value.number()?.minus(wanted).ok()?.size();
        Some(Nearer {
            low: wanted.minus(distance).ok()?,
            high: wanted.plus(distance).ok()?,
        })
    }

    /// By how much a number that fails the line misses it.
    pub(super) fn miss(&self, value: &Value) -> Option<Rational> {
        let distance = operators::difference(self.value_type, value, &self.wanted)
            .ok()?
            .size();
        match self.tolerance {
            Some(tolerance) => distance.minus(tolerance).ok(),
            None => Some(distance),
        }
    }
}

impl Settled<'_> {
    /// Whether a known value passes.
    pub(super) fn holds(&self, value: &Value) -> bool {
        match &self.test {
            Test::Is(wanted, negated) => (value == wanted) != *negated,
            Test::IsOneOf(wanted, negated) => wanted.contains(value) != *negated,
            Test::Order(relation, bound) => operators::relation(*relation, value, bound),
            Test::Within(low, high) => value
                .number()
                .is_some_and(|number| *low <= number && number <= *high),
        }
    }
}

/// What the value of the candidate is compared with, worked out.
type Worked<S> = fn(&mut Asker<'_, S>, &Expression, At<'_>) -> Result<Option<Value>, Ended>;

impl<S: TraceSink> Asker<'_, S> {
    /// The condition as such a comparison, where it is one and its other side is the same for every
    /// candidate; `at` has the candidate of which nothing is known.
    pub(super) fn settle<'p>(
        &mut self,
        condition: &'p Expression,
        at: At<'_>,
    ) -> Result<Option<Settled<'p>>, Ended> {
        self.settle_by(condition, at, |asker, expression, at| {
            if speaks_of_the_candidate(expression) {
                return Ok(None);
            }
            Ok(match asker.ruleset_side(expression, at)? {
                Side::Known(value) => Some(value),
                Side::None | Side::OfCandidate | Side::Open(_) => None,
            })
        })
    }

    /// The condition as such a comparison for the candidate at hand, and all whose other side is
    /// the same.
    pub(super) fn settle_for_the_candidate<'p>(
        &mut self,
        condition: &'p Expression,
        at: At<'_>,
    ) -> Result<Option<Settled<'p>>, Ended> {
        self.settle_by(condition, at, |asker, expression, at| {
            Ok(match asker.of_candidate(expression, at)? {
                State::Known(value) => Some(value),
                State::None | State::Undecided(_) => None,
            })
        })
    }

    fn settle_by<'p>(
        &mut self,
        condition: &'p Expression,
        at: At<'_>,
        worked: Worked<S>,
    ) -> Result<Option<Settled<'p>>, Ended> {
        let Some((subject, value)) = subject(condition) else {
            return Ok(None);
        };
        let value_type = subject.value_type;
        let aim = |wanted: &Value, tolerance| {
            value_type.is_numeric().then(|| Aim {
                wanted: wanted.clone(),
                value_type,
                tolerance,
            })
        };
        let (test, aim) = match &condition.kind {
            ExpressionKind::IsOneOf {
                negated, values, ..
            } => (Test::IsOneOf(values, *negated), None),
            ExpressionKind::Is { negated, right, .. } => match worked(self, right, at)? {
                Some(wanted) => {
                    let aim = if *negated { None } else { aim(&wanted, None) };
                    (Test::Is(wanted, *negated), aim)
                }
                None => return Ok(None),
            },
            ExpressionKind::Order {
                relation, right, ..
            } => match worked(self, right, at)? {
                Some(bound) => {
                    let aim = aim(&bound, None);
                    (Test::Order(*relation, bound), aim)
                }
                None => return Ok(None),
            },
            ExpressionKind::Within { tolerance, of, .. }
                if matches!(value_type, Type::Quantity(_) | Type::Count) =>
            {
                let of = worked(self, of, at)?;
                let (Some(of), Some(tolerance)) = (of, worked(self, tolerance, at)?) else {
                    return Ok(None);
                };
                let (centre, tolerance) = (number(&of)?, number(&tolerance)?);
                let test = Test::Within(centre.minus(tolerance)?, centre.plus(tolerance)?);
                (test, aim(&of, Some(tolerance)))
            }
            _ => return Ok(None),
        };
        Ok(Some(Settled { value, test, aim }))
    }
}

/// The subject of a comparison, where it is a value of the candidate.
pub(super) fn subject(condition: &Expression) -> Option<(&Expression, CandidateValue)> {
    let subject = match &condition.kind {
        ExpressionKind::IsOneOf { value: left, .. }
        | ExpressionKind::Is { left, .. }
        | ExpressionKind::Order { left, .. }
        | ExpressionKind::Within { subject: left, .. } => left,
        _ => return None,
    };
    match subject.kind {
        ExpressionKind::Candidate(value) => Some((subject, value)),
        _ => None,
    }
}

/// What the subject of a comparison is compared with.
pub(super) fn other_sides(condition: &Expression) -> [Option<&Expression>; 2] {
    match &condition.kind {
        ExpressionKind::Is { right, .. } | ExpressionKind::Order { right, .. } => {
            [Some(right), None]
        }
        ExpressionKind::Within { tolerance, of, .. } => [Some(of), Some(tolerance)],
        _ => [None, None],
    }
}
