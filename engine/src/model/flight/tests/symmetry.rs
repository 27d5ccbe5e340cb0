//! What must hold of every flight: the mirror, the order of things, the edges of the ranges.

use super::super::integrate::{MOST_STEPS, Motion};
use super::super::{Aerodynamics, Conditions, Flight, Launch, bearman_harvey::BearmanHarvey};
use super::super::{fly, fly_by, path};
use crate::model::answer::BeyondLiterature;
use crate::model::checking::assert_close;

/// Launches from all over the ranges: one of a low-discrepancy sequence in seven dimensions, by the
/// fractional parts of multiples of the powers of the generalised golden ratio (M. Roberts, 2018).
fn launches(count: u32) -> impl Iterator<Item = (Launch, Conditions)> {
    const STRIDES: [f64; 7] = [0.9127, 0.8330, 0.7603, 0.6939, 0.6333, 0.5780, 0.5275];
    (1..=count).map(|index| {
        let share = |stride: f64| (0.5 + stride * f64::from(index)).fract();
        let [speed, up, to, spin, tilt, head, cross] = STRIDES.map(share);
        let launch = Launch {
            ball_speed_m_s: 5.0 + 85.0 * speed,
            launch_deg: 2.0 + 58.0 * up,
            start_direction_deg: -20.0 + 40.0 * to,
            spin_rpm: 12_000.0 * spin,
            axis_tilt_deg: -45.0 + 90.0 * tilt,
        };
        let conditions = Conditions {
            air_density_kg_m3: 0.9 + 0.4 * speed,
            head_wind_m_s: -12.0 + 24.0 * head,
            cross_wind_m_s: -12.0 + 24.0 * cross,
        };
        (launch, conditions)
    })
}

#[test]
fn left_and_right_are_mirror_images_to_the_last_bit() {
    for (launch, conditions) in launches(200) {
        for aerodynamics in [Aerodynamics::BearmanHarvey, Aerodynamics::SmitsSmith] {
            let flight = fly_by(aerodynamics, &launch, &conditions).unwrap();
            let mirrored = Launch {
                start_direction_deg: -launch.start_direction_deg,
                axis_tilt_deg: -launch.axis_tilt_deg,
                ..launch
            };
            let other_wind = Conditions {
                cross_wind_m_s: -conditions.cross_wind_m_s,
                ..conditions
            };
            let other = fly_by(aerodynamics, &mirrored, &other_wind).unwrap();
            let back = Flight {
                lateral_m: -other.lateral_m,
                ..other
            };
            assert_eq!(flight, back);
        }
    }
}

#[test]
fn a_tilt_toward_a_draw_curves_that_way_and_so_does_wind() {
    let straight = Launch::straight(65.0, 12.0, 3000.0);
    let air = Conditions::STILL_AIR;
    assert_eq!(fly(&straight, &air).unwrap().lateral_m, 0.0);
    let draw = Launch {
        axis_tilt_deg: 10.0,
        ..straight
    };
    assert!(fly(&draw, &air).unwrap().lateral_m > 5.0);
    let pushed = Launch {
        start_direction_deg: 3.0,
        ..straight
    };
    assert!(fly(&pushed, &air).unwrap().lateral_m > 5.0);
    let wind = Conditions {
        cross_wind_m_s: 5.0,
        ..air
    };
    assert!(fly(&straight, &wind).unwrap().lateral_m > 5.0);
    let against = Conditions {
        head_wind_m_s: 5.0,
        ..air
    };
    assert!(fly(&straight, &against).unwrap().carry_m < fly(&straight, &air).unwrap().carry_m);
}

#[test]
fn a_faster_ball_carries_further_and_so_does_any_ball_in_thinner_air() {
    let carry_m = |speed_m_s: f64, launch_deg: f64, spin_rpm: f64, density: f64| {
        let launch = Launch::straight(speed_m_s, launch_deg, spin_rpm);
        fly(&launch, &Conditions::still(density)).unwrap().carry_m
    };
    for (launch_deg, spin_rpm) in [
        (9.0, 2200.0),
        (12.0, 2800.0),
        (17.0, 6000.0),
        (28.0, 9000.0),
    ] {
        for step in 0..70 {
            let slow_m_s = 10.0 + f64::from(step);
            let slower = carry_m(slow_m_s, launch_deg, spin_rpm, 1.2);
            let faster = carry_m(slow_m_s + 1.0, launch_deg, spin_rpm, 1.2);
            assert!(faster > slower, "{slow_m_s} m/s at {launch_deg}°");
        }
    }
    // From the sea to 3000 m: 1.225 to 0.909 kg/m³.
    for (speed_m_s, launch_deg, spin_rpm) in [
        (45.0, 28.0, 9000.0),
        (54.0, 17.0, 6500.0),
        (62.0, 13.0, 3500.0),
        (70.0, 12.0, 2600.0),
    ] {
        for step in 0..31 {
            let density = 1.225 - 0.01 * f64::from(step);
            let lower = carry_m(speed_m_s, launch_deg, spin_rpm, density);
            let higher = carry_m(speed_m_s, launch_deg, spin_rpm, density - 0.01);
            assert!(higher > lower, "{speed_m_s} m/s in {density} kg/m³");
        }
    }
}

fn figures(flight: &Flight) -> [f64; 7] {
    [
        flight.carry_m,
        flight.lateral_m,
        flight.apex_m,
        flight.time_s,
        flight.landing_angle_deg,
        flight.landing_speed_m_s,
        flight.landing_spin_rpm,
    ]
}

/// Every corner of the ranges: an answer that is a number, come by well within the limit of steps.
#[test]
fn every_corner_of_the_ranges_is_flown_to_the_ground() {
    let mut most_steps = 0;
    for bits in 0..256_u32 {
        let pick = |place: u32, low: f64, high: f64| {
            if bits >> place & 1 == 0 { low } else { high }
        };
        let launch = Launch {
            ball_speed_m_s: pick(0, 1.0, 120.0),
            launch_deg: pick(1, 0.0, 80.0),
            start_direction_deg: pick(2, -60.0, 60.0),
            spin_rpm: pick(3, 0.0, 15_000.0),
            axis_tilt_deg: pick(4, 0.0, 90.0),
        };
        let conditions = Conditions {
            air_density_kg_m3: pick(5, 0.0, 2.0),
            head_wind_m_s: pick(6, -40.0, 40.0),
            cross_wind_m_s: pick(7, 0.0, 40.0),
        };
        for aerodynamics in [Aerodynamics::BearmanHarvey, Aerodynamics::SmitsSmith] {
            let flight = fly_by(aerodynamics, &launch, &conditions).unwrap();
            assert!(figures(&flight).iter().all(|figure| figure.is_finite()));
            assert!(flight.apex_m >= 0.0 && flight.time_s >= 0.0);
        }
        let motion = Motion::new(BearmanHarvey::new(&conditions), &conditions);
        most_steps = most_steps.max(motion.fly(&launch, |_| ()).steps);
    }
    assert!(most_steps * 5 < MOST_STEPS, "{most_steps} steps");
}

#[test]
fn a_ball_that_does_not_rise_goes_nowhere() {
    let flight = fly(&Launch::straight(20.0, 0.0, 0.0), &Conditions::STILL_AIR).unwrap();
    assert_close(flight.carry_m, 0.0, 1e-6);
    assert_close(flight.time_s, 0.0, 1e-6);
    assert_eq!(flight.apex_m, 0.0);
    let short = fly(&Launch::straight(1.0, 5.0, 0.0), &Conditions::still(0.0)).unwrap();
    // 2 v sin θ / g.
    assert_close(short.time_s, 2.0 * 0.087_155_743 / 9.806_65, 1e-9);
}

#[test]
fn a_path_begins_at_the_launch_and_ends_where_the_flight_does() {
    for (launch, conditions) in launches(40) {
        let flight = fly(&launch, &conditions).unwrap();
        let points = path(&launch, &conditions).unwrap();
        let (first, last) = (points[0], points[points.len() - 1]);
        assert_eq!(
            (first.time_s, first.along_m, first.height_m),
            (0.0, 0.0, 0.0)
        );
        assert_eq!(last.time_s, flight.time_s);
        assert_eq!(
            (last.along_m, last.lateral_m),
            (flight.carry_m, flight.lateral_m)
        );
        assert_close(last.height_m, 0.0, 1e-3);
        for pair in points.windows(2) {
            assert!(pair[0].time_s < pair[1].time_s);
            assert!(pair[0].height_m <= flight.apex_m);
        }
    }
}

#[test]
fn what_cannot_be_launched_is_refused_by_name() {
    let sound = Launch::straight(60.0, 12.0, 3000.0);
    let air = Conditions::STILL_AIR;
    let name =
        |launch: Launch, conditions: Conditions| fly(&launch, &conditions).unwrap_err().argument;
    let refused: [(Launch, &str); 6] = [
        (Launch::straight(-5.0, 12.0, 3000.0), "ball_speed"),
        (Launch::straight(60.0, 90.0, 3000.0), "launch"),
        (Launch::straight(60.0, -1.0, 3000.0), "launch"),
        (Launch::straight(60.0, 12.0, 20_000.0), "spin"),
        (Launch::straight(60.0, 12.0, -1.0), "spin"),
        (Launch::straight(f64::NAN, 12.0, 3000.0), "ball_speed"),
    ];
    for (launch, argument) in refused {
        assert_eq!(name(launch, air), argument);
        assert_eq!(path(&launch, &air).unwrap_err().argument, argument);
    }
    let gale = Conditions {
        head_wind_m_s: 60.0,
        ..air
    };
    assert_eq!(name(sound, gale), "head_wind");
    assert_eq!(name(sound, Conditions::still(-0.1)), "air_density");
    let said = fly(&Launch::straight(60.0, 90.0, 0.0), &air).unwrap_err();
    assert_eq!(
        said.to_string(),
        "`launch` is 90 deg; from 0 to 80 deg is allowed"
    );
    // No spin at all is a ball like any other, of which no tunnel tells.
    let knuckle: Option<BeyondLiterature> = fly(&Launch::straight(60.0, 12.0, 0.0), &air)
        .unwrap()
        .beyond;
    assert_eq!(knuckle.unwrap().reached, 0.0);
}
