//! The grid of Bearman & Harvey in pieces: between its nodes, and beyond its edges.

#![expect(
    clippy::indexing_slicing,
    reason = "evaluated by the compiler, for which an index out of bounds is an error"
)]

use super::bearman_harvey_grid::{DRAG, LEAST_SPIN_RPM, LIFT, SPEEDS_M_S, SPIN_STEP_RPM};

/// The columns of the grid and beside them what is slower and what is faster than it.
const SPEED_PARTS: usize = SPEEDS_M_S.len() + 1;
/// The rows of the grid and beside them what spins less and what spins more.
const SPIN_PARTS: usize = DRAG.len() + 1;

/// From nothing, over the nodes, to no end, in m/s.
pub(super) static SPEED_ENDS_M_S: [f64; SPEED_PARTS + 1] = speed_ends_m_s();
/// The same of the spins, in rpm.
pub(super) static SPIN_ENDS_RPM: [f64; SPIN_PARTS + 1] = spin_ends_rpm();

/// Every piece of the law, a row for each part of the spins.
pub(super) static CELLS: [[Cell; SPEED_PARTS]; SPIN_PARTS] = cells();

/// The coefficients between four nodes, or beyond the grid.
#[derive(Clone, Copy)]
pub(super) struct Cell {
    pub(super) drag: Bilinear,
    pub(super) lift: Bilinear,
}

impl Cell {
    pub(super) const NOTHING: Self = Self {
        drag: Bilinear::NOTHING,
        lift: Bilinear::NOTHING,
    };
}

/// A coefficient by speed v and spin w of the tunnel, as `(a + b v) + w × (c + d v)`.
#[derive(Clone, Copy)]
pub(super) struct Bilinear {
    spinless: [f64; 2],
    for_each_rpm: [f64; 2],
}

impl Bilinear {
    const NOTHING: Self = Self {
        spinless: [0.0; 2],
        for_each_rpm: [0.0; 2],
    };

    #[inline]
    pub(super) fn at(&self, speed_m_s: f64, spin_rpm: f64) -> f64 {
        let [start, slope] = self.spinless;
        let [rise, rise_slope] = self.for_each_rpm;
        (start + slope * speed_m_s) + spin_rpm * (rise + rise_slope * speed_m_s)
    }

    /// Through a line at this spin and one so much higher.
    const fn between(low: [f64; 2], high: [f64; 2], low_rpm: f64, wide_rpm: f64) -> Self {
        let rise = (high[0] - low[0]) / wide_rpm;
        let rise_slope = (high[1] - low[1]) / wide_rpm;
        Self {
            spinless: [low[0] - low_rpm * rise, low[1] - low_rpm * rise_slope],
            for_each_rpm: [rise, rise_slope],
        }
    }
}

const fn speed_ends_m_s() -> [f64; SPEED_PARTS + 1] {
    let mut ends = [f64::INFINITY; SPEED_PARTS + 1];
    ends[0] = 0.0;
    let mut node = 0;
    while node < SPEEDS_M_S.len() {
        ends[node + 1] = SPEEDS_M_S[node];
        node += 1;
    }
    ends
}

const fn spin_ends_rpm() -> [f64; SPIN_PARTS + 1] {
    let mut ends = [f64::INFINITY; SPIN_PARTS + 1];
    ends[0] = 0.0;
    let (mut node, mut spin_rpm) = (0, LEAST_SPIN_RPM);
    while node < DRAG.len() {
        ends[node + 1] = spin_rpm;
        spin_rpm += SPIN_STEP_RPM;
        node += 1;
    }
    ends
}

/// A row of the grid over one part of the speeds, as `a + b v`: held at the edge beyond it.
const fn line(row: &[f64; 10], part: usize) -> [f64; 2] {
    if part == 0 {
        return [row[0], 0.0];
    }
    if part == row.len() {
        return [row[part - 1], 0.0];
    }
    let wide_m_s = SPEEDS_M_S[part] - SPEEDS_M_S[part - 1];
    let slope = (row[part] - row[part - 1]) / wide_m_s;
    [row[part - 1] - slope * SPEEDS_M_S[part - 1], slope]
}

const fn cells() -> [[Cell; SPEED_PARTS]; SPIN_PARTS] {
    let mut cells = [[Cell::NOTHING; SPEED_PARTS]; SPIN_PARTS];
    let mut part = 0;
    while part < SPEED_PARTS {
        let (drag, lift) = (line(&DRAG[0], part), line(&LIFT[0], part));
        cells[0][part] = Cell {
            drag: Bilinear::between(drag, drag, 0.0, LEAST_SPIN_RPM),
            lift: Bilinear::between([0.0; 2], lift, 0.0, LEAST_SPIN_RPM),
        };
        let mut row = 1;
        while row < SPIN_PARTS {
            // Beyond the last row it is the last row.
            let higher = if row < DRAG.len() { row } else { row - 1 };
            let low_rpm = SPIN_ENDS_RPM[row];
            let (low, high) = (line(&DRAG[row - 1], part), line(&DRAG[higher], part));
            let drag = Bilinear::between(low, high, low_rpm, SPIN_STEP_RPM);
            let (low, high) = (line(&LIFT[row - 1], part), line(&LIFT[higher], part));
            let lift = Bilinear::between(low, high, low_rpm, SPIN_STEP_RPM);
            cells[row][part] = Cell { drag, lift };
            row += 1;
        }
        part += 1;
    }
    cells
}
