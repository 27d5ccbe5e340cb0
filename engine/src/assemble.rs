//! A club from its parts: what it will weigh, where it will balance, how heavy it will swing.
//!
//! Everything is laid along the shaft from the butt (0) to the end of the club: the grip and the
//! tape under it as uniform rods from the butt, the shaft as cut, the ferrule a little above the
//! end, a weight in the tip at the shaft's end, and the head with the lead on it at the head's
//! balance point. The thickness of the grip's cap and the epoxy are left out (a gram or two).
//! Places that nobody measures are named constants below, *common practice, no source*; what they
//! are worth is said beside them.

use crate::model::club::{ClubBody, Component};
use crate::model::reverse::{mass_for_moment_kg, mass_for_swingweight_kg};
use crate::model::shaft::{CutShaft, UncutShaft};
use crate::model::{OutsideRange, Range};

/// How far the head's balance point usually stays from the end of the club, along the shaft. A
/// centimetre more makes a driver about 1.6 points lighter.
pub const USUAL_HEAD_BALANCE_FROM_END_M: f64 = 0.02;
/// How far a ferrule sits from the end of the club. At a gram, a centimetre is 0.01 of a point.
pub const FERRULE_FROM_END_M: f64 = 0.06;
/// No head lets the shaft end further than this from the end of the club.
const MOST_SHAFT_END_FROM_CLUB_END_M: f64 = 0.15;

const CLUB_LENGTH: Range = Range::metres("club_length", 0.4, 1.5);
const HEAD_MASS: Range = Range::kilograms("head_mass", 0.01, 2.0);
const HEAD_BALANCE: Range = Range::metres("head_balance_from_end", 0.0, 0.15);
const GRIP_MASS: Range = Range::kilograms("grip_mass", 0.0, 0.5);
const TAPE_WRAPS: Range = Range {
    argument: "tape_wraps",
    unit: "",
    least: 0.0,
    most: 100.0,
};
const TAPE_MASS: Range = Range::kilograms("tape_mass_per_wrap", 0.0, 0.05);
const FERRULE_MASS: Range = Range::kilograms("ferrule_mass", 0.0, 0.1);
const TIP_WEIGHT: Range = Range::kilograms("tip_weight", 0.0, 0.5);
const LEAD_MASS: Range = Range::kilograms("lead_mass", 0.0, 0.5);

/// What goes into a club. Every mass in kilograms, every length in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClubParts {
    /// The head, 0.01 to 2 kg; ignored where the head's mass is what is asked for.
    pub head_mass_kg: f64,
    /// From the end of the club to the head's balance point along the shaft, 0 to 0.15 m;
    /// [`USUAL_HEAD_BALANCE_FROM_END_M`] where nobody has measured it.
    pub head_balance_from_end_m: f64,
    /// From the butt to the end of the club as clubs are measured, 0.4 to 1.5 m.
    pub club_length_m: f64,
    /// The shaft as it comes.
    pub shaft: UncutShaft,
    /// Cut off the shaft's tip, 0 m or more.
    pub tip_trim_m: f64,
    /// Cut off the shaft's butt, 0 m or more;
    /// [`crate::model::shaft::butt_trim_for_club_length_m`] finds it.
    pub butt_trim_m: f64,
    /// The grip, 0 to 0.5 kg.
    pub grip_mass_kg: f64,
    /// Length of the grip, from 0.05 m to the length of the shaft as cut.
    pub grip_length_m: f64,
    /// Wraps of tape under the grip along its whole length, 0 to 100, parts of a wrap allowed.
    pub tape_wraps: f64,
    /// What one wrap weighs, 0 to 0.05 kg.
    pub tape_mass_per_wrap_kg: f64,
    /// The ferrule, 0 to 0.1 kg.
    pub ferrule_mass_kg: f64,
    /// A weight in the tip of the shaft, 0 to 0.5 kg.
    pub tip_weight_kg: f64,
    /// Lead on the head, 0 to 0.5 kg.
    pub lead_mass_kg: f64,
}

/// The club that the parts make.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BuiltClub {
    /// In kilograms.
    pub mass_kg: f64,
    /// In metres.
    pub balance_from_butt_m: f64,
    /// In kg·m², for an axis across the shaft at the butt.
    pub moment_about_butt_kg_m2: f64,
    /// In points above A0; D2 is 32.
    pub swingweight_points: f64,
    /// The shaft as cut, in metres.
    pub shaft_cut_length_m: f64,
    /// The shaft as cut, in kilograms.
    pub shaft_cut_mass_kg: f64,
}

/// The club that these parts make.
///
/// # Errors
/// The first figure beyond its range, or no number; a shaft that after cutting sticks out of the
/// end of the club or stays too far from it (`shaft_cut_length`).
pub fn assemble(parts: &ClubParts) -> Result<BuiltClub, OutsideRange> {
    let layout = Layout::of(parts)?;
    let club = layout.with_head(parts.head_mass_kg)?;
    Ok(BuiltClub {
        mass_kg: club.mass_kg(),
        balance_from_butt_m: club.balance_from_butt_m(),
        moment_about_butt_kg_m2: club.moment_about_butt_kg_m2(),
        swingweight_points: club.swingweight_points(),
        shaft_cut_length_m: layout.shaft.length_m,
        shaft_cut_mass_kg: layout.shaft.component.mass_kg(),
    })
}

/// What a club is matched by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// A swingweight, in points above A0 (D2 is 32).
    SwingweightPoints(f64),
    /// A moment of inertia about the butt, in kg·m².
    MomentAboutButtKgM2(f64),
}

impl Target {
    /// The mass at a distance from the butt that brings the rest of a club to the target. Closed
    /// form, see [`crate::model::reverse`].
    fn mass_kg(self, rest: &ClubBody, from_butt_m: f64) -> Result<f64, OutsideRange> {
        match self {
            Target::SwingweightPoints(points) => mass_for_swingweight_kg(rest, from_butt_m, points),
            Target::MomentAboutButtKgM2(moment) => mass_for_moment_kg(rest, from_butt_m, moment),
        }
    }

    /// Whether a club is on its target, or beyond.
    fn is_reached(self, club: &ClubBody) -> bool {
        match self {
            Target::SwingweightPoints(points) => club.swingweight_points() >= points,
            Target::MomentAboutButtKgM2(moment) => club.moment_about_butt_kg_m2() >= moment,
        }
    }
}

/// The head mass in kilograms that brings the club to its target; the head mass in `parts` is
/// ignored.
///
/// # Errors
/// As [`assemble`]; and a target that the club exceeds without any head.
pub fn head_mass_for_target_kg(parts: &ClubParts, target: Target) -> Result<f64, OutsideRange> {
    let layout = Layout::of(parts)?;
    let rest = ClubBody::from_components(&layout.components)?;
    target.mass_kg(&rest, layout.head_from_butt_m)
}

/// What the bench adds to a club to bring it to its target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AddedWeights {
    /// In the tip of the shaft, in kilograms.
    pub tip_weight_kg: f64,
    /// On the head, in kilograms.
    pub lead_kg: f64,
}

/// The weights that bring the club with this head to its target: in the tip as much as it takes, at
/// most `most_tip_weight_kg` (0 to 0.5 kg), the rest as lead on the head. Neither where the club is
/// there without, or beyond: a lighter head, a heavier grip or a shorter club is wanted then. Tip
/// weight and lead in `parts` are ignored.
///
/// # Errors
/// As [`assemble`]; a most beyond its range.
pub fn added_weights(
    parts: &ClubParts,
    target: Target,
    most_tip_weight_kg: f64,
) -> Result<AddedWeights, OutsideRange> {
    let most_kg = TIP_WEIGHT.check(most_tip_weight_kg)?;
    let with_tip = |tip_weight_kg| {
        let parts = ClubParts {
            tip_weight_kg,
            lead_mass_kg: 0.0,
            ..*parts
        };
        let layout = Layout::of(&parts)?;
        Ok((layout.with_head(parts.head_mass_kg)?, layout))
    };
    let (bare, layout) = with_tip(0.0)?;
    if target.is_reached(&bare) {
        return Ok(AddedWeights {
            tip_weight_kg: 0.0,
            lead_kg: 0.0,
        });
    }
    let tip_weight_kg = target.mass_kg(&bare, layout.shaft.length_m)?.min(most_kg);
    let (weighted, layout) = with_tip(tip_weight_kg)?;
    let lead_kg = if target.is_reached(&weighted) || tip_weight_kg < most_kg {
        0.0
    } else {
        target.mass_kg(&weighted, layout.head_from_butt_m)?
    };
    Ok(AddedWeights {
        tip_weight_kg,
        lead_kg,
    })
}

/// Everything but the head in its place, and the place where the head goes.
struct Layout {
    shaft: CutShaft,
    /// Shaft, grip, tape, ferrule, lead, tip weight.
    components: [Component; 6],
    head_from_butt_m: f64,
}

impl Layout {
    fn of(parts: &ClubParts) -> Result<Self, OutsideRange> {
        let club_length_m = CLUB_LENGTH.check(parts.club_length_m)?;
        let head_balance_m = HEAD_BALANCE.check(parts.head_balance_from_end_m)?;
        let shaft = parts.shaft.cut(parts.tip_trim_m, parts.butt_trim_m)?;
        let shortest_m = club_length_m - MOST_SHAFT_END_FROM_CLUB_END_M;
        Range::metres("shaft_cut_length", shortest_m, club_length_m).check(shaft.length_m)?;
        let grip_length = Range::metres("grip_length", 0.05, shaft.length_m);
        let grip_length_m = grip_length.check(parts.grip_length_m)?;
        let grip_kg = GRIP_MASS.check(parts.grip_mass_kg)?;
        let tape_kg =
            TAPE_WRAPS.check(parts.tape_wraps)? * TAPE_MASS.check(parts.tape_mass_per_wrap_kg)?;
        let head_from_butt_m = club_length_m - head_balance_m;
        let ferrule_from_butt_m = club_length_m - FERRULE_FROM_END_M;
        let components = [
            shaft.component,
            Component::uniform_rod(grip_kg, 0.0, grip_length_m)?,
            Component::uniform_rod(tape_kg, 0.0, grip_length_m)?,
            Component::point(
                FERRULE_MASS.check(parts.ferrule_mass_kg)?,
                ferrule_from_butt_m,
            )?,
            Component::point(LEAD_MASS.check(parts.lead_mass_kg)?, head_from_butt_m)?,
            Component::point(TIP_WEIGHT.check(parts.tip_weight_kg)?, shaft.length_m)?,
        ];
        Ok(Self {
            shaft,
            components,
            head_from_butt_m,
        })
    }

    /// The whole club.
    fn with_head(&self, head_mass_kg: f64) -> Result<ClubBody, OutsideRange> {
        let head = Component::point(HEAD_MASS.check(head_mass_kg)?, self.head_from_butt_m)?;
        let [shaft, grip, tape, ferrule, lead, tip] = self.components;
        ClubBody::from_components(&[shaft, grip, tape, ferrule, lead, tip, head])
    }
}

#[cfg(test)]
#[path = "assemble_tests.rs"]
mod tests;
