//! What a step went over, as cubics through its two ends: how high the ball came, when it met the
//! ground, and where it was in between.

use super::integrate::State;

/// Newton's method on a cubic that bends downward closes in from one side, and stops when it no
/// longer moves; a parabola's root is found to the last bit within ten.
const MOST_CORRECTIONS: usize = 60;

/// What a step went over.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    pub(super) from: State,
    /// Since impact.
    pub(super) from_s: f64,
    pub(super) to: State,
    pub(super) step_s: f64,
}

impl Stretch {
    /// By the cubic through its two ends, seen from the air.
    pub(super) fn position_m(&self, share: f64) -> [f64; 3] {
        if share >= 1.0 {
            return self.to.position_m;
        }
        let [a, b, c] = self.from.position_m;
        let [d, e, f] = self.to.position_m;
        let [u, v, w] = self.from.velocity_m_s;
        let [x, y, z] = self.to.velocity_m_s;
        let along = |from_m, to_m, from_m_s, to_m_s| {
            Arc::of((from_m, to_m), (from_m_s, to_m_s), self.step_s).height_m(share)
        };
        [along(a, d, u, x), along(b, e, v, y), along(c, f, w, z)]
    }
}

/// The height over a step: the cubic with the heights and the rises of its two ends, over the share
/// of the step that has gone by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    start_m: f64,
    slope_m: f64,
    square_m: f64,
    cube_m: f64,
    end_slope_m: f64,
}

impl Arc {
    pub(super) fn between(from: &State, to: &State, step_s: f64) -> Self {
        let heights_m = (from.height_m(), to.height_m());
        Self::of(heights_m, (from.rise_m_s(), to.rise_m_s()), step_s)
    }

    fn of((start_m, end_m): (f64, f64), (from_m_s, to_m_s): (f64, f64), step_s: f64) -> Self {
        let climb_m = end_m - start_m;
        let (slope_m, end_slope_m) = (from_m_s * step_s, to_m_s * step_s);
        Self {
            start_m,
            slope_m,
            square_m: 3.0 * climb_m - 2.0 * slope_m - end_slope_m,
            cube_m: slope_m + end_slope_m - 2.0 * climb_m,
            end_slope_m,
        }
    }

    fn height_m(&self, share: f64) -> f64 {
        self.start_m + share * (self.slope_m + share * (self.square_m + share * self.cube_m))
    }

    fn slope_m(&self, share: f64) -> f64 {
        self.slope_m + share * (2.0 * self.square_m + 3.0 * share * self.cube_m)
    }

    /// The highest point of a step that rises at its start and falls at its end; 0 of any other,
    /// whose ends belong to their neighbours.
    pub(super) fn top_m(&self) -> f64 {
        if self.slope_m <= 0.0 || self.end_slope_m >= 0.0 {
            return 0.0;
        }
        // Where the slope, a square of the share, is nothing.
        let (square_m, cube_m) = (self.square_m, self.cube_m);
        let root_m = (square_m * square_m - 3.0 * cube_m * self.slope_m).sqrt();
        self.height_m(self.slope_m / (root_m - square_m))
    }

    /// How much of a step that ends at the ground or below has gone by when it meets it.
    pub(super) fn share_at_ground(&self) -> f64 {
        let mut share = 1.0;
        for _ in 0..MOST_CORRECTIONS {
            let slope_m = self.slope_m(share);
            if slope_m >= 0.0 {
                break;
            }
            let nearer = share - self.height_m(share) / slope_m;
            if nearer >= share {
                break;
            }
            share = nearer.max(0.0);
        }
        share
    }
}
