//! Grip build-up: how thick a grip sits over its tape, and how many wraps make it as thick as
//! wanted.
//!
//! diameter over tape = butt + 2 × tape thickness × wraps − core + nominal: a grip whose core is as
//! wide as the butt comes out at its nominal diameter, and every wrap adds its own thickness on
//! both sides. That the rubber stretches without thinning is the assumption (*common practice, no
//! source*); the trade's check is the calliper. The diameter that a hand wants is the rules'
//! affair.
//!
//! Diameters 0.005 to 0.1 m, all measured at the same place (the trade measures 2 in below the
//! cap); tape thickness 0.000001 to 0.002 m; wraps −100 to 100.

use super::outside_range::{OutsideRange, Range};

const DIAMETER_LEAST_M: f64 = 0.005;
const DIAMETER_MOST_M: f64 = 0.1;
const TAPE_THICKNESS: Range = Range::metres("tape_thickness", 0.000_001, 0.002);
const WRAPS: Range = Range {
    argument: "wraps",
    unit: "",
    least: -100.0,
    most: 100.0,
};

const fn diameter(argument: &'static str) -> Range {
    Range::metres(argument, DIAMETER_LEAST_M, DIAMETER_MOST_M)
}

/// The diameter in metres of a grip over this many wraps of tape.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn diameter_over_tape_m(
    wraps: f64,
    butt_diameter_m: f64,
    core_diameter_m: f64,
    nominal_diameter_m: f64,
    tape_thickness_m: f64,
) -> Result<f64, OutsideRange> {
    let wraps = WRAPS.check(wraps)?;
    let butt_m = diameter("butt_diameter").check(butt_diameter_m)?;
    let core_m = diameter("core_diameter").check(core_diameter_m)?;
    let nominal_m = diameter("nominal_diameter").check(nominal_diameter_m)?;
    let tape_m = TAPE_THICKNESS.check(tape_thickness_m)?;
    Ok(butt_m + 2.0 * tape_m * wraps - core_m + nominal_m)
}

/// The wraps of tape, not yet whole, that bring a grip to a diameter. Negative where the bare grip
/// is thicker already: no tape makes it thinner, and the caller says so.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn wraps_for_diameter(
    target_diameter_m: f64,
    butt_diameter_m: f64,
    core_diameter_m: f64,
    nominal_diameter_m: f64,
    tape_thickness_m: f64,
) -> Result<f64, OutsideRange> {
    let target_m = diameter("target_diameter").check(target_diameter_m)?;
    let butt_m = diameter("butt_diameter").check(butt_diameter_m)?;
    let core_m = diameter("core_diameter").check(core_diameter_m)?;
    let nominal_m = diameter("nominal_diameter").check(nominal_diameter_m)?;
    let tape_m = TAPE_THICKNESS.check(tape_thickness_m)?;
    Ok((target_m - butt_m + core_m - nominal_m) / (2.0 * tape_m))
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close};
    use super::*;

    #[test]
    fn a_core_as_wide_as_the_butt_comes_out_nominal() {
        let diameter_m = diameter_over_tape_m(0.0, 0.0152, 0.0152, 0.0234, 0.000_1).unwrap();
        assert_close(diameter_m, 0.0234, 1e-15);
    }

    #[test]
    fn a_wider_butt_and_two_wraps_by_hand() {
        // 15.7 mm butt in a 15.2 mm core: + 0.5 mm; two wraps of 0.1 mm: + 0.4 mm; 23.4 → 24.3 mm.
        let diameter_m = diameter_over_tape_m(2.0, 0.0157, 0.0152, 0.0234, 0.000_1).unwrap();
        assert_close(diameter_m, 0.0243, 1e-15);
        let wraps = wraps_for_diameter(0.0243, 0.0157, 0.0152, 0.0234, 0.000_1).unwrap();
        assert_close(wraps, 2.0, 1e-10);
    }

    #[test]
    fn the_wraps_found_give_the_diameter_asked_for() {
        for step in 0..40 {
            let target_m = 0.022 + f64::from(step) * 0.000_1;
            let wraps = wraps_for_diameter(target_m, 0.015, 0.0147, 0.0231, 0.000_11).unwrap();
            let reached_m = diameter_over_tape_m(wraps, 0.015, 0.0147, 0.0231, 0.000_11).unwrap();
            assert_close(reached_m, target_m, 1e-15);
        }
    }

    #[test]
    fn a_grip_already_too_thick_asks_for_less_than_no_tape() {
        assert!(wraps_for_diameter(0.022, 0.0152, 0.0152, 0.0234, 0.000_1).unwrap() < 0.0);
    }

    #[test]
    fn what_cannot_be_is_named() {
        let refused = |target, butt, core, nominal, tape| {
            wraps_for_diameter(target, butt, core, nominal, tape)
                .unwrap_err()
                .argument
        };
        assert_eq!(
            refused(f64::NAN, 0.015, 0.015, 0.023, 0.000_1),
            "target_diameter"
        );
        assert_eq!(refused(0.023, 15.0, 0.015, 0.023, 0.000_1), "butt_diameter");
        assert_eq!(
            refused(0.023, 0.015, -0.015, 0.023, 0.000_1),
            "core_diameter"
        );
        assert_eq!(
            refused(0.023, 0.015, 0.015, f64::INFINITY, 0.000_1),
            "nominal_diameter"
        );
        assert_eq!(refused(0.023, 0.015, 0.015, 0.023, 0.0), "tape_thickness");
        let refusal = diameter_over_tape_m(f64::NAN, 0.015, 0.015, 0.023, 0.000_1).unwrap_err();
        assert_eq!(refusal.argument, "wraps");
    }

    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        let wraps = wraps_for_diameter(0.0241, 0.0154, 0.0147, 0.0231, 0.000_12).unwrap();
        // Independent, in micrometres: 24100 − 15400 + 14700 − 23100 = 300; over 240.
        assert_close(wraps, 300.0 / 240.0, 1e-12);
        assert_bits(wraps, GOLDEN_WRAPS);
    }

    const GOLDEN_WRAPS: u64 = 0x3ff3_ffff_ffff_ffde;
}
