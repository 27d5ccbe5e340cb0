//! Expressions.

use loftwright_dsl::quantity::{ParsedLiteral, Rational};
use loftwright_dsl::syntax::tree::{
    BinaryOperator, Direction, Expression, ExpressionKind, Extreme, Literal, LiteralKind,
};

use super::operators::{Answer, all_known, arithmetic, extreme, fault, logic, number};
use super::{Oracle, Scope, State, Value};

impl Oracle<'_> {
    /// What an expression comes to in a place.
    // Long because every form of an expression has its arm.
    pub(super) fn evaluate(&self, expression: &Expression, scope: &Scope) -> Answer {
        let plain = &scope.expecting(None);
        match &expression.kind {
            ExpressionKind::Literal(literal) => {
                Ok(self.literal(&literal.kind, scope.expected.as_deref()))
            }
            ExpressionKind::Reference(reference) => Ok(self.reference(reference, scope)),
            ExpressionKind::Its(name) => {
                Ok(scope.candidate.unwrap().let_or_field(self, &name.text))
            }
            ExpressionKind::OfMember {
                name,
                position,
                group,
            } => Ok(self.of_member(&name.text, *position, &group.text, scope)),
            ExpressionKind::Call { name, arguments } => {
                self.call(&self.rules.models[&name.text], arguments, scope)
            }
            ExpressionKind::Negative(inner) => {
                on_number(self.evaluate(inner, plain)?, |number| number.negated())
            }
            ExpressionKind::SizeOf(inner) => {
                on_number(self.evaluate(inner, plain)?, |number| number.size())
            }
            ExpressionKind::Not(inner) => Ok(opposite(self.evaluate(inner, plain)?)),
            ExpressionKind::Binary {
                operator,
                left,
                right,
            } => {
                let right = match difference_added(*operator, right) {
                    Some(difference) => difference,
                    None => self.evaluate(right, plain)?,
                };
                binary(*operator, &[self.evaluate(left, plain)?, right])
            }
            ExpressionKind::Compare { subject, test } => self.compare(subject, test, scope),
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => match self.evaluate(condition, plain)? {
                State::Known(Value::Flag(true)) => self.evaluate(then, scope),
                State::Known(_) => self.evaluate(otherwise, scope),
                other => Ok(other),
            },
            ExpressionKind::Extreme {
                extreme,
                left,
                right,
            } => {
                let inner = self.expecting_as(expression, scope);
                let operands = [self.evaluate(left, &inner)?, self.evaluate(right, &inner)?];
                Ok(the_extreme(*extreme, &operands))
            }
            ExpressionKind::Rate { amount, per, of } => {
                self.rate(amount, per, self.evaluate(of, plain)?)
            }
            ExpressionKind::Aggregate(aggregate) => self.aggregate(aggregate, scope),
            ExpressionKind::Moved {
                value,
                direction,
                half_steps,
            } => {
                let value = self.evaluate(value, scope)?;
                Ok(self.moved_state(value, *direction, *half_steps))
            }
            ExpressionKind::Post { value, post } => {
                let inner = self.expecting_as(value, scope);
                let value = self.evaluate(value, &inner)?;
                self.post(value, post, &inner)
            }
        }
    }

    /// The same place, with what the expression itself gives expected in it.
    fn expecting_as<'c>(&self, expression: &Expression, scope: &Scope<'c>) -> Scope<'c> {
        let vocabulary = self.vocabulary_of(expression, scope);
        scope.expecting(vocabulary.or_else(|| scope.expected.clone()))
    }

    pub(super) fn moved_state(&self, value: State, direction: Direction, half_steps: i32) -> State {
        match value {
            State::Known(value) => State::Known(self.moved(&value, direction, half_steps)),
            other => other,
        }
    }

    fn rate(&self, amount: &Literal, per: &Literal, of: State) -> Answer {
        let amount = self.literal(&amount.kind, None);
        let per = self.literal(&per.kind, None);
        Ok(match all_known(&[amount, per, of]) {
            Ok(values) => {
                let each = number(&values[2]).over(number(&values[1])).map_err(fault)?;
                let result = number(&values[0]).times(each).map_err(fault)?;
                State::Known(Value::Number(result))
            }
            Err(state) => state,
        })
    }
}

/// `+ 9 degF`: what is added to a temperature is a difference.
fn difference_added(operator: BinaryOperator, right: &Expression) -> Option<State> {
    let ExpressionKind::Literal(literal) = &right.kind else {
        return None;
    };
    match (operator, &literal.kind) {
        (
            BinaryOperator::Plus,
            LiteralKind::Exact(ParsedLiteral::Temperature { difference, .. }),
        ) => Some(State::Known(Value::Number(*difference))),
        _ => None,
    }
}

fn opposite(state: State) -> State {
    match state.flag() {
        Some(flag) => State::Known(Value::Flag(!flag)),
        None => state,
    }
}

fn on_number(state: State, change: impl Fn(Rational) -> Rational) -> Answer {
    Ok(match all_known(&[state]) {
        Ok(values) => State::Known(Value::Number(change(number(&values[0])))),
        Err(state) => state,
    })
}

fn binary(operator: BinaryOperator, operands: &[State; 2]) -> Answer {
    if matches!(operator, BinaryOperator::And | BinaryOperator::Or) {
        return Ok(logic(operator, &operands[0], &operands[1]));
    }
    Ok(match all_known(operands) {
        Ok(values) => State::Known(arithmetic(operator, &values[0], &values[1])?),
        Err(state) => state,
    })
}

fn the_extreme(which: Extreme, operands: &[State; 2]) -> State {
    match all_known(operands) {
        Ok(values) => {
            let [left, right] = values.try_into().unwrap();
            State::Known(extreme(which, left, right))
        }
        Err(state) => state,
    }
}
