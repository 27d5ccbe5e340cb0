//! Conditions: a subject and what must hold of it.

use loftwright_dsl::syntax::tree::{Expression, ExpressionKind, Literal, LiteralKind, Test};

use super::operators::{Answer, all_known, fault, holds, number, same};
use super::{Oracle, Scope, State, Value};

impl Oracle<'_> {
    /// A subject and a test of it. Outside a `needs` or `prefers` line both sides read alike.
    pub(super) fn compare(&self, subject: &Expression, test: &Test, scope: &Scope) -> Answer {
        let side = scope.as_subject();
        let vocabulary = self.vocabulary_of(subject, &side);
        let subject = self.evaluate(subject, &side)?;
        self.test(subject, vocabulary, test, &scope.as_ruleset())
    }

    /// Whether a test holds of a subject.
    pub(super) fn test(
        &self,
        subject: State,
        vocabulary: Option<String>,
        test: &Test,
        scope: &Scope,
    ) -> Answer {
        let scope = &scope.expecting(vocabulary.clone());
        let flag = |flag| Ok(State::Known(Value::Flag(flag)));
        match test {
            Test::IsKnown { negated } => flag(matches!(subject, State::Known(_)) != *negated),
            Test::Is { negated, value } if is_none_literal(value) => match subject {
                State::None => flag(!*negated),
                State::Known(_) => flag(*negated),
                undecided @ State::Undecided(_) => Ok(undecided),
            },
            Test::Is { negated, value } => {
                let value = self.evaluate(value, scope)?;
                two(subject, value, |left, right| same(left, right) != *negated)
            }
            Test::IsOneOf { negated, values } => {
                let mut operands = vec![subject];
                let words = values
                    .iter()
                    .map(|value| self.literal(&value.kind, vocabulary.as_deref()));
                operands.extend(words);
                match all_known(&operands) {
                    Ok(known) => {
                        let found = known[1..].iter().any(|value| same(value, &known[0]));
                        flag(found != *negated)
                    }
                    Err(state) => Ok(state),
                }
            }
            Test::Within { tolerance, of } => {
                let tolerance = self.evaluate(tolerance, &scope.expecting(None))?;
                let of = self.evaluate(of, scope)?;
                match all_known(&[subject, tolerance, of]) {
                    Ok(values) => {
                        let distance = number(&values[0]).minus(number(&values[2]));
                        let distance = distance.map_err(fault)?.size();
                        flag(distance <= number(&values[1]))
                    }
                    Err(state) => Ok(state),
                }
            }
            Test::Order { relation, bound } => {
                let bound = self.evaluate(bound, scope)?;
                two(subject, bound, |left, right| holds(*relation, left, right))
            }
            Test::Includes(value) => {
                let value = self.evaluate(value, scope)?;
                two(subject, value, |list, value| match list {
                    Value::List(elements) => elements.iter().any(|element| same(element, value)),
                    other => panic!("{other} is no list"),
                })
            }
        }
    }
}

fn is_none_literal(expression: &Expression) -> bool {
    matches!(
        &expression.kind,
        ExpressionKind::Literal(Literal {
            kind: LiteralKind::None,
            ..
        })
    )
}

fn two(left: State, right: State, test: impl Fn(&Value, &Value) -> bool) -> Answer {
    Ok(match all_known(&[left, right]) {
        Ok(values) => State::Known(Value::Flag(test(&values[0], &values[1]))),
        Err(state) => state,
    })
}
