//! The models that rules may call by name.
//!
//! The rules' contract declares the same names and signatures; this is where a call from a rule
//! becomes a call of a function. Arguments arrive in the language's base units (degrees, metres,
//! kilograms, seconds) in the order of the signature, and the answer leaves in them. Rounding to
//! the resolution that the contract states is the caller's, as is recording the call in the trace.
//!
//! | module | models of |
//! | --- | --- |
//! | `club` | what a mass and a length do to the swingweight |
//! | `direction` | start and curve, the sole in play |
//! | `driver` | the driver's loft |
//! | `flight` | the air, the flight of the ball |
//! | `head` | head geometry, lie, grip |
//! | `strike` | the strike and the carries of clubs |

mod club;
mod direction;
mod driver;
mod flight;
mod head;
mod strike;

pub use flight::launched;

use std::fmt;

use super::answer::Answer;
use super::outside_range::OutsideRange;

/// What comes of a call; `None` where the number of arguments is wrong.
type Called = Option<Result<Answer, OutsideRange>>;

/// A model as rules see it.
struct Model {
    /// The name by which rules call it.
    name: &'static str,
    /// The names of its arguments, in order.
    arguments: &'static [&'static str],
    /// Where the formula comes from.
    source: &'static str,
    /// Arguments that it answers to.
    #[cfg_attr(
        not(test),
        expect(dead_code, reason = "the tests call every model with it")
    )]
    example: &'static [f64],
    call: fn(&[f64]) -> Called,
}

/// Every file's models.
const GROUPS: &[&[Model]] = &[
    head::MODELS,
    strike::MODELS,
    driver::MODELS,
    direction::MODELS,
    flight::MODELS,
    club::MODELS,
];

/// The models that follow a ball, besides those whose names begin with `flight_`.
const FLYING: &[&str] = &[
    "best_driver_loft",
    "club_carry",
    "club_landing_angle",
    "driver_carry_at_loft",
    "driver_lost_by_a_degree",
    "lie_miss_in_flight",
];

/// A model that rules may call.
#[derive(Clone, Copy)]
pub struct ModelId(&'static Model);

impl ModelId {
    /// Every model, file by file.
    pub fn all() -> impl Iterator<Item = Self> {
        GROUPS.iter().copied().flatten().map(Self)
    }

    /// The model of this name, if there is one.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::all().find(|model| model.name() == name)
    }

    /// The name by which rules call it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.0.name
    }

    /// The names of its arguments, in order; an [`OutsideRange`] names one of them.
    #[must_use]
    pub const fn arguments(self) -> &'static [&'static str] {
        self.0.arguments
    }

    /// How many arguments it takes.
    #[must_use]
    pub const fn arity(self) -> usize {
        self.arguments().len()
    }

    /// Where the formula comes from, as the trace quotes it.
    #[must_use]
    pub const fn source(self) -> &'static str {
        self.0.source
    }

    /// Whether a ball is followed to where it lands, which takes far longer than any other formula.
    #[must_use]
    pub fn flies(self) -> bool {
        self.name().starts_with("flight_") || FLYING.contains(&self.name())
    }

    /// The model's answer; `None` where the number of arguments is wrong, which the checker
    /// excludes for rules.
    #[must_use]
    pub fn call(self, arguments: &[f64]) -> Option<Result<Answer, OutsideRange>> {
        (self.0.call)(arguments)
    }
}

impl PartialEq for ModelId {
    fn eq(&self, other: &Self) -> bool {
        self.name() == other.name()
    }
}

impl Eq for ModelId {}

impl fmt::Debug for ModelId {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

/// The answer of the model of this name; `None` where there is no such model or the number of
/// arguments is wrong.
#[must_use]
pub fn call(name: &str, arguments: &[f64]) -> Option<Result<Answer, OutsideRange>> {
    ModelId::from_name(name)?.call(arguments)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_finds_its_model_and_every_model_answers() {
        for model in ModelId::all() {
            assert_eq!(ModelId::from_name(model.name()), Some(model));
            assert_eq!(model.0.example.len(), model.arity());
            let answer = call(model.name(), model.0.example).unwrap().unwrap();
            assert!(answer.value.is_finite());
            assert_eq!(ModelId::all().filter(|other| *other == model).count(), 1);
        }
        assert_eq!(ModelId::from_name("sleeve"), None);
    }

    #[test]
    fn the_wrong_number_of_arguments_is_no_call() {
        for model in ModelId::all() {
            assert_eq!(model.call(model.0.example.split_last().unwrap().1), None);
            assert_eq!(model.call(&[]), None);
        }
    }

    /// One argument after the other replaced by what is no number: the refusal names it, in the
    /// signature's own words and place.
    #[test]
    fn what_is_no_number_is_named_as_the_signature_names_it() {
        for model in ModelId::all() {
            for (place, name) in model.arguments().iter().enumerate() {
                for nonsense in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300] {
                    let mut arguments = model.0.example.to_vec();
                    arguments[place] = nonsense;
                    let refusal = model.call(&arguments).unwrap().unwrap_err();
                    assert_eq!(refusal.argument, *name);
                }
            }
        }
    }
}
