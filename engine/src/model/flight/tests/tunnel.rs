//! Checks of the measured coefficients: the grid itself, and what the governing bodies publish.

use super::super::aerodynamics::{Coefficients, Law};
use super::super::bearman_harvey::BearmanHarvey;
use super::super::bearman_harvey_grid::{DRAG, LIFT, SPEEDS_M_S};
use super::super::integrate::Motion;
use super::super::{Aerodynamics, Conditions, Launch, fly, fly_by};
use crate::model::air::density_kg_m3;
use crate::model::checking::{assert_bits, assert_close};

const YARD_M: f64 = 0.9144;
const MPH_M_S: f64 = 0.447_04;

/// 75 °F and 30 inHg, half humid: the air of the Overall Distance Standard.
fn test_air() -> Conditions {
    let air = density_kg_m3(297.039, 101_591.7, 0.5).unwrap();
    Conditions::still(air.value)
}

fn looked_up(speed_m_s: f64, spin_rpm: f64) -> Coefficients {
    let tunnel = BearmanHarvey::tunnel();
    let piece = tunnel.piece(speed_m_s, spin_rpm);
    tunnel.coefficients(&piece, speed_m_s, spin_rpm)
}

#[test]
fn every_node_of_the_grid_is_met() {
    let mut spin_rpm = 2000.0;
    for (drags, lifts) in DRAG.iter().zip(&LIFT) {
        for ((speed_m_s, drag), lift) in SPEEDS_M_S.iter().zip(drags).zip(lifts) {
            let found = looked_up(*speed_m_s, spin_rpm);
            assert_close(found.drag, *drag, 1e-12);
            assert_close(found.lift, *lift, 1e-12);
        }
        spin_rpm += 200.0;
    }
    assert_eq!(spin_rpm, 6200.0);
    // Between four nodes: 2900 rpm and 25.75 m/s lie in the middle of a cell.
    let middle = looked_up(25.75, 2900.0);
    let mean = |a: f64, b: f64, c: f64, d: f64| (a + b + c + d) / 4.0;
    assert_close(middle.drag, mean(0.3566, 0.3095, 0.3658, 0.3169), 1e-12);
    assert_close(middle.lift, mean(0.3205, 0.2947, 0.3362, 0.3049), 1e-12);
}

/// A ball that passes an end of a piece goes on with the piece's own line, and the next piece takes
/// up there.
#[test]
fn pieces_meet_at_their_ends() {
    let tunnel = BearmanHarvey::tunnel();
    for speed_m_s in SPEEDS_M_S {
        for spin_rpm in [0.0, 1_900.0, 2_000.0, 3_150.0, 6_000.0, 9_000.0] {
            let [slower, faster] = [speed_m_s - 0.1, speed_m_s + 0.1].map(|beside_m_s| {
                let piece = tunnel.piece(beside_m_s, spin_rpm);
                tunnel.coefficients(&piece, speed_m_s, spin_rpm)
            });
            assert_close(slower.drag, faster.drag, 1e-14);
            assert_close(slower.lift, faster.lift, 1e-14);
        }
    }
    for speed_m_s in [9.0, 30.0, 55.0, 91.0] {
        for node in 0..=20 {
            let spin_rpm = 2_000.0 + 200.0 * f64::from(node);
            let [less, more] = [spin_rpm - 5.0, spin_rpm + 5.0].map(|beside_rpm| {
                let piece = tunnel.piece(speed_m_s, beside_rpm);
                tunnel.coefficients(&piece, speed_m_s, spin_rpm)
            });
            assert_close(less.drag, more.drag, 1e-14);
            assert_close(less.lift, more.lift, 1e-14);
        }
    }
}

#[test]
fn beyond_the_edge_the_edge_holds_and_without_spin_there_is_no_lift() {
    let alike = |one: Coefficients, other: Coefficients| {
        assert_close(one.drag, other.drag, 1e-15);
        assert_close(one.lift, other.lift, 1e-15);
    };
    alike(looked_up(120.0, 20_000.0), looked_up(88.1, 6000.0));
    alike(looked_up(2.0, 3000.0), looked_up(13.7, 3000.0));
    let (edge, half) = (looked_up(60.0, 2000.0), looked_up(60.0, 1000.0));
    assert_close(half.lift, 0.5 * edge.lift, 1e-15);
    assert_close(half.drag, edge.drag, 1e-15);
    assert_eq!(looked_up(60.0, 0.0).lift, 0.0);
}

/// 50 m/s, 20°, 3500 rpm that stay, a ball of 41 mm and 46.01 g, air of 1.20 kg/m³, g 9.81: two
/// other integrators agree on 157.55 m, 25.66 m high, 5.845 s, within a centimetre of each other.
#[test]
fn the_tunnels_own_ball_as_two_other_integrators_have_it() {
    let area_m2 = std::f64::consts::FRAC_PI_4 * 0.041 * 0.041;
    let motion = Motion {
        law: BearmanHarvey::tunnel(),
        force_per_m: 0.5 * 1.20 * area_m2 / 0.046_01,
        spin_decay_per_m: 0.0,
        gravity_m_s2: 9.81,
        wind_m_s: [0.0; 3],
    };
    let landing = motion.fly(&Launch::straight(50.0, 20.0, 3500.0), |_| ());
    assert_close(landing.state.position_m[0], 157.55, 0.015);
    assert_close(landing.apex_m, 25.66, 0.01);
    assert_close(landing.time_s, 5.845, 0.001);
}

/// R&A/USGA Overall Distance Standard: a ball of 176 mph, 10° and 2520 rpm may come to 317 yd of
/// carry and roll (and 3 of tolerance); its carry must lie between 255 and 305.
#[test]
fn the_overall_distance_standard() {
    let launch = Launch::straight(176.0 * MPH_M_S, 10.0, 2520.0);
    for aerodynamics in [Aerodynamics::BearmanHarvey, Aerodynamics::SmitsSmith] {
        let flight = fly_by(aerodynamics, &launch, &test_air()).unwrap();
        let carry_yd = flight.carry_m / YARD_M;
        assert!((255.0..=305.0).contains(&carry_yd), "{carry_yd}");
    }
}

/// R&A/USGA 2015 Distance Report, averages of a tour: ball 167.7 mph, 10.8°, 2599 rpm; drives of
/// 290.6 yd with their roll, to be met within 5 %. A drive that lands at about 40° rolls 15 to
/// 35 yd (*common practice, no source*).
#[test]
fn the_average_drive_of_the_distance_report() {
    let launch = Launch::straight(167.7 * MPH_M_S, 10.8, 2599.0);
    let flight = fly(&launch, &test_air()).unwrap();
    let carry_yd = flight.carry_m / YARD_M;
    let total_yd = (carry_yd + 15.0, carry_yd + 35.0);
    assert!(total_yd.0 <= 290.6 * 1.05 && total_yd.1 >= 290.6 * 0.95);
    assert_eq!(flight.beyond, None);
}

#[test]
fn what_was_not_measured_is_flown_and_said() {
    let air = test_air();
    let said = |launch: &Launch| fly(launch, &air).unwrap().beyond.map(|b| b.quantity);
    assert_eq!(said(&Launch::straight(70.0, 11.0, 2600.0)), None);
    let wedge = Launch::straight(45.0, 28.0, 9000.0);
    assert_eq!(said(&wedge), Some("the spin in flight"));
    let knuckle = Launch::straight(60.0, 12.0, 0.0);
    assert_eq!(said(&knuckle), Some("the spin in flight"));
    let chip = Launch::straight(9.0, 30.0, 3000.0);
    assert_eq!(said(&chip), Some("the speed through the air"));
    let formulas = fly_by(Aerodynamics::SmitsSmith, &wedge, &air).unwrap();
    assert_eq!(formulas.beyond.unwrap().quantity, "the spin parameter");
}

/// Golden bits, beside what SciPy's adaptive integrator DOP853 says of the same equations, written
/// a second time in Python, with a relative tolerance of 1e-10.
#[test]
fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
    let launch = Launch {
        start_direction_deg: -2.5,
        axis_tilt_deg: 9.0,
        ..Launch::straight(62.5, 13.0, 3100.0)
    };
    let conditions = Conditions {
        head_wind_m_s: 3.0,
        cross_wind_m_s: -2.0,
        ..Conditions::still(1.19)
    };
    let flight = fly(&launch, &conditions).unwrap();
    for (found, scipy, bits) in [
        (flight.carry_m, 188.7805, 0x4067_98f6_fcb8_a630),
        (flight.lateral_m, 0.3126, 0x3fd4_021c_3506_9180),
        (flight.apex_m, 26.1261, 0x403a_204a_6247_ba7e),
        (flight.time_s, 6.3805, 0x4019_85a0_dc72_0d61),
        (flight.landing_angle_deg, 43.1652, 0x4045_9525_91c8_f896),
        (flight.landing_speed_m_s, 23.7067, 0x4037_b4eb_3733_b6d1),
        (flight.landing_spin_rpm, 2557.5655, 0x40a3_fb21_c52c_8e8c),
    ] {
        assert_close(found, scipy, 0.002);
        assert_bits(found, bits);
    }
    let formulas = fly_by(Aerodynamics::SmitsSmith, &launch, &conditions).unwrap();
    assert_close(formulas.carry_m, 196.5055, 0.001);
    assert_bits(formulas.carry_m, 0x4068_9027_50f5_6d3d);
}
