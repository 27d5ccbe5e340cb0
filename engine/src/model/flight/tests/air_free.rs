//! Checks that need no measured coefficients: closed forms of mechanics.
//!
//! For drag that goes with the square of the speed, k = ½ ρ A CD / m: terminal speed √(g / k);
//! after a fall of h from rest √(g/k (1 − e^(−2kh))); without gravity, a path of ln(1 + k v t) / k.
//! The figures are for CD 0.25, air of 1.225 kg/m³, a ball of 45.93 g and 42.67 mm.

use super::super::aerodynamics::{Coefficients, Ends, Extremes, Law};
use super::super::integrate::{GRAVITY_M_S2, Motion, State};
use super::super::{Conditions, Launch, fly};
use crate::model::answer::BeyondLiterature;
use crate::model::checking::assert_close;

const DRAG: f64 = 0.25;
const YARD_M: f64 = 0.9144;
const MPH_M_S: f64 = 0.447_04;

/// The same drag at every speed, and no lift.
#[derive(Debug, Clone, Copy)]
struct ConstantDrag;

impl Law for ConstantDrag {
    type Piece = ();

    fn piece(&self, _: f64, _: f64) {}

    fn ends((): &()) -> Ends {
        Ends::NONE
    }

    fn coefficients(&self, (): &(), _: f64, _: f64) -> Coefficients {
        Coefficients {
            drag: DRAG,
            lift: 0.0,
        }
    }

    fn beyond(&self, _: &Extremes) -> Option<BeyondLiterature> {
        None
    }
}

const AXIS: [f64; 3] = [0.0, -1.0, 0.0];

fn motion() -> Motion<ConstantDrag> {
    Motion::new(ConstantDrag, &Conditions::STILL_AIR)
}

fn stepped(motion: &Motion<ConstantDrag>, state: &State, step_s: f64) -> State {
    let [x, y, z] = state.velocity_m_s;
    let speed_m_s = (x * x + y * y + z * z).sqrt();
    let rate = motion.rate::<false>(state, speed_m_s, &AXIS, &());
    motion.step::<false>(state, &rate, &AXIS, step_s, &())
}

fn drag_per_m() -> f64 {
    motion().force_per_m * DRAG
}

fn at_rest() -> State {
    State {
        position_m: [0.0; 3],
        velocity_m_s: [0.0; 3],
        spin_rpm: 0.0,
    }
}

#[test]
fn without_air_the_ball_flies_a_parabola() {
    // 150 mph at 12°: v² sin 2θ / g, v² sin² θ / 2g, 2 v sin θ / g.
    let launch = Launch::straight(150.0 * MPH_M_S, 12.0, 3000.0);
    let flight = fly(&launch, &Conditions::still(0.0)).unwrap();
    assert_close(flight.carry_m / YARD_M, 203.95, 0.005);
    assert_close(flight.apex_m / YARD_M, 10.838, 0.0005);
    assert_close(flight.time_s, 2.8433, 0.000_05);
    let (sine, cosine) = (libm::sin(0.3_f64), libm::cos(0.3_f64));
    for ball_speed_m_s in [3.0, 20.0, 45.0, 90.0, 120.0] {
        let launch = Launch::straight(ball_speed_m_s, 0.3_f64.to_degrees(), 9000.0);
        let flight = fly(&launch, &Conditions::still(0.0)).unwrap();
        let square = ball_speed_m_s * ball_speed_m_s;
        let carry_m = 2.0 * square * sine * cosine / GRAVITY_M_S2;
        assert_close(flight.carry_m, carry_m, 1e-9 * carry_m);
        let apex_m = square * sine * sine / (2.0 * GRAVITY_M_S2);
        assert_close(flight.apex_m, apex_m, 1e-9 * apex_m);
        let time_s = 2.0 * ball_speed_m_s * sine / GRAVITY_M_S2;
        assert_close(flight.time_s, time_s, 1e-9 * time_s);
    }
}

/// Energy, the momentum along the ground and the spin stay what they were.
#[test]
fn without_air_nothing_is_lost() {
    for launch_deg in [5.0, 30.0, 60.0, 80.0] {
        let launch = Launch {
            start_direction_deg: 12.0,
            axis_tilt_deg: -20.0,
            ..Launch::straight(70.0, launch_deg, 6000.0)
        };
        let flight = fly(&launch, &Conditions::still(0.0)).unwrap();
        assert_close(flight.landing_speed_m_s, 70.0, 1e-9);
        assert_close(flight.landing_angle_deg, launch_deg, 1e-9);
        assert_close(flight.landing_spin_rpm, 6000.0, 0.0);
        // It leaves the plane of the launch by nothing.
        let bearing = libm::atan2(flight.lateral_m, flight.carry_m).to_degrees();
        assert_close(bearing, 12.0, 1e-9);
    }
}

#[test]
fn a_ball_that_falls_long_reaches_its_terminal_speed() {
    let motion = motion();
    let mut state = at_rest();
    for _ in 0..6000 {
        state = stepped(&motion, &state, 0.01);
    }
    let [_, _, rise_m_s] = state.velocity_m_s;
    assert_close(-rise_m_s, 45.354, 0.001);
    assert_close(-rise_m_s, (GRAVITY_M_S2 / drag_per_m()).sqrt(), 1e-6);
}

#[test]
fn a_ball_dropped_from_fifty_metres() {
    let motion = motion();
    let mut state = at_rest();
    let step_s = 0.000_5;
    let mut before = state;
    while state.position_m[2] > -50.0 {
        before = state;
        state = stepped(&motion, &state, step_s);
    }
    let past_m = -50.0 - before.position_m[2];
    let share = past_m / (state.position_m[2] - before.position_m[2]);
    let speed_m_s =
        -(before.velocity_m_s[2] + share * (state.velocity_m_s[2] - before.velocity_m_s[2]));
    assert_close(speed_m_s, 27.929, 0.001);
    let gone = libm::exp(-2.0 * drag_per_m() * 50.0);
    let closed_m_s = (GRAVITY_M_S2 / drag_per_m() * (1.0 - gone)).sqrt();
    assert_close(speed_m_s, closed_m_s, 1e-6);
}

#[test]
fn without_gravity_drag_alone_slows_the_ball() {
    let motion = Motion {
        gravity_m_s2: 0.0,
        ..motion()
    };
    let mut state = State {
        velocity_m_s: [70.0, 0.0, 0.0],
        ..at_rest()
    };
    for _ in 0..20 {
        state = stepped(&motion, &state, 0.1);
    }
    let [along_m, across_m, up_m] = state.position_m;
    assert_close(along_m, 107.246, 0.001);
    let rate = drag_per_m();
    assert_close(along_m, libm::log(1.0 + rate * 70.0 * 2.0) / rate, 1e-5);
    assert_eq!((across_m, up_m), (0.0, 0.0));
}

/// Wind is nothing but a moving frame: a ball that leaves so that the air does not know of the wind
/// comes down where the wind has carried that air.
#[test]
fn a_steady_wind_is_a_frame_that_moves() {
    let air = Conditions::STILL_AIR;
    let calm = fly(&Launch::straight(50.0, 20.0, 3000.0), &air).unwrap();
    // The same velocity through the air, with 8 m/s at its back: both start along the target line.
    let (along_m_s, up_m_s) = (50.0 * cos_20() + 8.0, 50.0 * sin_20());
    let speed_m_s = (along_m_s * along_m_s + up_m_s * up_m_s).sqrt();
    let launch_deg = libm::atan2(up_m_s, along_m_s).to_degrees();
    let helped = Conditions {
        head_wind_m_s: -8.0,
        ..air
    };
    // The spin's axis lies level, so that it is across both launches.
    let blown = fly(&Launch::straight(speed_m_s, launch_deg, 3000.0), &helped).unwrap();
    assert_close(blown.time_s, calm.time_s, 1e-9);
    assert_close(blown.carry_m, calm.carry_m + 8.0 * calm.time_s, 1e-9);
    assert_close(blown.apex_m, calm.apex_m, 1e-9);
}

fn cos_20() -> f64 {
    libm::cos(20.0_f64.to_radians())
}

fn sin_20() -> f64 {
    libm::sin(20.0_f64.to_radians())
}

#[test]
fn the_spin_dies_away_as_smits_and_smith_measured() {
    // 0.0004 × 120 mph × 7097 rpm = 340 rpm each second, within 8 %.
    let motion = Motion {
        gravity_m_s2: 0.0,
        ..motion()
    };
    let state = State {
        velocity_m_s: [120.0 * MPH_M_S, 0.0, 0.0],
        spin_rpm: 7097.0,
        ..at_rest()
    };
    let after = stepped(&motion, &state, 0.001);
    let lost_rpm = (state.spin_rpm - after.spin_rpm) / 0.001;
    assert_close(lost_rpm, 340.0, 0.08 * 340.0);
}
