//! Lines whose ruleset's side is worked out once for the club, so that a candidate is only
//! compared.
//!
//! `kind is wedge`, `mass within 10 g of wood_shaft_mass`: a value of the candidate against values
//! that are the same for every candidate. Everything else, and every value that is not known, goes
//! the general way; the answer is the same.

use loftwright_dsl::program::{CandidateValue, Expression, ExpressionKind, Type, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::Relation;

use super::sides::Side;
use crate::evaluate::algebra::{Ended, number};
use crate::evaluate::expression::{Asker, At};
use crate::evaluate::operators;
use crate::trace::TraceSink;

/// A comparison of a candidate's value with known values.
pub(super) struct Settled<'p> {
    pub(super) value: CandidateValue,
    test: Test<'p>,
}

enum Test<'p> {
    Is(Value, bool),
    IsOneOf(&'p [Value], bool),
    Order(Relation, Value),
    /// From the lower to the higher number, both included.
    Within(Rational, Rational),
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

impl<S: TraceSink> Asker<'_, S> {
    /// The condition as such a comparison, where it is one and its ruleset's side is known.
    pub(super) fn settle<'p>(
        &mut self,
        condition: &'p Expression,
        at: At<'_>,
    ) -> Result<Option<Settled<'p>>, Ended> {
        let settled = match &condition.kind {
            ExpressionKind::IsOneOf {
                negated,
                value,
                values,
            } => candidate_value(value).map(|value| (value, Test::IsOneOf(values, *negated))),
            ExpressionKind::Is {
                negated,
                left,
                right,
            } => match (candidate_value(left), self.fixed(right, at)?) {
                (Some(value), Some(wanted)) => Some((value, Test::Is(wanted, *negated))),
                _ => None,
            },
            ExpressionKind::Order {
                relation,
                left,
                right,
            } => match (candidate_value(left), self.fixed(right, at)?) {
                (Some(value), Some(bound)) => Some((value, Test::Order(*relation, bound))),
                _ => None,
            },
            ExpressionKind::Within {
                subject,
                tolerance,
                of,
            } if matches!(subject.value_type, Type::Quantity(_) | Type::Count) => {
                let of = self.fixed(of, at)?;
                match (candidate_value(subject), of, self.fixed(tolerance, at)?) {
                    (Some(value), Some(of), Some(tolerance)) => {
                        let (of, tolerance) = (number(&of)?, number(&tolerance)?);
                        let test = Test::Within(of.minus(tolerance)?, of.plus(tolerance)?);
                        Some((value, test))
                    }
                    _ => None,
                }
            }
            _ => None,
        };
        Ok(settled.map(|(value, test)| Settled { value, test }))
    }

    /// A value that is the same for every candidate.
    fn fixed(&mut self, expression: &Expression, at: At<'_>) -> Result<Option<Value>, Ended> {
        Ok(match self.ruleset_side(expression, at)? {
            Side::Known(value) => Some(value),
            Side::None | Side::OfCandidate | Side::Open(_) => None,
        })
    }
}

fn candidate_value(expression: &Expression) -> Option<CandidateValue> {
    match expression.kind {
        ExpressionKind::Candidate(value) => Some(value),
        _ => None,
    }
}
