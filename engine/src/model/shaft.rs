//! A shaft before and after it is cut: a rod that gets lighter, or heavier, evenly along its
//! length.
//!
//! A shaft is not uniform; what a workshop knows of it is its mass, its length and where it
//! balances uncut. The simplest rod that agrees with all three has a mass per length that changes
//! linearly from butt to tip:
//!
//! ```text
//! μ(x) = (m / L) · (1 + k (2x / L − 1)),   balance at L (1/2 + k/6),   so k = 6f − 3
//! ```
//!
//! with f the balance point as a fraction of the length from the butt. Mass is nowhere negative for
//! f from 1/3 to 2/3, which holds every shaft (*common practice, no source*: a little on the butt's
//! side of the middle, or a little on the tip's for a shaft balanced low). What is cut off and what
//! remains follow by integration, exactly. That the change is linear is the approximation; a
//! stepped or locally thickened tip loses a little differently from what is said here.

use super::club::Component;
use super::outside_range::{OutsideRange, Range};

const MASS: Range = Range::kilograms("shaft_mass", 0.005, 1.0);
const LENGTH: Range = Range::metres("shaft_length", 0.2, 2.0);
const BALANCE: Range = Range {
    argument: "shaft_balance_fraction",
    unit: "",
    least: 1.0 / 3.0,
    most: 2.0 / 3.0,
};

/// The least that must be left of a shaft.
const SHORTEST_CUT_M: f64 = 0.1;

/// A shaft as it comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UncutShaft {
    /// Mass before cutting, 0.005 to 1 kg.
    pub mass_kg: f64,
    /// Length before cutting, 0.2 to 2 m.
    pub length_m: f64,
    /// Distance of the balance point from the butt, before cutting, over the length: 1/3 to 2/3. A
    /// uniform shaft has 0.5.
    pub balance_fraction_from_butt: f64,
}

/// A shaft as it stands in the club.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutShaft {
    /// What is left of its length, in metres.
    pub length_m: f64,
    /// Its mass and balance, from the butt as cut.
    pub component: Component,
}

impl UncutShaft {
    /// The shaft with these lengths cut off its tip and its butt, both 0 m or more; at least 0.1 m
    /// must be left.
    ///
    /// # Errors
    /// A figure of the shaft or a cut beyond its range, or no number.
    pub fn cut(&self, tip_trim_m: f64, butt_trim_m: f64) -> Result<CutShaft, OutsideRange> {
        let mass_kg = MASS.check(self.mass_kg)?;
        let length_m = LENGTH.check(self.length_m)?;
        let fraction = BALANCE.check(self.balance_fraction_from_butt)?;
        let most_m = length_m - SHORTEST_CUT_M;
        let tip_trim_m = Range::metres("tip_trim", 0.0, most_m).check(tip_trim_m)?;
        let most_m = most_m - tip_trim_m;
        let butt_trim_m = Range::metres("butt_trim", 0.0, most_m).check(butt_trim_m)?;

        let start_m = butt_trim_m;
        let end_m = length_m - tip_trim_m;
        let slope = 6.0 * fraction - 3.0;
        // μ(x) = constant + rising · x.
        let constant = mass_kg / length_m * (1.0 - slope);
        let rising = mass_kg / length_m * (2.0 * slope / length_m);
        let [first, second, third, fourth] = power_differences(start_m, end_m);
        let left_kg = constant * first + rising * second / 2.0;
        let first_moment = constant * second / 2.0 + rising * third / 3.0;
        let second_moment = constant * third / 3.0 + rising * fourth / 4.0;
        let balance_m = first_moment / left_kg;
        let own_moment = second_moment - left_kg * balance_m * balance_m;
        Ok(CutShaft {
            length_m: end_m - start_m,
            component: Component::from_checked(left_kg, balance_m - start_m, own_moment),
        })
    }
}

/// b − a, b² − a², b³ − a³, b⁴ − a⁴.
fn power_differences(start: f64, end: f64) -> [f64; 4] {
    let start_squared = start * start;
    let end_squared = end * end;
    [
        end - start,
        end_squared - start_squared,
        end_squared * end - start_squared * start,
        end_squared * end_squared - start_squared * start_squared,
    ]
}

/// What to cut off the butt so that the club comes out at its length, in metres; negative where the
/// shaft is too short for that club.
///
/// `bore_end_from_club_end_m` is how far the tip of the shaft, bottomed in the head, stays from the
/// end of the club: 0 to 0.15 m. The other lengths 0 to 2 m. By subtraction; the grip's cap is left
/// out.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn butt_trim_for_club_length_m(
    club_length_m: f64,
    shaft_length_m: f64,
    tip_trim_m: f64,
    bore_end_from_club_end_m: f64,
) -> Result<f64, OutsideRange> {
    let club_length_m = Range::metres("club_length", 0.0, 2.0).check(club_length_m)?;
    let shaft_length_m = LENGTH.check(shaft_length_m)?;
    let tip_trim_m = Range::metres("tip_trim", 0.0, 2.0).check(tip_trim_m)?;
    let bore_m =
        Range::metres("bore_end_from_club_end", 0.0, 0.15).check(bore_end_from_club_end_m)?;
    Ok(shaft_length_m - tip_trim_m - (club_length_m - bore_m))
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close};
    use super::*;

    const SHAFT: UncutShaft = UncutShaft {
        mass_kg: 0.065,
        length_m: 1.168,
        balance_fraction_from_butt: 0.48,
    };

    #[test]
    fn uncut_it_is_what_was_bought() {
        for fraction in [1.0 / 3.0, 0.45, 0.5, 0.55, 2.0 / 3.0] {
            let shaft = UncutShaft {
                balance_fraction_from_butt: fraction,
                ..SHAFT
            };
            let cut = shaft.cut(0.0, 0.0).unwrap();
            assert_close(cut.component.mass_kg(), 0.065, 1e-15);
            assert_close(cut.component.balance_from_butt_m(), fraction * 1.168, 1e-14);
            // Closed form of the same rod: I about the butt is m L² (f − 1/6).
            let moment = 0.065 * 1.168 * 1.168 * (fraction - 1.0 / 6.0);
            assert_close(cut.component.moment_about_butt_kg_m2(), moment, 1e-15);
        }
    }

    #[test]
    fn a_uniform_shaft_stays_a_uniform_rod_however_it_is_cut() {
        let shaft = UncutShaft {
            balance_fraction_from_butt: 0.5,
            ..SHAFT
        };
        let cut = shaft.cut(0.05, 0.10).unwrap();
        let rod = Component::uniform_rod(0.065 * 1.018 / 1.168, 0.0, 1.018).unwrap();
        assert_close(cut.length_m, 1.018, 1e-15);
        assert_close(cut.component.mass_kg(), rod.mass_kg(), 1e-15);
        assert_close(cut.component.balance_from_butt_m(), 0.509, 1e-14);
        let moment = cut.component.moment_about_butt_kg_m2();
        assert_close(moment, rod.moment_about_butt_kg_m2(), 1e-15);
    }

    #[test]
    fn cut_it_agrees_with_brute_force() {
        let (tip_trim_m, butt_trim_m) = (0.038, 0.047);
        let cut = SHAFT.cut(tip_trim_m, butt_trim_m).unwrap();
        let slices = 20_000;
        let step_m = cut.length_m / f64::from(slices);
        let (mut mass, mut first, mut second) = (0.0, 0.0, 0.0);
        for slice in 0..slices {
            let from_butt_m = (f64::from(slice) + 0.5) * step_m;
            let uncut_m = butt_trim_m + from_butt_m;
            let density =
                0.065 / 1.168 * (1.0 + (6.0 * 0.48 - 3.0) * (2.0 * uncut_m / 1.168 - 1.0));
            mass += density * step_m;
            first += density * step_m * from_butt_m;
            second += density * step_m * from_butt_m * from_butt_m;
        }
        assert_close(cut.component.mass_kg() / mass, 1.0, 1e-8);
        assert_close(
            cut.component.balance_from_butt_m() / (first / mass),
            1.0,
            1e-8,
        );
        assert_close(cut.component.moment_about_butt_kg_m2() / second, 1.0, 1e-8);
    }

    #[test]
    fn the_butt_trim_makes_the_club_as_long_as_asked() {
        let trim_m = butt_trim_for_club_length_m(1.13, 1.168, 0.013, 0.03).unwrap();
        // 1.168 − 0.013 − 0.055 = 1.100 of shaft, and 0.030 of head beyond it.
        assert_close(trim_m, 0.055, 1e-15);
        assert!(butt_trim_for_club_length_m(1.22, 1.168, 0.0, 0.03).unwrap() < 0.0);
    }

    #[test]
    fn what_cannot_be_is_named() {
        let refused = |shaft: UncutShaft, tip, butt| shaft.cut(tip, butt).unwrap_err().argument;
        assert_eq!(
            refused(
                UncutShaft {
                    mass_kg: 0.0,
                    ..SHAFT
                },
                0.0,
                0.0
            ),
            "shaft_mass"
        );
        assert_eq!(
            refused(
                UncutShaft {
                    length_m: f64::NAN,
                    ..SHAFT
                },
                0.0,
                0.0
            ),
            "shaft_length"
        );
        let balanced_badly = UncutShaft {
            balance_fraction_from_butt: 0.7,
            ..SHAFT
        };
        assert_eq!(refused(balanced_badly, 0.0, 0.0), "shaft_balance_fraction");
        assert_eq!(refused(SHAFT, -0.01, 0.0), "tip_trim");
        assert_eq!(refused(SHAFT, 0.6, 0.6), "butt_trim");
    }

    /// Guards that debug and release agree on every machine; the closed form says it is right.
    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        let cut = SHAFT.cut(0.0254, 0.0508).unwrap();
        // Independent: the mean density of the piece times its length.
        let middle_m = (0.0508 + 1.168 - 0.0254) / 2.0;
        let density = 0.065 / 1.168 * (1.0 - 0.12 * (2.0 * middle_m / 1.168 - 1.0));
        assert_close(cut.component.mass_kg(), density * (1.168 - 0.0762), 1e-12);
        assert_bits(cut.component.mass_kg(), GOLDEN[0]);
        assert_bits(cut.component.balance_from_butt_m(), GOLDEN[1]);
    }

    /// Bits of the mass and balance point of the cut shaft.
    const GOLDEN: [u64; 2] = [0x3faf_0713_759b_f831, 0x3fe0_d05d_6ad7_16bb];
}
