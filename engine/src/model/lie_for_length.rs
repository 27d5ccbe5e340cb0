//! The lie that a longer or shorter club needs, the hands staying at one height.
//!
//! With the hands at height h and the club of length L from hands to ground, sin(lie) = h / L, so
//! sin(new lie) = sin(lie) · L / L'. Source: trigonometry of the right triangle; that the hands
//! keep their height is the assumption (*common practice, no source*). Meant for changes of an inch
//! or two; over more the player stands differently.

use super::math::{asin_deg, sin_deg};
use super::outside_range::{OutsideRange, Range};

const LIE: Range = Range::degrees("lie", 1.0, 90.0);
const LENGTH: Range = Range::metres("length", 0.1, 2.0);
const NEW_LENGTH: Range = Range::metres("new_length", 0.1, 2.0);

/// The lie, in degrees, at which a club of `new_length_m` puts the hands where a club of `length_m`
/// at `lie_deg` put them.
///
/// Lie 1 to 90 degrees, both lengths 0.1 to 2 m.
///
/// # Errors
/// An argument beyond its range, or no number; and a new length shorter than the hands are high,
/// which no lie can serve: the least length that could is then in the answer.
pub fn lie_for_length_deg(
    lie_deg: f64,
    length_m: f64,
    new_length_m: f64,
) -> Result<f64, OutsideRange> {
    let lie_deg = LIE.check(lie_deg)?;
    let length_m = LENGTH.check(length_m)?;
    let new_length_m = NEW_LENGTH.check(new_length_m)?;
    let hand_height_m = sin_deg(lie_deg) * length_m;
    let reaching = Range {
        least: hand_height_m.max(NEW_LENGTH.least),
        ..NEW_LENGTH
    };
    let new_length_m = reaching.check(new_length_m)?;
    Ok(asin_deg(hand_height_m / new_length_m))
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close};
    use super::*;

    const INCH_M: f64 = 0.0254;

    #[test]
    fn half_an_inch_longer_than_38_inches_at_60_degrees() {
        // 38 sin 60° = 32.909; 32.909 / 38.5 = 0.85478, whose arcsine is 58.74°.
        let lie_deg = lie_for_length_deg(60.0, 38.0 * INCH_M, 38.5 * INCH_M).unwrap();
        assert_close(lie_deg, 58.74, 0.005);
    }

    #[test]
    fn the_same_length_keeps_the_lie_and_there_and_back_is_home() {
        for lie_deg in [55.0, 60.0, 64.0] {
            assert_close(
                lie_for_length_deg(lie_deg, 0.95, 0.95).unwrap(),
                lie_deg,
                1e-12,
            );
            let longer_deg = lie_for_length_deg(lie_deg, 0.95, 0.97).unwrap();
            assert!(longer_deg < lie_deg);
            assert_close(
                lie_for_length_deg(longer_deg, 0.97, 0.95).unwrap(),
                lie_deg,
                1e-11,
            );
        }
    }

    #[test]
    fn a_club_shorter_than_the_hands_are_high_is_refused_with_the_least_length() {
        let refusal = lie_for_length_deg(60.0, 1.0, 0.8).unwrap_err();
        assert_eq!(refusal.argument, "new_length");
        assert_close(refusal.least, 3.0_f64.sqrt() / 2.0, 1e-15);
    }

    #[test]
    fn what_cannot_be_is_named() {
        assert_eq!(
            lie_for_length_deg(f64::NAN, 1.0, 1.0).unwrap_err().argument,
            "lie"
        );
        assert_eq!(
            lie_for_length_deg(60.0, 0.0, 1.0).unwrap_err().argument,
            "length"
        );
        let refusal = lie_for_length_deg(60.0, 1.0, f64::INFINITY).unwrap_err();
        assert_eq!(refusal.argument, "new_length");
    }

    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        for (lie_deg, length_m, new_length_m, bits) in GOLDEN {
            let new_lie_deg = lie_for_length_deg(lie_deg, length_m, new_length_m).unwrap();
            // Independent: the triangle's other leg, and the arctangent.
            let height_m = libm::sin(lie_deg.to_radians()) * length_m;
            let foot_m = (new_length_m * new_length_m - height_m * height_m).sqrt();
            assert_close(
                new_lie_deg,
                libm::atan(height_m / foot_m).to_degrees(),
                1e-12,
            );
            assert_bits(new_lie_deg, bits);
        }
    }

    /// Lie, length, new length, bits of the new lie.
    const GOLDEN: [(f64, f64, f64, u64); 2] = [
        (60.0, 0.9652, 0.9779, 0x404d_5e1c_c717_5a93),
        (63.5, 0.9017, 0.889, 0x4050_4c4a_4101_9cec),
    ];
}
