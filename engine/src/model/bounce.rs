//! The sole: bounce as it meets the turf, and how high it holds the leading edge.
//!
//! **Bounce** is the angle of the sole against the ground, in the vertical plane through the target
//! line, with the shaft upright in that plane and the face square: positive where the leading edge
//! stands higher than the trailing edge. On a cambered sole it is the angle of the chord between
//! its edges, which is the tangent at its middle.
//!
//! Shaft lean turns the whole club about the axis that points at the player; opening the face turns
//! the head about the shaft. Both are rotations, taken exactly. To first order, Λ being the lie,
//!
//! ```text
//! bounce in play = bounce − lean + opening × cos Λ
//! ```
//!
//! Source: geometry. Signs: lean + toward the target, which takes loft off; opening + open (against
//! the face angle of the other modules, which is + closed, since a wedge is only ever opened).

use super::math::{asin_deg, atan2_deg, cos_deg, sin_deg};
use super::outside_range::{OutsideRange, Range};
use super::rotation::{Direction, Rotation};

const BOUNCE: Range = Range::degrees("bounce", -10.0, 30.0);
const SHAFT_LEAN: Range = Range::degrees("shaft_lean", -30.0, 30.0);
const FACE_OPENING: Range = Range::degrees("face_opening", -20.0, 60.0);
const LIE: Range = Range::degrees("lie", 40.0, 90.0);
const LOFT: Range = Range::degrees("loft", 0.0, 75.0);

/// The bounce as the sole meets the ground, in degrees: exact.
///
/// `bounce_deg` −10 to 30, `shaft_lean_deg` −30 to 30, `face_opening_deg` −20 to 60, `lie_deg` 40
/// to 90. The sole is taken as a plane for the opening (a cambered sole by its chord).
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn effective_bounce_deg(
    bounce_deg: f64,
    shaft_lean_deg: f64,
    face_opening_deg: f64,
    lie_deg: f64,
) -> Result<f64, OutsideRange> {
    let bounce_deg = BOUNCE.check(bounce_deg)?;
    let shaft_lean_deg = SHAFT_LEAN.check(shaft_lean_deg)?;
    let sole = Direction {
        x: -sin_deg(bounce_deg),
        y: 0.0,
        z: cos_deg(bounce_deg),
    };
    let opened = opening(face_opening_deg, lie_deg)?.turn(sole);
    // The sole's own slope where it crosses the vertical plane; the lean turns within that plane.
    Ok(atan2_deg(-opened.x, opened.z) - shaft_lean_deg)
}

/// The loft of a face that was opened about the shaft, in degrees, in the vertical plane that the
/// opened face looks along: exact.
///
/// `loft_deg` 0 to 75, the others as in [`effective_bounce_deg`].
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn opened_loft_deg(
    loft_deg: f64,
    face_opening_deg: f64,
    lie_deg: f64,
) -> Result<f64, OutsideRange> {
    let normal = Direction::face_normal(LOFT.check(loft_deg)?);
    Ok(opening(face_opening_deg, lie_deg)?
        .turn(normal)
        .elevation_deg())
}

/// The head turned about the shaft so that its face opens.
fn opening(face_opening_deg: f64, lie_deg: f64) -> Result<Rotation, OutsideRange> {
    let face_opening_deg = FACE_OPENING.check(face_opening_deg)?;
    let shaft = Direction::shaft(LIE.check(lie_deg)?);
    Ok(Rotation::about(shaft, -face_opening_deg))
}

/// How high a sole holds the leading edge off hard level ground, in metres: exact.
///
/// `bounce_deg` is the bounce in play, −30 to 60. `sole_width_m` is from edge to edge, 5 mm to 50
/// mm. `sole_radius_m` is the radius of the sole's camber: **a circular arc**, or flat with a
/// radius as large as may be, 1000 m; at least half the width.
///
/// A flat sole rests on its trailing edge: width × sin bounce. A cambered one rests where its arc
/// is lowest, as long as that lies between the edges: R (1 − cos(bounce + σ)), σ = asin(width /
/// 2R). Where the bounce is negative enough the leading edge itself rests: 0.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn leading_edge_height_m(
    bounce_deg: f64,
    sole_width_m: f64,
    sole_radius_m: f64,
) -> Result<f64, OutsideRange> {
    let bounce_deg = Range::degrees("bounce", -30.0, 60.0).check(bounce_deg)?;
    let width_m = Range::metres("sole_width", 0.005, 0.05).check(sole_width_m)?;
    let radius_m = Range::metres("sole_radius", 0.5 * width_m, 1000.0).check(sole_radius_m)?;
    let half_arc_deg = asin_deg(0.5 * width_m / radius_m);
    Ok(if bounce_deg >= half_arc_deg {
        width_m * sin_deg(bounce_deg)
    } else if bounce_deg <= -half_arc_deg {
        0.0
    } else {
        // 1 − cos α as 2 sin² (α/2), which keeps its figures where the arc is nearly flat.
        let half_sine = sin_deg(0.5 * (bounce_deg + half_arc_deg));
        2.0 * radius_m * half_sine * half_sine
    })
}

/// The bounce of a head that was bent, in degrees: bending turns sole and face together, so that
/// loft and bounce change alike. Stronger loft, less bounce.
///
/// `bounce_deg` −10 to 30; `bend_deg` is the change of loft, −10 to 10, + weaker.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn bounce_after_bend_deg(bounce_deg: f64, bend_deg: f64) -> Result<f64, OutsideRange> {
    let bounce_deg = BOUNCE.check(bounce_deg)?;
    Ok(bounce_deg + Range::degrees("bend", -10.0, 10.0).check(bend_deg)?)
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close, combinations};
    use super::*;

    #[test]
    fn lean_takes_off_as_much_bounce_as_loft() {
        for bounce_deg in [0.0, 4.0, 10.0, 14.0] {
            for lean_deg in [-6.0, 0.0, 3.5, 8.0] {
                let found = effective_bounce_deg(bounce_deg, lean_deg, 0.0, 64.0).unwrap();
                assert_close(found, bounce_deg - lean_deg, 1e-12);
            }
        }
    }

    #[test]
    fn opening_the_face_adds_bounce_by_the_cosine_of_the_lie() {
        // To first order; the second derivative is that of tan b = tan β + …, small at 1°.
        let found = effective_bounce_deg(10.0, 0.0, 1.0, 64.0).unwrap();
        assert_close(found, 10.0 + libm::cos(64.0_f64.to_radians()), 0.005);
        // An upright shaft only turns the sole on the spot: across the target line the bounce goes
        // with the cosine of the opening, tan b = tan β cos ω.
        let turned = effective_bounce_deg(12.0, 0.0, 35.0, 90.0).unwrap();
        let expected =
            libm::atan(libm::tan(12.0_f64.to_radians()) * libm::cos(35.0_f64.to_radians()));
        assert_close(turned, expected.to_degrees(), 1e-12);
    }

    #[test]
    fn opening_adds_bounce_and_loft_step_by_step() {
        let (mut bounce, mut loft) = (9.0, 55.0);
        for opening in 0..=45 {
            let opening = f64::from(opening);
            let more_bounce = effective_bounce_deg(10.0, 0.0, opening, 63.0).unwrap();
            let more_loft = opened_loft_deg(56.0, opening, 63.0).unwrap();
            assert!(more_bounce > bounce && more_loft > loft);
            (bounce, loft) = (more_bounce, more_loft);
        }
    }

    #[test]
    fn an_opened_face_has_the_loft_of_the_turned_normal() {
        // n·z after a turn about the shaft (Rodrigues), by hand: sin L' = sin L cos ω
        // + sin Λ (sin L sin Λ)(1 − cos ω) + cos L cos Λ sin ω.
        for (loft_deg, opening_deg, lie_deg) in [(56.0, 20.0, 64.0), (60.0, 45.0, 63.5)] {
            let (loft, opening, lie) = (
                f64::to_radians(loft_deg),
                f64::to_radians(opening_deg),
                f64::to_radians(lie_deg),
            );
            let (sin_lie, cos_lie) = (libm::sin(lie), libm::cos(lie));
            let sine = libm::sin(loft) * libm::cos(opening)
                + sin_lie * sin_lie * libm::sin(loft) * (1.0 - libm::cos(opening))
                + libm::cos(loft) * cos_lie * libm::sin(opening);
            let found = opened_loft_deg(loft_deg, opening_deg, lie_deg).unwrap();
            assert_close(found, libm::asin(sine).to_degrees(), 1e-11);
        }
    }

    #[test]
    fn a_flat_sole_rests_on_its_trailing_edge() {
        // 20 mm wide at 10°: 20 × 0.173648 mm (a table of sines).
        let height_m = leading_edge_height_m(10.0, 0.020, 1000.0).unwrap();
        assert_close(height_m, 0.020 * 0.173_648, 1e-8);
        assert_eq!(leading_edge_height_m(-1.0, 0.020, 1000.0), Ok(0.0));
    }

    #[test]
    fn a_round_sole_rests_where_it_is_lowest() {
        // Half a circle of 10 mm, level: the edge is a radius up; turned by 30°, 10 (1 + sin 30°).
        assert_close(
            leading_edge_height_m(0.0, 0.020, 0.010).unwrap(),
            0.010,
            1e-15,
        );
        assert_close(
            leading_edge_height_m(30.0, 0.020, 0.010).unwrap(),
            0.015,
            1e-15,
        );
        // Every resting place agrees with its neighbour at the bounce where one takes over.
        let half_arc_deg = libm::asin(0.5 * 0.022 / 0.040).to_degrees();
        for (edge, beside) in [(half_arc_deg, 1e-9), (-half_arc_deg, 1e-9)] {
            let before = leading_edge_height_m(edge - beside, 0.022, 0.040).unwrap();
            let after = leading_edge_height_m(edge + beside, 0.022, 0.040).unwrap();
            assert_close(before, after, 1e-11);
        }
    }

    #[test]
    fn more_bounce_never_lowers_the_leading_edge() {
        for radius_m in [0.012, 0.020, 0.060, 1000.0] {
            let mut lower = 0.0;
            for tenth in -300..=600 {
                let bounce_deg = f64::from(tenth) * 0.1;
                let height_m = leading_edge_height_m(bounce_deg, 0.022, radius_m).unwrap();
                assert!(height_m >= lower);
                lower = height_m;
            }
        }
    }

    #[test]
    fn a_bend_changes_bounce_by_itself() {
        assert_eq!(bounce_after_bend_deg(10.0, -2.0), Ok(8.0));
        assert_eq!(bounce_after_bend_deg(10.0, 1.5), Ok(11.5));
    }

    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        // The formulas beside them are checked above.
        assert_bits(
            effective_bounce_deg(10.0, 2.0, 20.0, 64.0).unwrap(),
            0x4030_2a2c_1462_1287,
        );
        assert_bits(
            opened_loft_deg(56.0, 20.0, 64.0).unwrap(),
            0x4050_25d8_81d1_22c4,
        );
        assert_bits(
            leading_edge_height_m(8.0, 0.022, 0.040).unwrap(),
            0x3f6c_3dba_9f81_aa3a,
        );
    }

    #[test]
    fn whatever_is_sent_is_answered_with_a_number_or_refused_by_name() {
        let ends = [
            [-10.1, -10.0, 8.0, 30.0, f64::NAN],
            [-30.0, 0.0, 30.0, 30.1, f64::INFINITY],
            [-20.1, -20.0, 0.0, 60.0, f64::NEG_INFINITY],
            [39.9, 40.0, 64.0, 90.0, 90.1],
        ];
        let names = ["bounce", "shaft_lean", "face_opening", "lie"];
        for [bounce, lean, opening, lie] in combinations(ends) {
            match effective_bounce_deg(bounce, lean, opening, lie) {
                Ok(found) => assert!(found.is_finite()),
                Err(refusal) => assert!(names.contains(&refusal.argument)),
            }
        }
        let refusal = leading_edge_height_m(8.0, 0.022, 0.010).unwrap_err();
        assert_eq!((refusal.argument, refusal.least), ("sole_radius", 0.011));
    }
}
