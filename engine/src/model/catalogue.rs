//! The models that rules may call by name.
//!
//! The rules' contract declares the same names and signatures; this is where a call from a rule
//! becomes a call of a function. Arguments arrive in the language's base units (degrees, metres,
//! kilograms, seconds) in the order of the signature, and the answer leaves in them. Rounding to
//! the resolution that the contract states is the caller's, as is recording the call in the trace.

use super::answer::Answer;
use super::outside_range::OutsideRange;
use super::{grip, head, lie_for_length, sleeve};

/// A model that rules may call.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ModelId {
    /// `sleeve_loft(loft, lie, tilt, turn) : angle`, see [`sleeve::sleeve_loft_deg`].
    SleeveLoft,
    /// `sleeve_face(loft, lie, tilt, turn) : angle`, see [`sleeve::sleeve_face_deg`].
    SleeveFace,
    /// `sleeve_lie(loft, lie, tilt, turn) : angle`, see [`sleeve::sleeve_lie_deg`].
    SleeveLie,
    /// `lie_error_face(loft, lie_error) : angle`, see [`head::lie_error_face_deg`].
    LieErrorFace,
    /// `lie_for_length(lie, length, new_length) : angle`, see
    /// [`lie_for_length::lie_for_length_deg`].
    LieForLength,
    /// `wraps_for_diameter(target_diameter, butt_diameter, core_diameter, nominal_diameter,
    /// tape_thickness) : number`, see [`grip::wraps_for_diameter`].
    WrapsForDiameter,
}

impl ModelId {
    /// Every model, in the order of the enumeration.
    pub const ALL: [Self; 6] = [
        Self::SleeveLoft,
        Self::SleeveFace,
        Self::SleeveLie,
        Self::LieErrorFace,
        Self::LieForLength,
        Self::WrapsForDiameter,
    ];

    /// The model of this name, if there is one.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|model| model.name() == name)
    }

    /// The name by which rules call it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SleeveLoft => "sleeve_loft",
            Self::SleeveFace => "sleeve_face",
            Self::SleeveLie => "sleeve_lie",
            Self::LieErrorFace => "lie_error_face",
            Self::LieForLength => "lie_for_length",
            Self::WrapsForDiameter => "wraps_for_diameter",
        }
    }

    /// The names of its arguments, in order; an [`OutsideRange`] names one of them.
    #[must_use]
    pub const fn arguments(self) -> &'static [&'static str] {
        match self {
            Self::SleeveLoft | Self::SleeveFace | Self::SleeveLie => {
                &["loft", "lie", "tilt", "turn"]
            }
            Self::LieErrorFace => &["loft", "lie_error"],
            Self::LieForLength => &["lie", "length", "new_length"],
            Self::WrapsForDiameter => &[
                "target_diameter",
                "butt_diameter",
                "core_diameter",
                "nominal_diameter",
                "tape_thickness",
            ],
        }
    }

    /// How many arguments it takes.
    #[must_use]
    pub const fn arity(self) -> usize {
        self.arguments().len()
    }

    /// Where the formula comes from, as the trace quotes it.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::SleeveLoft | Self::SleeveFace | Self::SleeveLie => {
                "geometry: exact rotation of the head on a tilted sleeve"
            }
            Self::LieErrorFace => "geometry: exact rotation of the head about the target line",
            Self::LieForLength => "geometry: hands at one height, sin(lie) = height / length",
            Self::WrapsForDiameter => "common practice: the grip's rubber keeps its thickness",
        }
    }

    /// The model's answer; `None` where the number of arguments is wrong, which the checker
    /// excludes for rules.
    #[must_use]
    pub fn call(self, arguments: &[f64]) -> Option<Result<Answer, OutsideRange>> {
        let answer = match (self, arguments) {
            (Self::SleeveLoft, &[loft, lie, tilt, turn]) => {
                sleeve::sleeve_loft_deg(loft, lie, tilt, turn).map(Answer::covered)
            }
            (Self::SleeveFace, &[loft, lie, tilt, turn]) => {
                sleeve::sleeve_face_deg(loft, lie, tilt, turn).map(Answer::covered)
            }
            (Self::SleeveLie, &[loft, lie, tilt, turn]) => {
                sleeve::sleeve_lie_deg(loft, lie, tilt, turn).map(Answer::covered)
            }
            (Self::LieErrorFace, &[loft, lie_error]) => {
                head::lie_error_face_deg(loft, lie_error).map(Answer::covered)
            }
            (Self::LieForLength, &[lie, length, new_length]) => {
                lie_for_length::lie_for_length_deg(lie, length, new_length).map(Answer::covered)
            }
            (Self::WrapsForDiameter, &[target, butt, core, nominal, tape]) => {
                grip::wraps_for_diameter(target, butt, core, nominal, tape).map(Answer::covered)
            }
            _ => return None,
        };
        Some(answer)
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

    /// Arguments that every model of this arity answers to.
    fn sound_arguments(model: ModelId) -> Vec<f64> {
        match model {
            ModelId::SleeveLoft | ModelId::SleeveFace | ModelId::SleeveLie => {
                vec![10.5, 58.0, 1.0, 45.0]
            }
            ModelId::LieErrorFace => vec![46.0, 1.0],
            ModelId::LieForLength => vec![60.0, 0.9652, 0.9779],
            ModelId::WrapsForDiameter => vec![0.0243, 0.0157, 0.0152, 0.0234, 0.000_1],
        }
    }

    #[test]
    fn every_name_finds_its_model_and_every_model_answers() {
        for model in ModelId::ALL {
            assert_eq!(ModelId::from_name(model.name()), Some(model));
            let arguments = sound_arguments(model);
            assert_eq!(arguments.len(), model.arity());
            let answer = call(model.name(), &arguments).unwrap().unwrap();
            assert!(answer.value.is_finite());
        }
        assert_eq!(ModelId::from_name("sleeve"), None);
    }

    #[test]
    fn the_wrong_number_of_arguments_is_no_call() {
        for model in ModelId::ALL {
            let arguments = sound_arguments(model);
            assert_eq!(model.call(arguments.split_last().unwrap().1), None);
            assert_eq!(model.call(&[]), None);
        }
    }

    /// One argument after the other replaced by what is no number: the refusal names it, in the
    /// signature's own words and place.
    #[test]
    fn what_is_no_number_is_named_as_the_signature_names_it() {
        for model in ModelId::ALL {
            for (place, name) in model.arguments().iter().enumerate() {
                for nonsense in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300] {
                    let mut arguments = sound_arguments(model);
                    arguments[place] = nonsense;
                    let refusal = model.call(&arguments).unwrap().unwrap_err();
                    assert_eq!(refusal.argument, *name);
                }
            }
        }
    }
}
