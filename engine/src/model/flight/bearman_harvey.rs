//! Drag and lift by the wind-tunnel grid of Bearman & Harvey, for the ball of today in its air.
//!
//! What carries over from the tunnel's ball of 41 mm to another is not speed and spin but the
//! Reynolds number `Re = V d / ν` and the spin parameter `S = ω r / V`. A flight is looked up at
//! the tunnel's speed and spin of the same Re and S: both are the flight's own times a constant.
//!
//! Between the nodes the coefficients are linear in speed and in spin, as the grid is published.
//! Beyond its edge they are held at the edge, but for one: **without spin there is no lift**, so
//! from the least spin of the grid down, lift goes to nothing in proportion. Held above 6000 rpm:
//! to slide along S to the slower speed where it was measured was tried, and shortens a wedge's
//! carry by a tenth against both the edge and Smits & Smith.
//!
//! The viscosity of the air is taken to be that of the tunnel, so that ν goes with the density
//! alone. Between 0 and 40 °C it lies within 6 % of that, which moves a drive's carry by less than
//! a yard and an iron's by two.

use super::super::answer::BeyondLiterature;
use super::aerodynamics::{Coefficients, Extremes, Law};
use super::ball;
use super::bearman_harvey_grid::{
    BALL_DIAMETER_M, DRAG, LEAST_SPIN_RPM, LIFT, MOST_SPIN_RPM, SPEEDS_M_S, SPIN_STEP_RPM,
};
use super::launch::Conditions;

/// The air of the tunnel is not given: that of a laboratory, 20 °C at 101,325 Pa, is taken.
const TUNNEL_AIR_DENSITY_KG_M3: f64 = 1.204;

const LEAST_SPEED_M_S: f64 = 13.7;
const MOST_SPEED_M_S: f64 = 88.1;

/// The tunnel's grid for a ball and its air.
#[derive(Debug, Clone, Copy)]
pub(super) struct BearmanHarvey {
    /// The tunnel's speed of the same Reynolds number, for each m/s; 0 without air.
    speed_scale: f64,
    /// The tunnel's spin of the same Reynolds number and spin parameter, for each rpm.
    spin_scale: f64,
}

impl BearmanHarvey {
    pub(super) fn new(conditions: &Conditions) -> Self {
        let bigger = ball::DIAMETER_M / BALL_DIAMETER_M;
        let denser = conditions.air_density_kg_m3 / TUNNEL_AIR_DENSITY_KG_M3;
        let speed_scale = bigger * denser;
        Self {
            speed_scale,
            spin_scale: speed_scale * bigger,
        }
    }

    /// The tunnel itself: its ball in its air.
    #[cfg(test)]
    pub(super) const fn tunnel() -> Self {
        Self {
            speed_scale: 1.0,
            spin_scale: 1.0,
        }
    }
}

impl Law for BearmanHarvey {
    type Place = Place;

    #[inline(always)]
    fn coefficients(&self, speed_m_s: f64, spin_rpm: f64, place: &mut Place) -> Coefficients {
        let speed_m_s = kept_within(
            speed_m_s * self.speed_scale,
            LEAST_SPEED_M_S,
            MOST_SPEED_M_S,
        );
        let asked_rpm = spin_rpm * self.spin_scale;
        let spin_rpm = kept_within(asked_rpm, LEAST_SPIN_RPM, MOST_SPIN_RPM);
        let rows = (spin_rpm - LEAST_SPIN_RPM) * (1.0 / SPIN_STEP_RPM);
        if !place.holds(speed_m_s, rows) {
            *place = Place::of(speed_m_s, rows);
        }
        let share = rows - place.row;
        let spinning = kept_within(asked_rpm * (1.0 / LEAST_SPIN_RPM), 0.0, 1.0);
        Coefficients {
            drag: place.cell.drag.at(speed_m_s, share),
            lift: place.cell.lift.at(speed_m_s, share) * spinning,
        }
    }

    fn beyond(&self, extremes: &Extremes) -> Option<BeyondLiterature> {
        // Without air nothing rests on the tunnel.
        if self.speed_scale == 0.0 {
            return None;
        }
        let figure = |quantity, unit, (slow, fast), (least, most)| {
            let reached = if fast > most { fast } else { slow };
            (slow < least || fast > most).then_some(BeyondLiterature {
                quantity,
                reached,
                unit,
                least,
                most,
                source: "Bearman & Harvey 1976",
            })
        };
        let spins_rpm = (
            LEAST_SPIN_RPM / self.spin_scale,
            MOST_SPIN_RPM / self.spin_scale,
        );
        let speeds_m_s = (
            LEAST_SPEED_M_S / self.speed_scale,
            MOST_SPEED_M_S / self.speed_scale,
        );
        figure("the spin in flight", "rpm", extremes.spin_rpm, spins_rpm).or_else(|| {
            figure(
                "the speed through the air",
                "m/s",
                extremes.speed_m_s,
                speeds_m_s,
            )
        })
    }
}

const ROWS: usize = 20;
const COLUMNS: usize = 9;

/// A coefficient between four nodes, as `(a + b v) + share × (c + d v)`.
#[derive(Clone, Copy)]
struct Bilinear {
    lower: [f64; 2],
    rise: [f64; 2],
}

impl Bilinear {
    const NOTHING: Self = Self {
        lower: [0.0; 2],
        rise: [0.0; 2],
    };

    #[inline]
    fn at(&self, speed_m_s: f64, share: f64) -> f64 {
        let [lower, lower_slope] = self.lower;
        let [rise, rise_slope] = self.rise;
        (lower + lower_slope * speed_m_s) + share * (rise + rise_slope * speed_m_s)
    }

    /// Between the nodes of these two rows, from this column to the next.
    #[expect(
        clippy::indexing_slicing,
        reason = "evaluated by the compiler, for which an index out of bounds is an error"
    )]
    const fn of(low: &[f64; 10], high: &[f64; 10], column: usize) -> Self {
        let wide_m_s = SPEEDS_M_S[column + 1] - SPEEDS_M_S[column];
        let low_slope = (low[column + 1] - low[column]) / wide_m_s;
        let high_slope = (high[column + 1] - high[column]) / wide_m_s;
        let low_at_rest = low[column] - low_slope * SPEEDS_M_S[column];
        let high_at_rest = high[column] - high_slope * SPEEDS_M_S[column];
        Self {
            lower: [low_at_rest, low_slope],
            rise: [high_at_rest - low_at_rest, high_slope - low_slope],
        }
    }
}

#[derive(Clone, Copy)]
struct Cell {
    drag: Bilinear,
    lift: Bilinear,
}

impl Cell {
    const NOTHING: Self = Self {
        drag: Bilinear::NOTHING,
        lift: Bilinear::NOTHING,
    };
}

/// A cell and what of the grid it covers.
#[derive(Clone, Copy)]
pub(super) struct Place {
    cell: &'static Cell,
    slowest_m_s: f64,
    fastest_m_s: f64,
    /// The row's number.
    row: f64,
}

impl Default for Place {
    /// Nowhere: holds no speed.
    fn default() -> Self {
        Self {
            cell: &Cell::NOTHING,
            slowest_m_s: f64::INFINITY,
            fastest_m_s: f64::NEG_INFINITY,
            row: 0.0,
        }
    }
}

impl Place {
    #[inline]
    fn holds(&self, speed_m_s: f64, rows: f64) -> bool {
        speed_m_s >= self.slowest_m_s
            && speed_m_s <= self.fastest_m_s
            && rows >= self.row
            && rows <= self.row + 1.0
    }

    /// The cell of a speed and a number of rows, both within the grid; at a node the one after it.
    #[cold]
    fn of(speed_m_s: f64, rows: f64) -> Self {
        let mut column = 0;
        for (index, node_m_s) in SPEEDS_M_S.iter().enumerate().take(COLUMNS) {
            if speed_m_s >= *node_m_s {
                column = index;
            }
        }
        let (mut row, mut number) = (0, 0.0);
        while row + 1 < ROWS && rows >= number + 1.0 {
            row += 1;
            number += 1.0;
        }
        let found = CELLS.get(row).and_then(|row| row.get(column));
        let node_m_s = |index: usize| SPEEDS_M_S.get(index).copied().unwrap_or_default();
        Self {
            cell: found.unwrap_or(&Cell::NOTHING),
            slowest_m_s: node_m_s(column),
            fastest_m_s: node_m_s(column + 1),
            row: number,
        }
    }
}

/// Every cell of the grid, a row for each step of spin.
static CELLS: [[Cell; COLUMNS]; ROWS] = cells();

#[expect(
    clippy::indexing_slicing,
    reason = "evaluated by the compiler, for which an index out of bounds is an error"
)]
const fn cells() -> [[Cell; COLUMNS]; ROWS] {
    let mut cells = [[Cell::NOTHING; COLUMNS]; ROWS];
    let mut row = 0;
    while row < ROWS {
        let mut column = 0;
        while column < COLUMNS {
            cells[row][column] = Cell {
                drag: Bilinear::of(&DRAG[row], &DRAG[row + 1], column),
                lift: Bilinear::of(&LIFT[row], &LIFT[row + 1], column),
            };
            column += 1;
        }
        row += 1;
    }
    cells
}

/// The figure, kept within two others; written so that it is two instructions.
#[inline]
fn kept_within(figure: f64, least: f64, most: f64) -> f64 {
    let figure = if figure > least { figure } else { least };
    if figure < most { figure } else { most }
}
