//! `assemble`: what a club will weigh, where it will balance and how heavy it will swing, from the
//! pieces that were chosen for it.
//!
//! The physics is in [`crate::assemble`]; here exact numbers become floats and the answers exact
//! numbers again, rounded to what a bench can measure. What the contract does not read of a piece
//! is taken as usual in the trade (*common practice, no source*), by the constants below.

use loftwright_dsl::quantity::Rational;

use crate::assemble::{
    ClubParts, USUAL_HEAD_BALANCE_FROM_END_M, assemble, head_mass_for_swingweight_kg,
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
    pub(crate) grip_mass_kg: Rational,
    pub(crate) wraps: Rational,
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
}

/// A tenth of a gram, of a millimetre.
const TEN_THOUSANDTH: (i128, i128) = (1, 10_000);
const TENTH_OF_A_POINT: (i128, i128) = (1, 10);
/// 0.1 kg·cm².
const TENTH_OF_A_KG_CM2: (i128, i128) = (1, 100_000);

impl ClubToBuild {
    fn parts(&self) -> Result<ClubParts, OutsideRange> {
        let length_m = self.length_m.to_f64();
        let shaft_length_m = self.shaft_length_m.to_f64();
        let butt_trim_m = butt_trim_for_club_length_m(
            length_m,
            shaft_length_m,
            0.0,
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
            tip_trim_m: 0.0,
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
        let built = self.parts().and_then(|parts| assemble(&parts));
        let built = built.map_err(|beyond| beyond.to_string())?;
        Ok(ClubAsBuilt {
            mass_kg: exact(built.mass_kg, TEN_THOUSANDTH)?,
            balance_m: exact(built.balance_from_butt_m, TEN_THOUSANDTH)?,
            swingweight_points: exact(built.swingweight_points, TENTH_OF_A_POINT)?,
            moment_kg_m2: exact(built.moment_about_butt_kg_m2, TENTH_OF_A_KG_CM2)?,
        })
    }

    /// The mass to be added at the head (negative: it is too heavy) for a target in points above
    /// A0, in kilograms to 0.1 g.
    ///
    /// # Errors
    /// A sentence in lower case.
    pub(crate) fn head_mass_change_kg(&self, target_points: Rational) -> Result<Rational, String> {
        let wanted = self
            .parts()
            .and_then(|parts| head_mass_for_swingweight_kg(&parts, target_points.to_f64()));
        let wanted_kg = wanted.map_err(|beyond| beyond.to_string())?;
        exact(wanted_kg - self.head_mass_kg.to_f64(), TEN_THOUSANDTH)
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
        let change = club().head_mass_change_kg(target).unwrap();
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
