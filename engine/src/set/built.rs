//! `assemble`: what a club will weigh, where it will balance and how heavy it will swing, from the
//! pieces that were chosen for it.
//!
//! The physics is in [`crate::assemble`]; here exact numbers become floats and the answers exact
//! numbers again, rounded to what a bench can measure. What the contract does not read of a piece
//! is taken as usual in the trade (*common practice, no source*), by the constants below.

use loftwright_dsl::quantity::Rational;

use crate::assemble::{
    ClubParts, Target, USUAL_HEAD_BALANCE_FROM_END_M, added_weights, assemble,
    head_mass_for_target_kg,
};
use crate::model::OutsideRange;
use crate::model::shaft::{UncutShaft, butt_trim_for_club_length_m};

/// How far the tip of the shaft, bottomed in the head, stays from the end of the club.
/// *Common practice, no source.*
const USUAL_BORE_END_FROM_CLUB_END_M: f64 = 0.03;
/// A grip of 10 1/2 in. *Common practice, no source.*
const USUAL_GRIP_LENGTH_M: f64 = 0.267;
/// A wrap of tape along the whole grip. *Common practice, no source.*
const USUAL_TAPE_MASS_PER_WRAP_KG: f64 = 0.0015;
/// *Common practice, no source.*
const USUAL_FERRULE_MASS_KG: f64 = 0.001;

/// What is known of a club that is to be built, in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ClubToBuild {
    pub(crate) length_m: Rational,
    pub(crate) head_mass_kg: Rational,
    pub(crate) shaft_mass_kg: Rational,
    pub(crate) shaft_length_m: Rational,
    /// From the butt, uncut.
    pub(crate) shaft_balance_m: Rational,
    pub(crate) tip_trim_m: Rational,
    pub(crate) grip_mass_kg: Rational,
    pub(crate) wraps: Rational,
}

/// What a club is matched by, exact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum MatchedBy {
    /// Points above A0.
    SwingweightPoints(Rational),
    /// About the butt.
    MomentKgM2(Rational),
}

/// What the bench does to bring a club to its target, to 0.1 g.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ToTarget {
    /// What is missing at the head; negative where the head is too heavy.
    pub(crate) head_mass_change_kg: Rational,
    /// Into the tip of the shaft.
    pub(crate) tip_weight_kg: Rational,
    /// Onto the head.
    pub(crate) lead_kg: Rational,
}

/// The club as it leaves the bench, exact numbers in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ClubAsBuilt {
    /// To 0.1 g.
    pub(crate) mass_kg: Rational,
    /// From the butt, to 0.1 mm.
    pub(crate) balance_m: Rational,
    /// Points above A0, to 0.1 point.
    pub(crate) swingweight_points: Rational,
    /// About the butt, to 0.1 kg·cm².
    pub(crate) moment_kg_m2: Rational,
    /// The shaft as cut, to 1/16 in.
    pub(crate) shaft_length_m: Rational,
    /// Cut off the shaft's butt, to 1/16 in.
    pub(crate) butt_cut_m: Rational,
}

/// A tenth of a gram, of a millimetre.
const TEN_THOUSANDTH: (i128, i128) = (1, 10_000);
const TENTH_OF_A_POINT: (i128, i128) = (1, 10);
/// As a rule at the bench is marked.
const SIXTEENTH_OF_AN_INCH: (i128, i128) = (127, 80_000);
/// 0.1 kg·cm².
const TENTH_OF_A_KG_CM2: (i128, i128) = (1, 100_000);

impl ClubToBuild {
    fn parts(&self) -> Result<ClubParts, OutsideRange> {
        let length_m = self.length_m.to_f64();
        let shaft_length_m = self.shaft_length_m.to_f64();
        let tip_trim_m = self.tip_trim_m.to_f64();
        let butt_trim_m = butt_trim_for_club_length_m(
            length_m,
            shaft_length_m,
            tip_trim_m,
            USUAL_BORE_END_FROM_CLUB_END_M,
        )?;
        Ok(ClubParts {
            head_mass_kg: self.head_mass_kg.to_f64(),
            head_balance_from_end_m: USUAL_HEAD_BALANCE_FROM_END_M,
            club_length_m: length_m,
            shaft: UncutShaft {
                mass_kg: self.shaft_mass_kg.to_f64(),
                length_m: shaft_length_m,
                balance_fraction_from_butt: self.shaft_balance_m.to_f64() / shaft_length_m,
            },
            tip_trim_m,
            butt_trim_m,
            grip_mass_kg: self.grip_mass_kg.to_f64(),
            grip_length_m: USUAL_GRIP_LENGTH_M,
            tape_wraps: self.wraps.to_f64(),
            tape_mass_per_wrap_kg: USUAL_TAPE_MASS_PER_WRAP_KG,
            ferrule_mass_kg: USUAL_FERRULE_MASS_KG,
            tip_weight_kg: 0.0,
            lead_mass_kg: 0.0,
        })
    }

    /// The club that the pieces make.
    ///
    /// # Errors
    /// A sentence in lower case: what cannot be, such as a shaft that is too short.
    pub(crate) fn build(&self) -> Result<ClubAsBuilt, String> {
        let parts = self.parts().map_err(|beyond| beyond.to_string())?;
        let built = assemble(&parts).map_err(|beyond| beyond.to_string())?;
        Ok(ClubAsBuilt {
            mass_kg: exact(built.mass_kg, TEN_THOUSANDTH)?,
            balance_m: exact(built.balance_from_butt_m, TEN_THOUSANDTH)?,
            swingweight_points: exact(built.swingweight_points, TENTH_OF_A_POINT)?,
            moment_kg_m2: exact(built.moment_about_butt_kg_m2, TENTH_OF_A_KG_CM2)?,
            shaft_length_m: exact(built.shaft_cut_length_m, SIXTEENTH_OF_AN_INCH)?,
            butt_cut_m: exact(parts.butt_trim_m, SIXTEENTH_OF_AN_INCH)?,
        })
    }

    /// What brings the club to its target, with at most so much in the tip of the shaft.
    ///
    /// # Errors
    /// A sentence in lower case.
    pub(crate) fn work_for_target(
        &self,
        target: MatchedBy,
        most_tip_weight_kg: Rational,
    ) -> Result<ToTarget, String> {
        let target = match target {
            MatchedBy::SwingweightPoints(points) => Target::SwingweightPoints(points.to_f64()),
            MatchedBy::MomentKgM2(moment) => Target::MomentAboutButtKgM2(moment.to_f64()),
        };
        let said = |beyond: OutsideRange| beyond.to_string();
        let parts = self.parts().map_err(said)?;
        let wanted_kg = head_mass_for_target_kg(&parts, target).map_err(said)?;
        let added = added_weights(&parts, target, most_tip_weight_kg.to_f64()).map_err(said)?;
        Ok(ToTarget {
            head_mass_change_kg: exact(wanted_kg - parts.head_mass_kg, TEN_THOUSANDTH)?,
            tip_weight_kg: exact(added.tip_weight_kg, TEN_THOUSANDTH)?,
            lead_kg: exact(added.lead_kg, TEN_THOUSANDTH)?,
        })
    }
}

fn exact(value: f64, (numerator, denominator): (i128, i128)) -> Result<Rational, String> {
    Rational::fraction(numerator, denominator)
        .ok()
        .and_then(|resolution| Rational::from_f64(value, resolution))
        .ok_or_else(|| "the answer is no number".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thousandths(value: i128) -> Rational {
        Rational::fraction(value, 1000).unwrap()
    }

    fn club() -> ClubToBuild {
        ClubToBuild {
            length_m: thousandths(1143),
            head_mass_kg: thousandths(200),
            shaft_mass_kg: thousandths(65),
            shaft_length_m: thousandths(1168),
            shaft_balance_m: thousandths(570),
            tip_trim_m: Rational::ZERO,
            grip_mass_kg: thousandths(50),
            wraps: Rational::ONE,
        }
    }

    /// By conservation: the pieces' masses add up, less what is cut off the butt (55 mm of a 65 g
    /// shaft of 1168 mm weigh about 3 g).
    #[test]
    fn the_mass_is_the_sum_of_the_pieces() {
        let mass_g = club().build().unwrap().mass_kg.to_f64() * 1000.0;
        let pieces_g = 200.0 + 65.0 + 50.0 + 1.5 + 1.0;
        assert!(
            (pieces_g - 4.0..pieces_g - 2.0).contains(&mass_g),
            "{mass_g}"
        );
    }

    /// A head that is as heavy as asked for brings the club to its target.
    #[test]
    fn the_change_of_the_head_reaches_the_target() {
        let target = Rational::whole(32);
        let matched = MatchedBy::SwingweightPoints(target);
        let to_target = club().work_for_target(matched, Rational::ZERO).unwrap();
        // Without a weight in the tip, lead at the head is all there is.
        assert_eq!(to_target.lead_kg, to_target.head_mass_change_kg);
        let change = to_target.head_mass_change_kg;
        let head_mass_kg = club().head_mass_kg.plus(change).unwrap();
        let reached = ClubToBuild {
            head_mass_kg,
            ..club()
        }
        .build()
        .unwrap()
        .swingweight_points;
        assert!(
            reached.minus(target).unwrap().size() <= thousandths(100),
            "{reached}"
        );
    }

    /// What is cut at the tip is not cut at the butt: the club stays as long.
    #[test]
    fn both_cuts_leave_the_shaft_that_the_length_wants() {
        let trimmed = ClubToBuild {
            tip_trim_m: thousandths(13),
            ..club()
        };
        let (plain, trimmed) = (club().build().unwrap(), trimmed.build().unwrap());
        let is_near = |cut: Rational, wanted_mm: i128| {
            let off = cut.minus(thousandths(wanted_mm)).unwrap().size();
            assert!(off.to_f64() <= 0.0254 / 32.0, "{cut} and {wanted_mm} mm");
        };
        // 1.143 m of club, 0.03 m of it head beyond the shaft's end.
        is_near(plain.shaft_length_m, 1113);
        is_near(trimmed.shaft_length_m, 1113);
        is_near(plain.butt_cut_m, 1168 - 1113);
        is_near(trimmed.butt_cut_m, 1168 - 1113 - 13);
    }

    #[test]
    fn a_shaft_that_is_too_short_is_named() {
        let short = ClubToBuild {
            shaft_length_m: thousandths(1000),
            ..club()
        };
        let short = ClubToBuild {
            shaft_balance_m: thousandths(500),
            ..short
        };
        assert!(short.build().unwrap_err().contains("butt_trim"));
    }
}
