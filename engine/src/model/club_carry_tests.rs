//! Checks of the carries: closed forms in a vacuum, what must rise and fall, what is refused.

use super::super::checking::{assert_close, combinations};
use super::*;

const MPH: f64 = 0.447_04;
const AIR: f64 = 1.2;

fn carry_m(head_speed_mph: f64, loft_deg: f64) -> f64 {
    club_carry_m(head_speed_mph * MPH, -4.0, loft_deg, 0.27, 0.78, AIR)
        .unwrap()
        .value
}

#[test]
fn without_air_the_carry_is_the_parabola_of_the_strike() {
    for loft_deg in [10.0, 20.0, 35.0, 50.0] {
        let strike = club_strike(40.0, 0.0, loft_deg, 0.2, 0.8).unwrap();
        let launch = strike.launch_deg.to_radians();
        let speed = strike.ball_speed_m_s;
        // v² sin 2α / g.
        let expected = speed * speed * libm::sin(2.0 * launch) / 9.806_65;
        let found = club_carry_m(40.0, 0.0, loft_deg, 0.2, 0.8, 0.0).unwrap();
        assert_close(found.value, expected, 0.001);
        let landing = club_landing_angle_deg(40.0, 0.0, loft_deg, 0.2, 0.8, 0.0).unwrap();
        assert_close(landing.value, strike.launch_deg, 0.001);
    }
}

#[test]
fn a_driver_spins_as_the_governing_bodies_say_and_a_wedge_rolls() {
    // R&A/USGA Overall Distance Standard: 120 mph, 10° launch, 2520 rpm.
    let loft = impact::loft_from_launch_deg(10.0, 0.0, 0.2, 0.83).unwrap();
    let strike = club_strike(120.0 * MPH, 0.0, loft, 0.2, 0.83).unwrap();
    assert_close(strike.spin_rpm / 2520.0, 1.0, 0.01);
    let wedge = club_strike(75.0 * MPH, -5.0, 50.0, 0.3, 0.78).unwrap();
    let rolling = impact::rolling_spin_rpm(75.0 * MPH, -5.0, 50.0, 0.3).unwrap();
    assert_eq!(wedge.spin_rpm, rolling);
}

#[test]
fn carry_falls_with_loft_over_the_irons_and_wedges() {
    for head_speed_mph in [55.0, 70.0, 85.0, 100.0] {
        let mut stronger = f64::INFINITY;
        // Half a degree at a time from 26° to 62°, the lofts delivered by irons and wedges.
        for half in 52..=124 {
            let carry = carry_m(head_speed_mph, f64::from(half) * 0.5);
            assert!(
                carry < stronger,
                "{head_speed_mph} mph at {half} half degrees"
            );
            stronger = carry;
        }
    }
}

#[test]
fn carry_rises_with_speed() {
    for loft_deg in [12.0, 20.0, 30.0, 40.0, 50.0, 60.0] {
        let mut slower = 0.0;
        for head_speed_mph in 40..=110 {
            let carry = carry_m(f64::from(head_speed_mph), loft_deg);
            assert!(carry > slower, "{head_speed_mph} mph at {loft_deg}°");
            slower = carry;
        }
    }
}

#[test]
fn thinner_air_carries_an_iron_further() {
    let sea = club_carry_m(38.0, -4.0, 28.0, 0.26, 0.78, 1.225).unwrap();
    let height = club_carry_m(38.0, -4.0, 28.0, 0.26, 0.78, 1.058).unwrap();
    assert!(height.value > sea.value);
}

#[test]
fn more_loft_comes_down_more_steeply() {
    let mut flatter = 0.0;
    for loft_deg in [14.0, 20.0, 26.0, 32.0, 38.0, 44.0, 50.0] {
        let angle = club_landing_angle_deg(36.0, -4.0, loft_deg, 0.28, 0.78, AIR).unwrap();
        assert!(
            angle.value > flatter,
            "{loft_deg}: {} {flatter}",
            angle.value
        );
        flatter = angle.value;
    }
}

#[test]
fn a_ball_that_does_not_rise_carries_nothing() {
    assert_eq!(
        club_carry_m(40.0, -5.0, 0.5, 0.2, 0.83, AIR).unwrap().value,
        0.0
    );
    assert_eq!(
        club_carry_m(40.0, 10.0, 4.0, 0.2, 0.83, AIR).unwrap().value,
        0.0
    );
}

const SEVEN: Anchor = Anchor {
    loft_deg: 32.0,
    modelled_m: 150.0,
    measured_m: 141.0,
};
const PITCHING: Anchor = Anchor {
    loft_deg: 46.0,
    modelled_m: 110.0,
    measured_m: 110.0,
};

#[test]
fn an_anchor_carries_what_was_measured_and_beyond_them_the_ratio_is_held() {
    for (carry, loft, expected) in [
        (150.0, 32.0, 141.0),
        (110.0, 46.0, 110.0),
        // Half way, half way between 0.94 and 1.
        (130.0, 39.0, 130.0 * 0.97),
        (200.0, 20.0, 200.0 * 0.94),
        (80.0, 58.0, 80.0),
    ] {
        let found = calibrated_carry_m(carry, loft, SEVEN, PITCHING).unwrap();
        assert_close(found, expected, 1e-12);
        assert_eq!(calibrated_carry_m(carry, loft, PITCHING, SEVEN), Ok(found));
    }
}

#[test]
fn two_anchors_of_one_loft_count_alike() {
    let other = Anchor {
        measured_m: 147.0,
        ..SEVEN
    };
    let found = calibrated_carry_m(100.0, 32.0, SEVEN, other).unwrap();
    assert_close(found, 96.0, 1e-12);
    assert_eq!(calibrated_carry_m(100.0, 32.0, other, SEVEN), Ok(found));
}

#[test]
fn what_cannot_be_is_named() {
    let refused = |found: Result<f64, OutsideRange>| found.unwrap_err().argument;
    let nothing = Anchor {
        modelled_m: 0.0,
        ..PITCHING
    };
    assert_eq!(
        refused(calibrated_carry_m(1.0, 30.0, SEVEN, nothing)),
        "second_modelled"
    );
    assert_eq!(
        refused(calibrated_carry_m(1.0, f64::NAN, SEVEN, PITCHING)),
        "loft"
    );
    let carry = club_carry_m(40.0, 0.0, 12.0, 0.2, 0.83, f64::NAN);
    assert_eq!(carry.unwrap_err().argument, "air_density");
    let still_named = club_carry_m(40.0, -5.0, 0.5, 0.2, 0.83, 3.0);
    assert_eq!(still_named.unwrap_err().argument, "air_density");
    // 75 m/s at 60° would spin the ball beyond all measure: the speed is named, with the most
    // allowed.
    let refusal = club_carry_m(75.0, 0.0, 60.0, 0.3, 0.78, AIR).unwrap_err();
    assert_eq!(refusal.argument, "head_speed");
    assert!(club_carry_m(refusal.most * 0.999, 0.0, 60.0, 0.3, 0.78, AIR).is_ok());
}

#[test]
fn whatever_is_sent_is_answered_with_a_number_or_refused_by_name() {
    let names = [
        "head_speed",
        "attack_angle",
        "delivered_loft",
        "head_mass",
        "restitution",
        "air_density",
    ];
    let ends = [
        [4.9, 5.0, 40.0, 80.0],
        [-25.0, 0.0, 25.0, f64::NAN],
        [-15.0, 12.0, 60.0, 80.0],
        [0.1, 0.2, 0.6, f64::INFINITY],
        [0.3, 0.83, 1.0, 0.2],
        [0.0, 1.2, 2.0, 2.1],
    ];
    for [speed, attack, loft, mass, restitution, air] in combinations(ends) {
        for model in [club_carry_m, club_landing_angle_deg] {
            match model(speed, attack, loft, mass, restitution, air) {
                Ok(answer) => assert!(answer.value.is_finite() && answer.value >= 0.0),
                Err(refusal) => assert!(names.contains(&refusal.argument), "{refusal}"),
            }
        }
    }
}
