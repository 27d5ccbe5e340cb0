//! Checks of start and curve: closed forms, mirror symmetry, published shares.

use super::super::checking::{assert_bits, assert_close, combinations};
use super::*;

const YD: f64 = 0.9144;
const AIR: f64 = 1.2;

const DRIVER: Delivery = Delivery {
    head_speed_m_s: 45.0,
    attack_deg: 0.0,
    delivered_loft_deg: 12.0,
    head_mass_kg: 0.2,
    restitution: 0.83,
    friction: impact::DRY_FRICTION,
};

fn aimed(face_deg: f64, path_deg: f64) -> Launch {
    aimed_launch(Aimed {
        delivery: DRIVER,
        face_deg,
        path_deg,
    })
    .unwrap()
}

#[test]
fn a_square_face_over_a_straight_path_is_the_strike_itself() {
    let strike = impact::strike(DRIVER).unwrap();
    let launch = aimed(0.0, 0.0);
    assert_close(launch.launch_deg, strike.launch_deg, 1e-12);
    assert_close(launch.ball_speed_m_s, strike.ball_speed_m_s, 1e-12);
    assert_close(launch.spin_rpm, strike.spin_rpm, 1e-9);
    assert_eq!(launch.start_direction_deg, 0.0);
    assert_eq!(launch.axis_tilt_deg, 0.0);
}

#[test]
fn turning_face_and_path_together_turns_the_start_alone() {
    // The strike knows nothing of the target: the frame turned about the plumb line.
    let straight = aimed(3.0, 0.0);
    let turned = aimed(8.0, 5.0);
    assert_close(
        turned.start_direction_deg,
        straight.start_direction_deg + 5.0,
        1e-11,
    );
    assert_close(turned.launch_deg, straight.launch_deg, 1e-11);
    assert_close(turned.axis_tilt_deg, straight.axis_tilt_deg, 1e-10);
}

#[test]
fn closed_and_open_mirror_each_other() {
    for (face_deg, path_deg) in [(2.0, 0.0), (1.0, -3.0), (-4.0, 2.5), (12.0, 12.0)] {
        let one = aimed(face_deg, path_deg);
        let other = aimed(-face_deg, -path_deg);
        assert_eq!(one.start_direction_deg, -other.start_direction_deg);
        assert_eq!(one.axis_tilt_deg, -other.axis_tilt_deg);
        assert_eq!(one.launch_deg, other.launch_deg);
        assert_eq!(one.spin_rpm, other.spin_rpm);
    }
}

#[test]
fn the_ball_starts_between_face_and_path_and_curves_to_the_faces_side() {
    for (face_deg, path_deg) in [(2.0, 0.0), (2.0, -3.0), (6.0, 5.0)] {
        let launch = aimed(face_deg, path_deg);
        assert!(launch.start_direction_deg > path_deg);
        assert!(launch.start_direction_deg < face_deg);
        // Closed to the path: a draw.
        assert!(launch.axis_tilt_deg > 0.0);
    }
}

#[test]
fn the_axis_tilts_by_the_slope_of_the_plane_of_face_and_path() {
    // The plane through path (1, 0, 0) and normal (cos L cos f, cos L sin f, sin L) leans against
    // the plumb line by atan(cos L sin f / sin L); the start lies in it and nearly level, so that
    // the axis tilts as much, to a part in the cosine of the launch.
    let launch = aimed(2.0, 0.0);
    let (loft, face) = (12.0_f64.to_radians(), 2.0_f64.to_radians());
    let lean = libm::atan2(libm::cos(loft) * libm::sin(face), libm::sin(loft)).to_degrees();
    assert_close(launch.axis_tilt_deg, lean, 0.2);
}

#[test]
fn the_faces_share_lies_where_players_and_a_machine_put_it() {
    // Proceedings 2 (2018) 249: 61 % to 83 % from wedge to driver.
    let mut more = 0.83;
    for (attack, loft, mass, restitution) in [
        (0.0, 12.0, 0.2, 0.83),
        (-3.0, 20.0, 0.23, 0.80),
        (-4.0, 28.0, 0.26, 0.78),
        (-5.0, 46.0, 0.3, 0.78),
    ] {
        let share = face_share(attack, loft, mass, restitution).unwrap();
        assert!((0.61..=0.83).contains(&share), "{share} at {loft}");
        assert!(share < more);
        more = share;
    }
}

#[test]
fn the_driver_by_hand() {
    // θ 12.04°, tan δ = k tan θ with k = 1.22965 / (1.83 × 3.72965): δ 2.20°; the start is n times
    // cos δ − sin δ cot θ = 0.8194 plus p times sin δ / sin θ = 0.1838, so that of a degree of face
    // 0.8194 cos 12° / (0.8194 cos 12° + 0.1838) = 0.8135 is taken.
    assert_close(face_share(0.0, 12.0, 0.2, 0.83).unwrap(), 0.8135, 0.000_3);
}

#[test]
fn a_share_of_the_face_and_the_rest_of_the_path() {
    assert_eq!(start_direction_deg(2.0, -2.0, 0.75), Ok(1.0));
    assert_eq!(start_direction_deg(2.0, -2.0, 1.0), Ok(2.0));
    assert_eq!(start_direction_deg(2.0, -2.0, 0.0), Ok(-2.0));
}

#[test]
fn a_degree_of_lie_at_a_hundred_and_fifty_yards() {
    // 1.035° of face (atan(tan 46° sin 1°)), 150 yd × tan 1.035°.
    let all_face = lie_miss_m(46.0, 1.0, 150.0 * YD, 1.0).unwrap();
    assert_close(
        all_face / YD,
        150.0 * libm::tan(1.035_4_f64.to_radians()),
        0.002,
    );
    // A face of 1° is 2.618 yd there: the lie error that makes it, sin δ = tan 1° / tan 46°.
    let lie = libm::asin(libm::tan(1.0_f64.to_radians()) / libm::tan(46.0_f64.to_radians()));
    let a_degree = lie_miss_m(46.0, lie.to_degrees(), 150.0 * YD, 1.0).unwrap();
    assert_close(a_degree / YD, 2.618, 0.000_5);
    let part = lie_miss_m(46.0, 1.0, 150.0 * YD, 0.7).unwrap();
    assert_close(part, 0.7 * all_face, 0.001);
}

#[test]
fn upright_and_flat_miss_by_as_much_on_either_side() {
    for lie_error in [0.5, 1.0, 3.0, 8.0] {
        let up = lie_miss_m(46.0, lie_error, 120.0, 0.7).unwrap();
        let flat = lie_miss_m(46.0, -lie_error, 120.0, 0.7).unwrap();
        assert_eq!(up, -flat);
        assert!(up > 0.0);
        let fly = |error| lie_miss_in_flight_m(34.0, -4.0, 46.0, error, 0.3, 0.78, AIR);
        let (up, flat) = (fly(lie_error).unwrap(), fly(-lie_error).unwrap());
        assert_eq!(up.value, -flat.value);
        assert!(up.value > 0.0);
    }
}

#[test]
fn in_flight_the_miss_is_the_straight_one_and_some_curve() {
    let carry = super::super::club_carry::club_carry_m(36.0, -4.0, 32.0, 0.27, 0.78, AIR).unwrap();
    let share = face_share(-4.0, 32.0, 0.27, 0.78).unwrap();
    let straight = lie_miss_m(32.0, 2.0, carry.value, share).unwrap();
    let flown = lie_miss_in_flight_m(36.0, -4.0, 32.0, 2.0, 0.27, 0.78, AIR).unwrap();
    assert!(flown.value > straight);
    // Without air there is no curve: the straight line.
    let carry = super::super::club_carry::club_carry_m(36.0, -4.0, 32.0, 0.27, 0.78, 0.0).unwrap();
    let straight = lie_miss_m(32.0, 2.0, carry.value, share).unwrap();
    let flown = lie_miss_in_flight_m(36.0, -4.0, 32.0, 2.0, 0.27, 0.78, 0.0).unwrap();
    assert_close(flown.value, straight, 0.01 * straight);
}

#[test]
fn a_larger_lie_error_misses_by_more() {
    let mut nearer = -1.0;
    for half in 0..=16 {
        let error = f64::from(half) * 0.5;
        let miss = lie_miss_in_flight_m(36.0, -4.0, 40.0, error, 0.28, 0.78, AIR).unwrap();
        assert!(miss.value > nearer);
        nearer = miss.value;
    }
}

#[test]
fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
    // The formulas beside them are checked above.
    let launch = aimed(2.0, -3.0);
    assert_bits(launch.start_direction_deg, 0x3ff1_0553_47e1_c10d);
    assert_bits(launch.axis_tilt_deg, 0x4036_a4e4_69dc_1190);
    assert_bits(
        lie_miss_m(46.0, 1.5, 110.0, 0.7).unwrap(),
        0x4000_b222_a775_b820,
    );
}

#[test]
fn whatever_is_sent_is_answered_with_a_number_or_refused_by_name() {
    let names = [
        "head_speed",
        "attack_angle",
        "delivered_loft",
        "lie_error",
        "head_mass",
        "restitution",
        "air_density",
    ];
    let ends = [
        [4.9, 5.0, 40.0, 80.0],
        [-25.0, 0.0, 25.0, f64::NAN],
        [-15.0, 3.0, 28.0, 80.0],
        [-10.0, 0.0, 10.0, 10.1],
        [0.1, 0.2, 0.6, f64::INFINITY],
        [0.3, 0.83, 1.0, -1.0],
        [0.0, 1.2, 2.0, 2.1],
    ];
    for [speed, attack, loft, error, mass, restitution, air] in combinations(ends) {
        match lie_miss_in_flight_m(speed, attack, loft, error, mass, restitution, air) {
            Ok(answer) => assert!(answer.value.is_finite()),
            Err(refusal) => assert!(names.contains(&refusal.argument), "{refusal}"),
        }
    }
    assert_eq!(
        start_direction_deg(0.0, f64::NAN, 0.8)
            .unwrap_err()
            .argument,
        "path"
    );
    assert_eq!(
        lie_miss_m(46.0, 1.0, 1.0, 1.1).unwrap_err().argument,
        "face_share"
    );
}
