//! The only door through which transcendental functions come into the models.
//!
//! The standard library's sine differs from platform to platform; `libm` is plain Rust, built from
//! IEEE + − × ÷ √ in a fixed order, and gives the same bits on every machine, in debug and release.
//! No fused multiply-add, no reordered sums. (A 32-bit x86 without SSE2 keeps excess precision and
//! is not a machine of ours.)
//!
//! Angles are in degrees, as everywhere in the rules. They are folded onto −45° to 45° before they
//! become radians. The folding is exact, so that quarter turns give exact zeros and ones, and
//! mirrored angles give mirrored results to the last bit.

use std::f64::consts::PI;

const RADIANS_PER_DEGREE: f64 = PI / 180.0;
const DEGREES_PER_RADIAN: f64 = 180.0 / PI;

/// Where an angle lies on the circle: the nearest quarter turn and the rest in degrees.
struct Folded {
    /// A whole number from −4 to 4.
    quarters: f64,
    /// From −45 to 45.
    rest_deg: f64,
}

/// Exact: the remainder of a division is, and so is the difference of two numbers that lie within
/// a factor of two of each other (Sterbenz).
fn folded(angle_deg: f64) -> Folded {
    let within_one_turn_deg = libm::fmod(angle_deg, 360.0);
    let quarters = libm::round(within_one_turn_deg / 90.0);
    Folded {
        quarters,
        rest_deg: within_one_turn_deg - quarters * 90.0,
    }
}

/// The sine of an angle in degrees. Finite for a finite angle.
pub(crate) fn sin_deg(angle_deg: f64) -> f64 {
    let Folded { quarters, rest_deg } = folded(angle_deg);
    let rest = rest_deg * RADIANS_PER_DEGREE;
    if quarters == 1.0 || quarters == -3.0 {
        libm::cos(rest)
    } else if quarters == -1.0 || quarters == 3.0 {
        -libm::cos(rest)
    } else if quarters == 2.0 || quarters == -2.0 {
        -libm::sin(rest)
    } else {
        libm::sin(rest)
    }
}

/// The cosine of an angle in degrees. Finite for a finite angle.
pub(crate) fn cos_deg(angle_deg: f64) -> f64 {
    let Folded { quarters, rest_deg } = folded(angle_deg);
    let rest = rest_deg * RADIANS_PER_DEGREE;
    if quarters == 1.0 || quarters == -3.0 {
        -libm::sin(rest)
    } else if quarters == -1.0 || quarters == 3.0 {
        libm::sin(rest)
    } else if quarters == 2.0 || quarters == -2.0 {
        -libm::cos(rest)
    } else {
        libm::cos(rest)
    }
}

/// The angle, from −90 to 90 degrees, with this sine. A sine that rounding has carried past ±1 is
/// taken as ±1; the caller has made sure that it is no further out and not NaN.
pub(crate) fn asin_deg(sine: f64) -> f64 {
    libm::asin(sine.clamp(-1.0, 1.0)) * DEGREES_PER_RADIAN
}

/// The direction of the point (`along`, `across`), in degrees from the axis `along`, from −180 to
/// 180; 0 for the origin.
pub(crate) fn atan2_deg(across: f64, along: f64) -> f64 {
    libm::atan2(across, along) * DEGREES_PER_RADIAN
}

/// e to a power. Finite for a power up to 700.
pub(crate) fn exp(power: f64) -> f64 {
    libm::exp(power)
}

/// A positive base to a power.
pub(crate) fn pow(base: f64, power: f64) -> f64 {
    libm::pow(base, power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarter_turns_are_exact() {
        for (angle_deg, sine, cosine) in [
            (0.0, 0.0, 1.0),
            (90.0, 1.0, 0.0),
            (180.0, 0.0, -1.0),
            (270.0, -1.0, 0.0),
            (360.0, 0.0, 1.0),
            (-90.0, -1.0, 0.0),
            (-180.0, 0.0, -1.0),
            (-270.0, 1.0, 0.0),
        ] {
            assert_eq!(sin_deg(angle_deg), sine, "sine of {angle_deg}");
            assert_eq!(cos_deg(angle_deg), cosine, "cosine of {angle_deg}");
        }
    }

    #[test]
    fn sixteen_figures_of_a_table() {
        // sin 15° = (√6 − √2) / 4, sin 18° = (√5 − 1) / 4, cos 36° = (1 + √5) / 4 (Euclid XIII).
        let sin_15 = (6.0_f64.sqrt() - 2.0_f64.sqrt()) / 4.0;
        let sin_18 = (5.0_f64.sqrt() - 1.0) / 4.0;
        let cos_36 = (5.0_f64.sqrt() + 1.0) / 4.0;
        assert!((sin_deg(15.0) - sin_15).abs() < 1e-15);
        assert!((sin_deg(18.0) - sin_18).abs() < 1e-15);
        assert!((cos_deg(36.0) - cos_36).abs() < 1e-15);
        assert!((sin_deg(162.0) - sin_18).abs() < 1e-15);
        assert!((cos_deg(-324.0) - cos_36).abs() < 1e-15);
        assert!((asin_deg(sin_15) - 15.0).abs() < 1e-13);
        assert!((atan2_deg(-1.0, -1.0) + 135.0).abs() < 1e-13);
    }

    #[test]
    fn mirrored_angles_mirror_to_the_last_bit() {
        for step in 0..1440 {
            let angle_deg = f64::from(step) * 0.37;
            // Equal numbers have equal bits, but for the sign of a zero.
            assert_eq!(sin_deg(-angle_deg), -sin_deg(angle_deg));
            assert_eq!(cos_deg(-angle_deg), cos_deg(angle_deg));
        }
    }

    #[test]
    fn a_sine_past_one_by_rounding_is_one() {
        assert_eq!(asin_deg(1.0 + f64::EPSILON), 90.0);
    }
}
