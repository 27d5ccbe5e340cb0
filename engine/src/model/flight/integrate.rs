//! The equations of motion, and how a ball is followed to where it lands.
//!
//! The classical fourth-order Runge-Kutta method, piece by piece of the law: between the nodes of a
//! grid the coefficients are smooth, at a node their slopes jump, and a step across one would be no
//! better than its square. So each step ends about where the ball will pass a node, by how fast it
//! slows and loses spin, and for as long the coefficients go on as they began. That leaves less
//! than a centimetre of carry against steps of 0.1 ms, with about seventeen steps. Nothing adapts
//! to an estimate of the error, and nothing in a step is more than + − × ÷ √.
//!
//! The last step is cut to the time at which the cubic through its two ends meets the ground.

use super::PathPoint;
use super::aerodynamics::{Ends, Extremes, Law};
use super::ball;
use super::launch::{Conditions, Launch};
use super::stretch::{Arc, Stretch};
use crate::model::math::{cos_deg, sin_deg};

/// Standard gravity in m/s² (CGPM 1901, exact).
pub(super) const GRAVITY_M_S2: f64 = 9.806_65;

/// Smits & Smith 1994: the spin falls by 0.0004 × mph × rpm each second. For each metre of path
/// that is a share of the spin.
const SPIN_DECAY_PER_M: f64 = 0.000_4 / 0.447_04;
/// The density of the air in which it was measured, in a laboratory; it is the air that slows the
/// spin, so its share goes with the density.
const SPIN_DECAY_AIR_KG_M3: f64 = 1.204;

/// How much air streams past the ball in the shortest step, in metres.
const SHORTEST_STEP_M: f64 = 1.0;
/// The longest step, in seconds: the carry of two hundred flights is then within 3 mm of what an
/// adaptive integrator says; with 0.45 s, within a centimetre.
const LONGEST_STEP_S: f64 = 0.4;
/// No flight within the ranges of a launch takes a fifth of this (see the tests).
pub(super) const MOST_STEPS: usize = 4_000;

/// Where the ball is, seen from the air: the frame moves with the wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct State {
    /// Along the target line, across it toward the side of a draw, up.
    pub(super) position_m: [f64; 3],
    pub(super) velocity_m_s: [f64; 3],
    pub(super) spin_rpm: f64,
}

impl State {
    pub(super) fn height_m(&self) -> f64 {
        let [_, _, height_m] = self.position_m;
        height_m
    }

    pub(super) fn rise_m_s(&self) -> f64 {
        let [_, _, rise_m_s] = self.velocity_m_s;
        rise_m_s
    }
}

/// Where it comes back to the height of its launch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Landing {
    pub(super) state: State,
    pub(super) time_s: f64,
    pub(super) apex_m: f64,
    pub(super) extremes: Extremes,
    pub(super) steps: usize,
}

/// The forces on a ball in its air.
#[derive(Debug, Clone, Copy)]
pub(super) struct Motion<L> {
    pub(super) law: L,
    /// ½ ρ A / m.
    pub(super) force_per_m: f64,
    /// The share of its spin that a ball loses with each metre of air.
    pub(super) spin_decay_per_m: f64,
    pub(super) gravity_m_s2: f64,
    pub(super) wind_m_s: [f64; 3],
}

/// How fast velocity and spin change.
pub(super) struct Rate {
    velocity_m_s2: [f64; 3],
    spin_rpm_s: f64,
}

impl<L: Law> Motion<L> {
    pub(super) fn new(law: L, conditions: &Conditions) -> Self {
        let density_kg_m3 = conditions.air_density_kg_m3;
        Self {
            law,
            force_per_m: 0.5 * density_kg_m3 * ball::FRONT_AREA_M2 / ball::MASS_KG,
            spin_decay_per_m: SPIN_DECAY_PER_M * (density_kg_m3 / SPIN_DECAY_AIR_KG_M3),
            gravity_m_s2: GRAVITY_M_S2,
            wind_m_s: [-conditions.head_wind_m_s, conditions.cross_wind_m_s, 0.0],
        }
    }

    /// Follows the ball to its landing, seen from the ground; `visit` sees every stretch of the
    /// way.
    pub(super) fn fly(&self, launch: &Launch, visit: impl FnMut(&Stretch)) -> Landing {
        let Start { velocity_m_s, axis } = Start::of(launch);
        let state = State {
            position_m: [0.0; 3],
            velocity_m_s: ahead::<false>(velocity_m_s, self.wind_m_s, -1.0),
            spin_rpm: launch.spin_rpm,
        };
        let [_, across_m_s, _] = state.velocity_m_s;
        let [along, _, up] = axis;
        if along == 0.0 && up == 0.0 && across_m_s == 0.0 {
            self.follow::<true>(state, &axis, visit)
        } else {
            self.follow::<false>(state, &axis, visit)
        }
    }

    /// `IS_STRAIGHT`: the spin's axis is level and across the flight, and nothing moves across it.
    /// All that is left out then are zeros, which change no bit of the rest.
    fn follow<const IS_STRAIGHT: bool>(
        &self,
        start: State,
        axis: &[f64; 3],
        mut visit: impl FnMut(&Stretch),
    ) -> Landing {
        let mut landing = Landing {
            state: start,
            time_s: 0.0,
            apex_m: 0.0,
            extremes: Extremes {
                speed_m_s: (f64::INFINITY, 0.0),
                spin_rpm: (start.spin_rpm, start.spin_rpm),
            },
            steps: 0,
        };
        let mut speed_m_s = landing.arrives::<IS_STRAIGHT>(start, 0.0);
        let mut piece = self.law.piece(speed_m_s, start.spin_rpm);
        while landing.steps < MOST_STEPS {
            let (from, from_s) = (landing.state, landing.time_s);
            let (rate, mut step_s) =
                self.sets_out::<IS_STRAIGHT>(&from, speed_m_s, axis, &mut piece);
            let mut to = self.step::<IS_STRAIGHT>(&from, &rate, axis, step_s, &piece);
            landing.steps += 1;
            let arc = Arc::between(&from, &to, step_s);
            landing.apex_m = landing.apex_m.max(arc.top_m());
            let is_last = to.height_m() <= 0.0;
            if is_last {
                step_s *= arc.share_at_ground();
                to = self.step::<IS_STRAIGHT>(&from, &rate, axis, step_s, &piece);
            }
            speed_m_s = landing.arrives::<IS_STRAIGHT>(to, step_s);
            visit(&Stretch {
                from,
                from_s,
                to,
                step_s,
            });
            if is_last {
                break;
            }
        }
        landing.state = self.seen_from_the_ground(&landing.state, landing.time_s);
        landing
    }

    /// How fast a step sets out and how long it takes: to about the end of the piece. Where that
    /// end is near, the step is in the next piece.
    #[inline(always)]
    fn sets_out<const IS_STRAIGHT: bool>(
        &self,
        from: &State,
        speed_m_s: f64,
        axis: &[f64; 3],
        piece: &mut L::Piece,
    ) -> (Rate, f64) {
        let slowness_s_m = 1.0 / speed_m_s;
        let shortest_s = SHORTEST_STEP_M * slowness_s_m;
        let within = |piece: &L::Piece| {
            let rate = self.rate::<IS_STRAIGHT>(from, speed_m_s, axis, piece);
            let slowing = Slowing::of::<IS_STRAIGHT>(from, slowness_s_m, &rate);
            let within_s = slowing.time_within_s(from, speed_m_s, &L::ends(piece));
            (rate, slowing, within_s)
        };
        let (mut rate, slowing, mut within_s) = within(piece);
        if within_s < shortest_s {
            let (soon_m_s, soon_rpm) = slowing.after(from, speed_m_s, shortest_s);
            *piece = self.law.piece(soon_m_s, soon_rpm);
            (rate, _, within_s) = within(piece);
        }
        (rate, within_s.max(shortest_s).min(LONGEST_STEP_S))
    }

    /// The state after a step that sets out at this rate. No force depends on where the ball is, so
    /// that the position follows from the velocities without stages of its own. Always inlined, as
    /// what it calls: the stages then stay in registers, which takes a quarter off a flight.
    #[inline(always)]
    pub(super) fn step<const IS_STRAIGHT: bool>(
        &self,
        from: &State,
        first: &Rate,
        axis: &[f64; 3],
        step_s: f64,
        piece: &L::Piece,
    ) -> State {
        let half_s = 0.5 * step_s;
        let (velocity_m_s, spin_rpm) = (from.velocity_m_s, from.spin_rpm);
        let second = self.rate_after::<IS_STRAIGHT>(from, first, half_s, axis, piece);
        let third = self.rate_after::<IS_STRAIGHT>(from, &second, half_s, axis, piece);
        let fourth = self.rate_after::<IS_STRAIGHT>(from, &third, step_s, axis, piece);
        let sixth_s = step_s * (1.0 / 6.0);
        let [a, b, c, d] = [first, &second, &third, &fourth];
        let middle = sum::<IS_STRAIGHT>(b.velocity_m_s2, c.velocity_m_s2);
        let ends = sum::<IS_STRAIGHT>(a.velocity_m_s2, d.velocity_m_s2);
        let level = ahead::<IS_STRAIGHT>(from.position_m, velocity_m_s, step_s);
        let start = sum::<IS_STRAIGHT>(a.velocity_m_s2, middle);
        let all = sum::<IS_STRAIGHT>(ends, sum::<IS_STRAIGHT>(middle, middle));
        State {
            position_m: ahead::<IS_STRAIGHT>(level, start, step_s * sixth_s),
            velocity_m_s: ahead::<IS_STRAIGHT>(velocity_m_s, all, sixth_s),
            spin_rpm: spin_rpm
                + sixth_s * ((a.spin_rpm_s + d.spin_rpm_s) + 2.0 * (b.spin_rpm_s + c.spin_rpm_s)),
        }
    }

    /// The rate of change where a rate leads within a time.
    #[inline(always)]
    fn rate_after<const IS_STRAIGHT: bool>(
        &self,
        from: &State,
        rate: &Rate,
        time_s: f64,
        axis: &[f64; 3],
        piece: &L::Piece,
    ) -> Rate {
        let there = State {
            position_m: from.position_m,
            velocity_m_s: ahead::<IS_STRAIGHT>(from.velocity_m_s, rate.velocity_m_s2, time_s),
            spin_rpm: from.spin_rpm + time_s * rate.spin_rpm_s,
        };
        let speed_m_s = size::<IS_STRAIGHT>(there.velocity_m_s);
        self.rate::<IS_STRAIGHT>(&there, speed_m_s, axis, piece)
    }

    #[inline(always)]
    pub(super) fn rate<const IS_STRAIGHT: bool>(
        &self,
        state: &State,
        speed_m_s: f64,
        [a, b, c]: &[f64; 3],
        piece: &L::Piece,
    ) -> Rate {
        let coefficients = self.law.coefficients(piece, speed_m_s, state.spin_rpm);
        let force = self.force_per_m * speed_m_s;
        let drag = force * coefficients.drag;
        let lift = force * coefficients.lift;
        let [x, y, z] = state.velocity_m_s;
        let velocity_m_s2 = if IS_STRAIGHT {
            [
                lift * (b * z) - drag * x,
                0.0,
                lift * (0.0 - b * x) - drag * z - self.gravity_m_s2,
            ]
        } else {
            [
                lift * (b * z - c * y) - drag * x,
                lift * (c * x - a * z) - drag * y,
                lift * (a * y - b * x) - drag * z - self.gravity_m_s2,
            ]
        };
        Rate {
            velocity_m_s2,
            spin_rpm_s: -(self.spin_decay_per_m * speed_m_s) * state.spin_rpm,
        }
    }

    fn seen_from_the_ground(&self, state: &State, time_s: f64) -> State {
        State {
            position_m: ahead::<false>(state.position_m, self.wind_m_s, time_s),
            velocity_m_s: sum::<false>(state.velocity_m_s, self.wind_m_s),
            spin_rpm: state.spin_rpm,
        }
    }

    /// A share of the way along a stretch, seen from the ground.
    pub(super) fn point(&self, stretch: &Stretch, share: f64) -> PathPoint {
        let time_s = stretch.from_s + share * stretch.step_s;
        let [along_m, lateral_m, height_m] =
            ahead::<false>(stretch.position_m(share), self.wind_m_s, time_s);
        PathPoint {
            time_s,
            along_m,
            lateral_m,
            height_m,
        }
    }
}

/// How fast a ball's speed through the air and its spin change.
#[derive(Debug, Clone, Copy)]
struct Slowing {
    speed_m_s2: f64,
    spin_rpm_s: f64,
}

impl Slowing {
    #[inline(always)]
    fn of<const IS_STRAIGHT: bool>(state: &State, slowness_s_m: f64, rate: &Rate) -> Self {
        let [x, y, z] = state.velocity_m_s;
        let [a, b, c] = rate.velocity_m_s2;
        let across = if IS_STRAIGHT { 0.0 } else { y * b };
        Self {
            speed_m_s2: (x * a + across + z * c) * slowness_s_m,
            spin_rpm_s: rate.spin_rpm_s,
        }
    }

    /// The speed and the spin after a short time.
    fn after(&self, state: &State, speed_m_s: f64, time_s: f64) -> (f64, f64) {
        let soon_m_s = speed_m_s + time_s * self.speed_m_s2;
        (soon_m_s, state.spin_rpm + time_s * self.spin_rpm_s)
    }

    /// About how long it stays within these ends; less than nothing beyond them. Of what slows it
    /// by the square of its speed, as the air does, that is exact.
    #[inline(always)]
    fn time_within_s(&self, state: &State, speed_m_s: f64, ends: &Ends) -> f64 {
        let (slowest_m_s, fastest_m_s) = ends.speed_m_s;
        let speed_s = if self.speed_m_s2 < 0.0 {
            let above_m_s = speed_m_s - slowest_m_s;
            speed_m_s * above_m_s / (-self.speed_m_s2 * slowest_m_s)
        } else {
            (fastest_m_s - speed_m_s) / self.speed_m_s2
        };
        // No number where neither moves: then the other one counts.
        speed_s.min((ends.least_spin_rpm - state.spin_rpm) / self.spin_rpm_s)
    }
}

#[inline]
fn size<const IS_STRAIGHT: bool>([x, y, z]: [f64; 3]) -> f64 {
    if IS_STRAIGHT {
        (x * x + z * z).sqrt()
    } else {
        (x * x + y * y + z * z).sqrt()
    }
}

#[inline]
fn sum<const IS_STRAIGHT: bool>([a, b, c]: [f64; 3], [d, e, f]: [f64; 3]) -> [f64; 3] {
    [a + d, if IS_STRAIGHT { 0.0 } else { b + e }, c + f]
}

/// Where a vector comes to that changes evenly for a time.
#[inline]
fn ahead<const IS_STRAIGHT: bool>(
    [a, b, c]: [f64; 3],
    [d, e, f]: [f64; 3],
    time_s: f64,
) -> [f64; 3] {
    let across = if IS_STRAIGHT { 0.0 } else { b + time_s * e };
    [a + time_s * d, across, c + time_s * f]
}

impl Landing {
    /// The ball is there after a time; how fast.
    #[inline(always)]
    fn arrives<const IS_STRAIGHT: bool>(&mut self, state: State, after_s: f64) -> f64 {
        self.state = state;
        self.time_s += after_s;
        let speed_m_s = size::<IS_STRAIGHT>(state.velocity_m_s);
        let (slowest_m_s, fastest_m_s) = self.extremes.speed_m_s;
        self.extremes.speed_m_s = (slowest_m_s.min(speed_m_s), fastest_m_s.max(speed_m_s));
        self.extremes.spin_rpm.0 = state.spin_rpm;
        speed_m_s
    }
}

/// What a ball starts with, seen from the ground.
struct Start {
    velocity_m_s: [f64; 3],
    /// The spin's axis, of length 1 and across the launch: backspin turns about the level line that
    /// points away from the side of a draw, and the tilt turns that line toward what is up across
    /// the launch.
    axis: [f64; 3],
}

impl Start {
    fn of(launch: &Launch) -> Self {
        let both = |angle_deg| (sin_deg(angle_deg), cos_deg(angle_deg));
        let (sin_up, cos_up) = both(launch.launch_deg);
        let (sin_to, cos_to) = both(launch.start_direction_deg);
        let (sin_tilt, cos_tilt) = both(launch.axis_tilt_deg);
        let level_m_s = launch.ball_speed_m_s * cos_up;
        Self {
            velocity_m_s: [
                level_m_s * cos_to,
                level_m_s * sin_to,
                launch.ball_speed_m_s * sin_up,
            ],
            axis: [
                cos_tilt * sin_to - sin_tilt * sin_up * cos_to,
                -cos_tilt * cos_to - sin_tilt * sin_up * sin_to,
                sin_tilt * cos_up,
            ],
        }
    }
}
