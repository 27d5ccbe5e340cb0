//! The models that rules may call by name.
//!
//! The rules' contract declares the same names and signatures; this is where a call from a rule
//! becomes a call of a function. Arguments arrive in the language's base units (degrees, metres,
//! kilograms, seconds) in the order of the signature, and the answer leaves in them. Rounding to
//! the resolution that the contract states is the caller's, as is recording the call in the trace.

use super::answer::Answer;
use super::club_carry::Anchor;
use super::outside_range::OutsideRange;
use super::{club_carry, grip, head, impact, lie_for_length, sleeve};

/// One revolution a minute, in the language's base unit of spin.
const DEG_PER_S_OF_1_RPM: f64 = 6.0;

/// A spin as it leaves for the rules.
fn spin(rpm: f64) -> Answer {
    Answer::covered(rpm * DEG_PER_S_OF_1_RPM)
}

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
    /// `impact_ball_speed(head_speed, attack_angle, delivered_loft, head_mass, restitution) : speed`, see [`impact::ball_speed_m_s`].
    ImpactBallSpeed,
    /// `impact_launch(attack_angle, delivered_loft, head_mass, restitution) : angle`, see [`impact::launch_deg`].
    ImpactLaunch,
    /// `impact_spin(head_speed, attack_angle, delivered_loft, head_mass) : spin`, see [`impact::rolling_spin_rpm`].
    ImpactSpin,
    /// `impact_loft(launch, attack_angle, head_mass, restitution) : angle`, see [`impact::loft_from_launch_deg`].
    ImpactLoft,
    /// `ball_speed_at_loft(measured_ball_speed, attack_angle, measured_loft, new_loft, head_mass, restitution) : speed`, see [`impact::ball_speed_after_loft_change_m_s`].
    BallSpeedAtLoft,
    /// `launch_at_loft(measured_launch, attack_angle, measured_loft, new_loft, head_mass, restitution) : angle`, see [`impact::launch_after_loft_change_deg`].
    LaunchAtLoft,
    /// `spin_at_loft(measured_spin, attack_angle, measured_loft, new_loft) : spin`, see [`impact::spin_after_loft_change_rpm`].
    SpinAtLoft,
    /// `club_carry(head_speed, attack_angle, delivered_loft, head_mass, restitution, air_density) : length`, see [`club_carry::club_carry_m`].
    ClubCarry,
    /// `club_landing_angle(head_speed, attack_angle, delivered_loft, head_mass, restitution, air_density) : angle`, see [`club_carry::club_landing_angle_deg`].
    ClubLandingAngle,
    /// `club_spin(head_speed, attack_angle, delivered_loft, head_mass, restitution) : spin`, see [`club_carry::club_strike`].
    ClubSpin,
    /// `calibrated_carry(modelled_carry, loft, first_loft, first_modelled, first_measured, second_loft, second_modelled, second_measured) : length`, see [`club_carry::calibrated_carry_m`].
    CalibratedCarry,
}

impl ModelId {
    /// Every model, in the order of the enumeration.
    pub const ALL: [Self; 17] = [
        Self::SleeveLoft,
        Self::SleeveFace,
        Self::SleeveLie,
        Self::LieErrorFace,
        Self::LieForLength,
        Self::WrapsForDiameter,
        Self::ImpactBallSpeed,
        Self::ImpactLaunch,
        Self::ImpactSpin,
        Self::ImpactLoft,
        Self::BallSpeedAtLoft,
        Self::LaunchAtLoft,
        Self::SpinAtLoft,
        Self::ClubCarry,
        Self::ClubLandingAngle,
        Self::ClubSpin,
        Self::CalibratedCarry,
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
            Self::ImpactBallSpeed => "impact_ball_speed",
            Self::ImpactLaunch => "impact_launch",
            Self::ImpactSpin => "impact_spin",
            Self::ImpactLoft => "impact_loft",
            Self::BallSpeedAtLoft => "ball_speed_at_loft",
            Self::LaunchAtLoft => "launch_at_loft",
            Self::SpinAtLoft => "spin_at_loft",
            Self::ClubCarry => "club_carry",
            Self::ClubLandingAngle => "club_landing_angle",
            Self::ClubSpin => "club_spin",
            Self::CalibratedCarry => "calibrated_carry",
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
            Self::ImpactBallSpeed => &[
                "head_speed",
                "attack_angle",
                "delivered_loft",
                "head_mass",
                "restitution",
            ],
            Self::ImpactLaunch => &["attack_angle", "delivered_loft", "head_mass", "restitution"],
            Self::ImpactSpin => &["head_speed", "attack_angle", "delivered_loft", "head_mass"],
            Self::ImpactLoft => &["launch", "attack_angle", "head_mass", "restitution"],
            Self::BallSpeedAtLoft => &[
                "measured_ball_speed",
                "attack_angle",
                "measured_loft",
                "new_loft",
                "head_mass",
                "restitution",
            ],
            Self::LaunchAtLoft => &[
                "measured_launch",
                "attack_angle",
                "measured_loft",
                "new_loft",
                "head_mass",
                "restitution",
            ],
            Self::SpinAtLoft => &["measured_spin", "attack_angle", "measured_loft", "new_loft"],
            Self::ClubCarry => &[
                "head_speed",
                "attack_angle",
                "delivered_loft",
                "head_mass",
                "restitution",
                "air_density",
            ],
            Self::ClubLandingAngle => &[
                "head_speed",
                "attack_angle",
                "delivered_loft",
                "head_mass",
                "restitution",
                "air_density",
            ],
            Self::ClubSpin => &[
                "head_speed",
                "attack_angle",
                "delivered_loft",
                "head_mass",
                "restitution",
            ],
            Self::CalibratedCarry => &[
                "modelled_carry",
                "loft",
                "first_loft",
                "first_modelled",
                "first_measured",
                "second_loft",
                "second_modelled",
                "second_measured",
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
            Self::ImpactBallSpeed | Self::ImpactLaunch | Self::ImpactSpin | Self::ImpactLoft => {
                "rigid bodies with restitution, rolling ball: Penner 2001"
            }
            Self::BallSpeedAtLoft | Self::LaunchAtLoft | Self::SpinAtLoft => {
                "the measured strike, changed as by rigid bodies with restitution: Penner 2001"
            }
            Self::ClubCarry | Self::ClubLandingAngle | Self::ClubSpin => {
                "strike as Penner 2001 with an estimated share of spin, then the ball's flight"
            }
            Self::CalibratedCarry => "interpolation between two measured carries, no source",
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
            (Self::ImpactBallSpeed, &[speed, attack, loft, mass, restitution]) => {
                impact::ball_speed_m_s(speed, attack, loft, mass, restitution).map(Answer::covered)
            }
            (Self::ImpactLaunch, &[attack, loft, mass, restitution]) => {
                impact::launch_deg(attack, loft, mass, restitution).map(Answer::covered)
            }
            (Self::ImpactSpin, &[speed, attack, loft, mass]) => {
                impact::rolling_spin_rpm(speed, attack, loft, mass).map(spin)
            }
            (Self::ImpactLoft, &[launch, attack, mass, restitution]) => {
                impact::loft_from_launch_deg(launch, attack, mass, restitution).map(Answer::covered)
            }
            (Self::BallSpeedAtLoft, &[measured, attack, loft, new_loft, mass, restitution]) => {
                impact::ball_speed_after_loft_change_m_s(
                    measured,
                    attack,
                    loft,
                    new_loft,
                    mass,
                    restitution,
                )
                .map(Answer::covered)
            }
            (Self::LaunchAtLoft, &[measured, attack, loft, new_loft, mass, restitution]) => {
                impact::launch_after_loft_change_deg(
                    measured,
                    attack,
                    loft,
                    new_loft,
                    mass,
                    restitution,
                )
                .map(Answer::covered)
            }
            (Self::SpinAtLoft, &[measured, attack, loft, new_loft]) => {
                let measured_rpm = measured / DEG_PER_S_OF_1_RPM;
                impact::spin_after_loft_change_rpm(measured_rpm, attack, loft, new_loft).map(spin)
            }
            (Self::ClubCarry, &[speed, attack, loft, mass, restitution, air]) => {
                club_carry::club_carry_m(speed, attack, loft, mass, restitution, air)
            }
            (Self::ClubLandingAngle, &[speed, attack, loft, mass, restitution, air]) => {
                club_carry::club_landing_angle_deg(speed, attack, loft, mass, restitution, air)
            }
            (Self::ClubSpin, &[speed, attack, loft, mass, restitution]) => {
                club_carry::club_strike(speed, attack, loft, mass, restitution)
                    .map(|strike| spin(strike.spin_rpm))
            }
            (
                Self::CalibratedCarry,
                &[
                    carry,
                    loft,
                    loft_1,
                    modelled_1,
                    measured_1,
                    loft_2,
                    modelled_2,
                    measured_2,
                ],
            ) => {
                let anchor = |loft_deg, modelled_m, measured_m| Anchor {
                    loft_deg,
                    modelled_m,
                    measured_m,
                };
                let first = anchor(loft_1, modelled_1, measured_1);
                let second = anchor(loft_2, modelled_2, measured_2);
                club_carry::calibrated_carry_m(carry, loft, first, second).map(Answer::covered)
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
            ModelId::ImpactBallSpeed | ModelId::ClubSpin => vec![44.7, 0.0, 12.0, 0.2, 0.83],
            ModelId::ImpactLaunch => vec![0.0, 12.0, 0.2, 0.83],
            ModelId::ImpactSpin => vec![44.7, 0.0, 12.0, 0.2],
            ModelId::ImpactLoft => vec![9.8, 0.0, 0.2, 0.83],
            ModelId::BallSpeedAtLoft => vec![65.0, 0.0, 12.0, 10.5, 0.2, 0.83],
            ModelId::LaunchAtLoft => vec![11.0, 0.0, 12.0, 10.5, 0.2, 0.83],
            ModelId::SpinAtLoft => vec![15_000.0, 0.0, 12.0, 10.5],
            ModelId::ClubCarry | ModelId::ClubLandingAngle => {
                vec![38.0, -4.0, 28.0, 0.26, 0.78, 1.2]
            }
            ModelId::CalibratedCarry => vec![120.0, 40.0, 32.0, 150.0, 141.0, 46.0, 110.0, 110.0],
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
