//! What is done to a value after a comma, and moves along a scale.

use loftwright_dsl::quantity::{Rational, Rounding};
use loftwright_dsl::syntax::tree::{Direction, Post};

use super::operators::{Answer, all_known, fault, number};
use super::{Oracle, Outcome, Scope, State, Value};

impl Oracle<'_> {
    /// A word moved along its scale, stopped at the ends.
    pub(super) fn moved(&self, value: &Value, direction: Direction, half_steps: i32) -> Value {
        let Value::Word { vocabulary, place } = value else {
            panic!("{value} cannot be moved");
        };
        let steps = match direction {
            Direction::Up => half_steps,
            Direction::Down => -half_steps,
        };
        Value::Word {
            vocabulary: vocabulary.clone(),
            place: (place + steps).clamp(0, self.rules.vocabularies[vocabulary].highest()),
        }
    }

    /// What is done to a value after a comma.
    pub(super) fn post(&self, value: State, post: &Post, scope: &Scope) -> Answer {
        match post {
            Post::OrIfUnknown(other) => match value {
                State::Undecided(_) => self.evaluate(other, scope),
                settled => Ok(settled),
            },
            Post::Rounded { rounding, to } => {
                let to = self.evaluate(to, &scope.expecting(None))?;
                Ok(match all_known(&[value, to]) {
                    Ok(values) => State::Known(Value::Number(rounded(
                        number(&values[0]),
                        *rounding,
                        number(&values[1]),
                    )?)),
                    Err(state) => state,
                })
            }
            Post::KeptWithin { low, high } => {
                let operands = [
                    value,
                    self.evaluate(low, scope)?,
                    self.evaluate(high, scope)?,
                ];
                Ok(match all_known(&operands) {
                    Ok(values) => {
                        let [value, low, high] = values.try_into().unwrap();
                        State::Known(if number(&value) < number(&low) {
                            low
                        } else if number(&value) > number(&high) {
                            high
                        } else {
                            value
                        })
                    }
                    Err(state) => state,
                })
            }
        }
    }
}

/// Rounding from its definition: to nearest, halves away from zero.
fn rounded(value: Rational, rounding: Rounding, unit: Rational) -> Result<Rational, Outcome> {
    let multiples = value.over(unit.size()).map_err(fault)?;
    let (above, below) = (multiples.numerator(), multiples.denominator());
    let down = above.div_euclid(below);
    let exact = above.rem_euclid(below) == 0;
    let up = if exact { down } else { down + 1 };
    let twice_rest = 2 * above.rem_euclid(below);
    let whole = match rounding {
        Rounding::Down => down,
        Rounding::Up => up,
        Rounding::Nearest if twice_rest > below => up,
        Rounding::Nearest if twice_rest < below => down,
        Rounding::Nearest if above < 0 => down,
        Rounding::Nearest => up,
    };
    let whole = Rational::fraction(whole, 1).map_err(fault)?;
    whole.times(unit.size()).map_err(fault)
}
