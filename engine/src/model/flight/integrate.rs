//! The equations of motion and how they are followed.

use super::PathPoint;
use super::aerodynamics::Aerodynamics;
use super::ball;
use super::launch::{Conditions, Launch};
use crate::model::math::{cos_deg, sin_deg};

/// Standard gravity in m/s² (CGPM 1901, exact).
const GRAVITY_M_S2: f64 = 9.806_65;
/// Smits & Smith 1994: the spin falls by 0.0004 × mph × rpm each second; for each metre of path.
const SPIN_DECAY_PER_M: f64 = 0.000_4 / 0.447_04;

const STEP_S: f64 = 0.05;
const MOST_STEPS: usize = 4000;

/// Where the ball is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct State {
    /// Along the target line, across it toward the side of a draw, up.
    pub(super) position_m: [f64; 3],
    pub(super) velocity_m_s: [f64; 3],
    pub(super) spin_rpm: f64,
}

/// Where it comes back to the height of its launch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Landing {
    pub(super) state: State,
    pub(super) time_s: f64,
    pub(super) apex_m: f64,
}

/// The forces on a ball in its air.
#[derive(Debug, Clone, Copy)]
pub(super) struct Motion<A> {
    aerodynamics: A,
    /// ½ ρ A / m.
    force_per_m: f64,
    wind_m_s: [f64; 3],
}

impl<A: Aerodynamics> Motion<A> {
    pub(super) fn new(aerodynamics: A, conditions: &Conditions) -> Self {
        let half_density = 0.5 * conditions.air_density_kg_m3;
        Self {
            aerodynamics,
            force_per_m: half_density * ball::FRONT_AREA_M2 / ball::MASS_KG,
            wind_m_s: [-conditions.head_wind_m_s, conditions.cross_wind_m_s, 0.0],
        }
    }

    pub(super) fn aerodynamics(&self) -> &A {
        &self.aerodynamics
    }

    /// Follows the ball; `visit` sees every point on the way.
    pub(super) fn fly(&self, launch: &Launch, mut visit: impl FnMut(PathPoint)) -> Landing {
        let axis = axis_of(launch);
        let mut here = start_of(launch);
        let mut landing = Landing {
            state: here,
            time_s: 0.0,
            apex_m: 0.0,
        };
        visit(point(&here, 0.0));
        let mut time_s = 0.0;
        for _ in 0..MOST_STEPS {
            let next = self.step(&here, &axis, STEP_S);
            landing.apex_m = landing.apex_m.max(apex_within(&here, STEP_S));
            if next.position_m[2] <= 0.0 {
                let mut part_s = 0.0;
                let mut state = here;
                for _ in 0..4 {
                    let fall_m_s = state.velocity_m_s[2];
                    if fall_m_s < 0.0 {
                        part_s -= state.position_m[2] / fall_m_s;
                    } else {
                        part_s = STEP_S;
                    }
                    state = self.step(&here, &axis, part_s);
                }
                landing.state = state;
                landing.time_s = time_s + part_s;
                visit(point(&state, landing.time_s));
                return landing;
            }
            time_s += STEP_S;
            here = next;
            visit(point(&here, time_s));
        }
        landing.state = here;
        landing.time_s = time_s;
        landing
    }

    fn step(&self, state: &State, axis: &[f64; 3], step_s: f64) -> State {
        let half_s = 0.5 * step_s;
        let first = self.rate(state, axis);
        let second = self.rate(&moved(state, &first, half_s), axis);
        let third = self.rate(&moved(state, &second, half_s), axis);
        let fourth = self.rate(&moved(state, &third, step_s), axis);
        let sixth_s = step_s / 6.0;
        let ends = moved(&moved(state, &first, sixth_s), &fourth, sixth_s);
        moved(&moved(&ends, &second, 2.0 * sixth_s), &third, 2.0 * sixth_s)
    }

    /// The rate of change of a state, itself in the shape of one.
    fn rate(&self, state: &State, axis: &[f64; 3]) -> State {
        let [x, y, z] = state.velocity_m_s;
        let [wind_x, wind_y, wind_z] = self.wind_m_s;
        let [x, y, z] = [x - wind_x, y - wind_y, z - wind_z];
        let speed_m_s = (x * x + y * y + z * z).sqrt();
        let coefficients = self.aerodynamics.at(speed_m_s, state.spin_rpm);
        let drag = self.force_per_m * speed_m_s * coefficients.drag;
        let lift = self.force_per_m * speed_m_s * coefficients.lift;
        let [a, b, c] = *axis;
        State {
            position_m: state.velocity_m_s,
            velocity_m_s: [
                lift * (b * z - c * y) - drag * x,
                lift * (c * x - a * z) - drag * y,
                lift * (a * y - b * x) - drag * z - GRAVITY_M_S2,
            ],
            spin_rpm: -SPIN_DECAY_PER_M * speed_m_s * state.spin_rpm,
        }
    }
}

fn moved(state: &State, rate: &State, step_s: f64) -> State {
    let add =
        |[a, b, c]: [f64; 3], [d, e, f]: [f64; 3]| [a + step_s * d, b + step_s * e, c + step_s * f];
    State {
        position_m: add(state.position_m, rate.position_m),
        velocity_m_s: add(state.velocity_m_s, rate.velocity_m_s),
        spin_rpm: state.spin_rpm + step_s * rate.spin_rpm,
    }
}

fn point(state: &State, time_s: f64) -> PathPoint {
    let [along_m, lateral_m, height_m] = state.position_m;
    PathPoint {
        time_s,
        along_m,
        lateral_m,
        height_m,
    }
}

fn apex_within(state: &State, step_s: f64) -> f64 {
    let rise_m_s = state.velocity_m_s[2];
    let until_top_s = (rise_m_s / GRAVITY_M_S2).clamp(0.0, step_s);
    state.position_m[2] + until_top_s * rise_m_s * 0.5
}

fn start_of(launch: &Launch) -> State {
    let level_m_s = launch.ball_speed_m_s * cos_deg(launch.launch_deg);
    State {
        position_m: [0.0; 3],
        velocity_m_s: [
            level_m_s * cos_deg(launch.start_direction_deg),
            level_m_s * sin_deg(launch.start_direction_deg),
            launch.ball_speed_m_s * sin_deg(launch.launch_deg),
        ],
        spin_rpm: launch.spin_rpm,
    }
}

/// The spin's axis, of length 1 and across the launch: backspin turns about the line that points
/// away from the side of a draw, and the tilt raises that line toward what is "up" for the launch.
fn axis_of(launch: &Launch) -> [f64; 3] {
    let (sin_up, cos_up) = (sin_deg(launch.launch_deg), cos_deg(launch.launch_deg));
    let (sin_to, cos_to) = (
        sin_deg(launch.start_direction_deg),
        cos_deg(launch.start_direction_deg),
    );
    let (sin_tilt, cos_tilt) = (sin_deg(launch.axis_tilt_deg), cos_deg(launch.axis_tilt_deg));
    [
        cos_tilt * sin_to - sin_tilt * sin_up * cos_to,
        -cos_tilt * cos_to - sin_tilt * sin_up * sin_to,
        sin_tilt * cos_up,
    ]
}
