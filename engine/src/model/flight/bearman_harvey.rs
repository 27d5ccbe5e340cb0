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
use super::aerodynamics::{Coefficients, Ends, Extremes, Law};
use super::ball;
use super::bearman_harvey_cells::{CELLS, Cell, SPEED_ENDS_M_S, SPIN_ENDS_RPM};
use super::bearman_harvey_grid::{BALL_DIAMETER_M, LEAST_SPIN_RPM, MOST_SPIN_RPM};
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
    /// The other way round: what the tunnel's figures are worth to the ball. Without air its speeds
    /// have no end.
    speed_worth: f64,
    spin_worth: f64,
}

impl BearmanHarvey {
    pub(super) fn new(conditions: &Conditions) -> Self {
        let bigger = ball::DIAMETER_M / BALL_DIAMETER_M;
        let denser = conditions.air_density_kg_m3 / TUNNEL_AIR_DENSITY_KG_M3;
        Self::scaled(bigger * denser, bigger * denser * bigger)
    }

    /// The tunnel itself: its ball in its air.
    #[cfg(test)]
    pub(super) fn tunnel() -> Self {
        Self::scaled(1.0, 1.0)
    }

    fn scaled(speed_scale: f64, spin_scale: f64) -> Self {
        let worth = |scale: f64| if scale > 0.0 { 1.0 / scale } else { f64::MAX };
        Self {
            speed_scale,
            spin_scale,
            speed_worth: worth(speed_scale),
            spin_worth: worth(spin_scale),
        }
    }
}

impl Law for BearmanHarvey {
    type Piece = Piece;

    fn piece(&self, speed_m_s: f64, spin_rpm: f64) -> Piece {
        let column = part_of(&SPEED_ENDS_M_S, speed_m_s * self.speed_scale);
        let row = part_of(&SPIN_ENDS_RPM, spin_rpm * self.spin_scale);
        let cell = CELLS.get(row.number).and_then(|row| row.get(column.number));
        let (slowest_m_s, fastest_m_s) = column.ends;
        let (least_spin_rpm, _) = row.ends;
        Piece {
            cell: cell.unwrap_or(&Cell::NOTHING),
            ends: Ends {
                speed_m_s: (
                    slowest_m_s * self.speed_worth,
                    fastest_m_s * self.speed_worth,
                ),
                least_spin_rpm: least_spin_rpm * self.spin_worth,
            },
        }
    }

    #[inline]
    fn ends(piece: &Piece) -> Ends {
        piece.ends
    }

    #[inline(always)]
    fn coefficients(&self, piece: &Piece, speed_m_s: f64, spin_rpm: f64) -> Coefficients {
        let speed_m_s = speed_m_s * self.speed_scale;
        let spin_rpm = spin_rpm * self.spin_scale;
        Coefficients {
            drag: piece.cell.drag.at(speed_m_s, spin_rpm),
            lift: piece.cell.lift.at(speed_m_s, spin_rpm),
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
            LEAST_SPIN_RPM * self.spin_worth,
            MOST_SPIN_RPM * self.spin_worth,
        );
        let speeds_m_s = (
            LEAST_SPEED_M_S * self.speed_worth,
            MOST_SPEED_M_S * self.speed_worth,
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

/// A piece of the law, and where it ends for the ball at hand.
#[derive(Clone, Copy)]
pub(super) struct Piece {
    cell: &'static Cell,
    ends: Ends,
}

/// What lies between two ends.
struct Part {
    number: usize,
    ends: (f64, f64),
}

/// The part that a figure lies in.
fn part_of(ends: &[f64], figure: f64) -> Part {
    let mut parts = ends.iter().zip(ends.iter().skip(1)).enumerate();
    let found = parts.find(|(_, (_, most))| figure <= **most);
    let (number, least, most) = found.map_or((0, 0.0, f64::INFINITY), |(number, (least, most))| {
        (number, *least, *most)
    });
    Part {
        number,
        ends: (least, most),
    }
}
