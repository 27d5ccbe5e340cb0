//! The reverse problem: the mass, at one place, that brings a club to a swingweight or a moment.
//!
//! Both are linear in a mass at a fixed distance x from the butt, so both have a closed form:
//!
//! ```text
//! for a swingweight W:  mass = (W − W of the rest) / (x − 14 in)
//! for a moment I:       mass = (I − I of the rest) / x²
//! ```
//!
//! `rest` is the club without that mass: without its head, where the head's mass is wanted; with
//! everything else, where a weight in the tip is. Source: the definition of the scale (see
//! [`super::swingweight`]) and the parallel-axis theorem.

use super::club::ClubBody;
use super::outside_range::{OutsideRange, Range};
use super::swingweight::{FULCRUM_FROM_BUTT_M, kg_m_from_points};

/// Beyond the fulcrum by a centimetre at the least: at the fulcrum no mass does anything.
const BEYOND_FULCRUM: Range = Range::metres("distance_from_butt", FULCRUM_FROM_BUTT_M + 0.01, 2.0);
const FROM_BUTT: Range = Range::metres("distance_from_butt", 0.01, 2.0);
const MOST_POINTS: f64 = 400.0;
const MOST_MOMENT_KG_M2: f64 = 20.0;

/// The mass in kilograms that brings a club to `target_points` above A0 (D2 is 32) when it sits
/// `distance_from_butt_m` from the butt (0.3656 to 2 m).
///
/// # Errors
/// A distance beyond its range; a target under the swingweight of the rest alone, which no mass
/// reaches (the least that can be reached is in the answer); no number.
pub fn mass_for_swingweight_kg(
    rest: &ClubBody,
    distance_from_butt_m: f64,
    target_points: f64,
) -> Result<f64, OutsideRange> {
    let distance_m = BEYOND_FULCRUM.check(distance_from_butt_m)?;
    let reachable = Range {
        argument: "target_swingweight",
        unit: "points above A0",
        least: rest.swingweight_points(),
        most: MOST_POINTS,
    };
    let target_kg_m = kg_m_from_points(reachable.check(target_points)?)?;
    let missing_kg_m = target_kg_m - rest.moment_about_fulcrum_kg_m();
    // At the very least of the range the difference may be a rounding below 0.
    Ok((missing_kg_m / (distance_m - FULCRUM_FROM_BUTT_M)).max(0.0))
}

/// The mass in kilograms that brings a club to this moment of inertia about the butt (kg·m²) when
/// it sits `distance_from_butt_m` from the butt (0.01 to 2 m).
///
/// # Errors
/// A distance beyond its range; a target under the moment of the rest alone; no number.
pub fn mass_for_moment_kg(
    rest: &ClubBody,
    distance_from_butt_m: f64,
    target_moment_about_butt_kg_m2: f64,
) -> Result<f64, OutsideRange> {
    let distance_m = FROM_BUTT.check(distance_from_butt_m)?;
    let reachable = Range {
        argument: "target_moment_about_butt",
        unit: "kg m2",
        least: rest.moment_about_butt_kg_m2(),
        most: MOST_MOMENT_KG_M2,
    };
    let target_kg_m2 = reachable.check(target_moment_about_butt_kg_m2)?;
    Ok((target_kg_m2 - rest.moment_about_butt_kg_m2()) / (distance_m * distance_m))
}

#[cfg(test)]
mod tests {
    use super::super::checking::assert_close;
    use super::super::club::Component;
    use super::*;

    const HEAD_FROM_BUTT_M: f64 = 1.10;

    /// The test club of the club module without its head, and with the head given.
    fn shaft_and_grip() -> [Component; 2] {
        [
            Component::uniform_rod(0.065, 0.0, 1.12).unwrap(),
            Component::uniform_rod(0.050, 0.0, 0.27).unwrap(),
        ]
    }

    fn with_head(head_kg: f64) -> ClubBody {
        let [shaft, grip] = shaft_and_grip();
        let head = Component::point(head_kg, HEAD_FROM_BUTT_M).unwrap();
        ClubBody::from_components(&[head, shaft, grip]).unwrap()
    }

    fn rest() -> ClubBody {
        ClubBody::from_components(&shaft_and_grip()).unwrap()
    }

    #[test]
    fn the_head_found_puts_the_club_on_its_swingweight() {
        for step in 0..60 {
            let target = 10.0 + f64::from(step) * 0.5;
            let head_kg = mass_for_swingweight_kg(&rest(), HEAD_FROM_BUTT_M, target).unwrap();
            assert_close(with_head(head_kg).swingweight_points(), target, 1e-11);
        }
    }

    #[test]
    fn the_head_found_gives_the_club_its_moment() {
        for step in 0..60 {
            let target = 0.2 + f64::from(step) * 0.002;
            let head_kg = mass_for_moment_kg(&rest(), HEAD_FROM_BUTT_M, target).unwrap();
            assert_close(with_head(head_kg).moment_about_butt_kg_m2(), target, 1e-14);
        }
    }

    #[test]
    fn d2_for_the_test_club_by_hand() {
        // D2 is 217 oz·in = 0.156256 kg·m. The rest has 0.065 · 0.56 + 0.05 · 0.135 − 0.115 ·
        // 0.3556 = 0.002256 kg·m; (0.156256 − 0.002256) / 0.7444 = 0.20688 kg.
        let head_kg = mass_for_swingweight_kg(&rest(), HEAD_FROM_BUTT_M, 32.0).unwrap();
        assert_close(head_kg, 0.206_88, 0.000_01);
    }

    #[test]
    fn a_heavier_head_always_swings_heavier() {
        let mut previous = with_head(0.150);
        for grams in 151..300 {
            let club = with_head(f64::from(grams) / 1000.0);
            assert!(club.swingweight_points() > previous.swingweight_points());
            assert!(club.moment_about_butt_kg_m2() > previous.moment_about_butt_kg_m2());
            previous = club;
        }
    }

    #[test]
    fn what_no_mass_reaches_is_refused_with_the_least_that_can_be_reached() {
        let refusal = mass_for_swingweight_kg(&rest(), HEAD_FROM_BUTT_M, -100.0).unwrap_err();
        assert_eq!(refusal.argument, "target_swingweight");
        assert_eq!(refusal.least, rest().swingweight_points());
        let refusal = mass_for_moment_kg(&rest(), HEAD_FROM_BUTT_M, 0.001).unwrap_err();
        assert_eq!(refusal.argument, "target_moment_about_butt");
    }

    #[test]
    fn what_cannot_be_is_named() {
        let refusal = mass_for_swingweight_kg(&rest(), 0.3, 32.0).unwrap_err();
        assert_eq!(refusal.argument, "distance_from_butt");
        let refusal = mass_for_swingweight_kg(&rest(), 1.1, f64::NAN).unwrap_err();
        assert_eq!(refusal.argument, "target_swingweight");
        let refusal = mass_for_moment_kg(&rest(), f64::NAN, 0.27).unwrap_err();
        assert_eq!(refusal.argument, "distance_from_butt");
    }
}
