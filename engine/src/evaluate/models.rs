//! Models: the one place where exact numbers become floats and answers become exact again.
//!
//! Each argument is checked against the range that the rules declare for it; the answer is rounded
//! to the resolution that they declare and is an exact number from there on.

use std::cell::RefCell;
use std::collections::BTreeMap;

use loftwright_dsl::program::{Expression, ModelId, Value};

use super::algebra::{Answer, Ended, merge, number};
use super::expression::{Asker, At};
use crate::model::{BeyondLiterature, catalogue};
use crate::outcome::{OutsideRange, State, Undecided};
use crate::trace::{ModelCall, TraceSink};
use loftwright_dsl::quantity::Rational;

/// No model takes more arguments.
const MOST_ARGUMENTS: usize = 8;

/// No more flights are remembered; with one more it begins anew.
const MOST_FLIGHTS: usize = 1 << 16;

/// What came of a model: its answer, or a refusal.
type Computed = Result<(Value, Option<BeyondLiterature>), OutsideRange>;

/// The answers of models that follow a ball, by their exact arguments: a flight takes as long as a
/// thousand comparisons.
#[derive(Default)]
pub(super) struct Flown(RefCell<BTreeMap<FlownKey, Computed>>);

/// What is flown: a number for the arguments first, which nearly always tells two apart.
type FlownKey = (u64, ModelId, Box<[Rational]>);

/// A number that differs for nearly all different arguments.
fn number_of(arguments: &[Rational]) -> u64 {
    let mixed = |so_far: u64, part: i128| {
        let part = i64::try_from(part).map_or(0, i64::cast_unsigned);
        // An odd number, so that nothing is lost.
        (so_far.rotate_left(23) ^ part).wrapping_mul(0x9e37_79b9_7f4a_7c15)
    };
    arguments.iter().fold(0, |so_far, argument| {
        mixed(mixed(so_far, argument.numerator()), argument.denominator())
    })
}

impl<S: TraceSink> Asker<'_, S> {
    pub(super) fn of_model(
        &mut self,
        model: ModelId,
        arguments: &[Expression],
        at: At<'_>,
    ) -> Answer {
        let mut numbers = [Rational::ZERO; MOST_ARGUMENTS];
        let mut is_none = false;
        let mut undecided: Option<Box<Undecided>> = None;
        for (index, argument) in arguments.iter().enumerate() {
            match self.ask(argument, at)? {
                State::Known(value) => {
                    *numbers.get_mut(index).ok_or_else(Ended::not_checked)? = number(&value)?;
                }
                State::None => is_none = true,
                State::Undecided(more) => merge(undecided.get_or_insert_default(), *more),
            }
        }
        if is_none {
            return Ok(State::None);
        }
        if let Some(undecided) = undecided {
            return Ok(State::Undecided(undecided));
        }
        let numbers = numbers.get(..arguments.len()).unwrap_or_default();
        self.call(model, numbers)
    }

    fn call(&mut self, model: ModelId, arguments: &[Rational]) -> Answer {
        let (answer, beyond) = match self.remembered(model, arguments)? {
            Ok((answer, beyond)) => (Ok(answer), beyond),
            Err(refusal) => (Err(refusal), None),
        };
        if S::IS_KEPT && self.is_recording {
            self.sink.model(ModelCall {
                place: self.place,
                model,
                arguments: arguments.iter().copied().map(Value::Number).collect(),
                answer: answer.clone(),
                beyond,
            });
        }
        answer
            .map(State::Known)
            .map_err(|beyond| Ended::OutsideRange(Box::new(beyond)))
    }

    fn remembered(&self, model: ModelId, arguments: &[Rational]) -> Result<Computed, Ended> {
        let flies = self.world.prepared.flies(model);
        let Some(Flown(flown)) = self.world.flown.filter(|_| flies) else {
            return self.answer(model, arguments);
        };
        let key = (number_of(arguments), model, Box::from(arguments));
        if let Some(known) = flown.borrow().get(&key) {
            return Ok(known.clone());
        }
        let answer = self.answer(model, arguments)?;
        let mut flown = flown.borrow_mut();
        if flown.len() >= MOST_FLIGHTS {
            flown.clear();
        }
        flown.insert(key, answer.clone());
        Ok(answer)
    }

    fn answer(&self, model: ModelId, arguments: &[Rational]) -> Result<Computed, Ended> {
        let declared = &self.world.program.models[model];
        let mut floats = [0.0; MOST_ARGUMENTS];
        for (index, (argument, declared)) in arguments.iter().zip(&declared.arguments).enumerate() {
            if let Some((low, high)) = &declared.between
                && (*argument < number(low)? || number(high)? < *argument)
            {
                return Ok(Err(beyond(model, index, *argument)));
            }
            *floats.get_mut(index).ok_or_else(Ended::not_checked)? = argument.to_f64();
        }
        let resolution = number(&declared.answers_to)?;
        let no_answer = OutsideRange {
            model,
            argument: None,
            value: None,
        };
        let Some(computed) = self.world.prepared.model(model) else {
            return Ok(Err(no_answer));
        };
        let floats = floats.get(..arguments.len()).unwrap_or_default();
        Ok(match computed.call(floats) {
            Some(Ok(answer)) => Rational::from_f64(answer.value, resolution)
                .map(|value| (Value::Number(value), answer.beyond))
                .ok_or(no_answer),
            Some(Err(refusal)) => Err(refused(model, computed, refusal.argument, arguments)),
            None => Err(no_answer),
        })
    }
}

fn beyond(model: ModelId, argument: usize, value: Rational) -> OutsideRange {
    OutsideRange {
        model,
        argument: Some(argument),
        value: Some(Value::Number(value)),
    }
}

/// The model's own refusal, where its formula means nothing although the rules allow it.
fn refused(
    model: ModelId,
    computed: catalogue::ModelId,
    argument: &str,
    arguments: &[Rational],
) -> OutsideRange {
    let index = computed
        .arguments()
        .iter()
        .position(|name| *name == argument);
    match index.and_then(|index| arguments.get(index).map(|value| (index, *value))) {
        Some((index, value)) => beyond(model, index, value),
        None => OutsideRange {
            model,
            argument: None,
            value: None,
        },
    }
}
