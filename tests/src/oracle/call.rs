//! Calls of models: the ranges of their arguments, the physics, the resolution of the answer.

use loftwright_dsl::quantity::{ParsedLiteral, Rational};
use loftwright_dsl::syntax::tree::{Expression, Literal, LiteralKind, Model};

use super::operators::{Answer, all_known, number};
use super::{Oracle, Outcome, Scope, State, Value};

impl Oracle<'_> {
    /// The answer of a model.
    pub(super) fn call(&self, model: &Model, arguments: &[Expression], scope: &Scope) -> Answer {
        let mut states = Vec::new();
        for argument in arguments {
            states.push(self.evaluate(argument, &scope.expecting(None))?);
        }
        let values = match all_known(&states) {
            Ok(values) => values,
            Err(state) => return Ok(state),
        };
        let outside = || Outcome::OutsideRange(model.name.text.clone());
        for (value, argument) in values.iter().zip(&model.arguments) {
            let Some(range) = &argument.between else {
                continue;
            };
            let bound = |literal: &Literal| match self.literal(&literal.kind, None) {
                State::Known(value) => number(&value),
                other => panic!("a bound is {other:?}"),
            };
            if number(value) < bound(&range.low) || number(value) > bound(&range.high) {
                return Err(outside());
            }
        }
        let floats: Vec<f64> = values.iter().map(|value| number(value).to_f64()).collect();
        let answer = loftwright_engine::model::catalogue::call(&model.name.text, &floats);
        let answer = answer.unwrap().map_err(|_| outside())?;
        let to = model.answers_to.as_ref().map(|to| &to.kind);
        let resolution = match to {
            // A size, though a temperature is written as a point.
            Some(LiteralKind::Exact(ParsedLiteral::Temperature { difference, .. })) => *difference,
            Some(kind) => match self.literal(kind, None) {
                State::Known(value) => number(&value),
                other => panic!("a model answers to {other:?}"),
            },
            None => panic!("`{}` does not say what it answers to", model.name.text),
        };
        let exact = Rational::from_f64(answer.value, resolution).ok_or_else(outside)?;
        Ok(State::Known(Value::Number(exact)))
    }
}
