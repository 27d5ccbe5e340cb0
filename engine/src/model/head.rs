//! The head alone: what a lie that does not fit does to the face.
//!
//! Axes: x to the target, y toward the player, z up; the face's normal is (cos L, 0, sin L). A lie
//! error turns the head about x. Signs, the same for either hand: face + closed, lie + upright,
//! loft + more. Source: rotation of the normal, exact; no approximation.

use super::math::{cos_deg, sin_deg};
use super::outside_range::{OutsideRange, Range};
use super::rotation::Direction;

/// Every putter and every wedge lies inside.
const LOFT: Range = Range::degrees("loft", -20.0, 80.0);
const LIE_ERROR: Range = Range::degrees("lie_error", -45.0, 45.0);

/// How far the face points away from the target line because the toe is up or down, in degrees,
/// closed positive: atan(tan L · sin δ).
///
/// `loft_deg` is the loft delivered, −20 to 80; `lie_error_deg` is positive with the toe up (too
/// upright), −45 to 45. Upright closes the face: a right-hander's ball starts left.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn lie_error_face_deg(loft_deg: f64, lie_error_deg: f64) -> Result<f64, OutsideRange> {
    let normal = normal_after_lie_error(loft_deg, lie_error_deg)?;
    Ok(normal.azimuth_deg())
}

/// The loft that is left when the toe is up or down, in degrees: asin(sin L · cos δ).
///
/// Arguments and ranges as in [`lie_error_face_deg`].
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn lie_error_loft_deg(loft_deg: f64, lie_error_deg: f64) -> Result<f64, OutsideRange> {
    let normal = normal_after_lie_error(loft_deg, lie_error_deg)?;
    Ok(normal.elevation_deg())
}

/// How far aside a ball ends that starts off at this angle, in metres: carry · tan(face).
///
/// `face_deg` is −45 to 45, closed positive; `carry_m` 0 to 1000 m. The straight line of the start
/// only; curvature is the flight's business.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn offline_m(face_deg: f64, carry_m: f64) -> Result<f64, OutsideRange> {
    let face_deg = Range::degrees("face", -45.0, 45.0).check(face_deg)?;
    let carry_m = Range::metres("carry", 0.0, 1000.0).check(carry_m)?;
    Ok(carry_m * sin_deg(face_deg) / cos_deg(face_deg))
}

/// The normal (cos L, sin L sin δ, sin L cos δ).
fn normal_after_lie_error(loft_deg: f64, lie_error_deg: f64) -> Result<Direction, OutsideRange> {
    let loft_deg = LOFT.check(loft_deg)?;
    let lie_error_deg = LIE_ERROR.check(lie_error_deg)?;
    let sine_of_loft = sin_deg(loft_deg);
    Ok(Direction {
        x: cos_deg(loft_deg),
        y: sine_of_loft * sin_deg(lie_error_deg),
        z: sine_of_loft * cos_deg(lie_error_deg),
    })
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close};
    use super::*;

    #[test]
    fn a_degree_of_lie_costs_a_wedge_more_than_a_driver() {
        // atan(tan 46° sin 1°) and atan(tan 10.5° sin 2°), four figures by hand.
        assert_close(lie_error_face_deg(46.0, 1.0).unwrap(), 1.035, 0.000_5);
        assert_close(lie_error_face_deg(10.5, 2.0).unwrap(), 0.371, 0.000_5);
    }

    #[test]
    fn one_degree_of_face_at_150_yards() {
        // 150 yd · tan 1°; a table of tangents gives 0.017455.
        let aside_m = offline_m(1.0, 150.0 * 0.9144).unwrap();
        assert_close(aside_m / 0.9144, 2.618, 0.000_5);
    }

    #[test]
    fn upright_closes_flat_opens_and_both_lose_the_same_loft() {
        for loft_deg in [4.0, 10.5, 21.0, 46.0, 60.0] {
            for lie_error_deg in [0.25, 1.0, 4.0, 10.0] {
                let upright = lie_error_face_deg(loft_deg, lie_error_deg).unwrap();
                let flat = lie_error_face_deg(loft_deg, -lie_error_deg).unwrap();
                assert!(upright > 0.0);
                assert_eq!(upright, -flat);
                let loft_upright = lie_error_loft_deg(loft_deg, lie_error_deg).unwrap();
                let loft_flat = lie_error_loft_deg(loft_deg, -lie_error_deg).unwrap();
                assert_eq!(loft_upright, loft_flat);
                assert!(loft_upright < loft_deg);
            }
        }
    }

    #[test]
    fn no_error_changes_nothing() {
        assert_eq!(lie_error_face_deg(46.0, 0.0), Ok(0.0));
        assert_close(lie_error_loft_deg(46.0, 0.0).unwrap(), 46.0, 1e-13);
    }

    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        for (loft_deg, lie_error_deg, face_bits, loft_bits) in GOLDEN {
            let face_deg = lie_error_face_deg(loft_deg, lie_error_deg).unwrap();
            let left_deg = lie_error_loft_deg(loft_deg, lie_error_deg).unwrap();
            // Independent: the closed forms, in radians.
            let (loft, error) = (loft_deg.to_radians(), lie_error_deg.to_radians());
            let face = libm::atan(libm::tan(loft) * libm::sin(error)).to_degrees();
            let left = libm::asin(libm::sin(loft) * libm::cos(error)).to_degrees();
            assert_close(face_deg, face, 1e-12);
            assert_close(left_deg, left, 1e-12);
            assert_bits(face_deg, face_bits);
            assert_bits(left_deg, loft_bits);
        }
    }

    /// Loft, lie error, bits of the face, bits of the loft that is left.
    const GOLDEN: [(f64, f64, u64, u64); 3] = [
        (46.0, 1.0, 0x3ff0_90da_ebb1_583f, 0x4046_fed7_eab8_fd79),
        (10.5, 2.0, 0x3fd7_b7df_341c_28a9, 0x4024_fcb0_1e21_9cb6),
        (58.0, -3.25, 0xc014_bc86_1fd1_d81a, 0x404c_ed29_8e7a_a0c8),
    ];

    #[test]
    fn what_cannot_be_is_named() {
        assert_eq!(
            lie_error_face_deg(f64::NAN, 1.0).unwrap_err().argument,
            "loft"
        );
        assert_eq!(
            lie_error_face_deg(46.0, f64::INFINITY)
                .unwrap_err()
                .argument,
            "lie_error"
        );
        assert_eq!(lie_error_loft_deg(95.0, 1.0).unwrap_err().argument, "loft");
        assert_eq!(offline_m(1.0, f64::NAN).unwrap_err().argument, "carry");
    }
}
