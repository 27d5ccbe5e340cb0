//! Drag and lift by the formulas of Smits & Smith.
//!
//! Source: A. J. Smits, D. R. Smith, *A new aerodynamic model of a golf ball in flight*, in Science
//! and Golf II (1994): for drives `CD = 0.24 + 0.18 S` and `CL = 0.54 S^0.4` (that of the lift
//! *from memory*; other accounts of it differ), with the spin parameter `S = ω r / V`. The range of
//! S, 0.08 to 0.2, is *from memory* too. Below it lift goes to nothing with S, as it must.

use super::super::answer::BeyondLiterature;
use super::aerodynamics::{Coefficients, Ends, Extremes, Law};
use super::ball;

/// The speed of the ball's surface in m/s, for each rpm.
const SURFACE_M_S_PER_RPM: f64 = std::f64::consts::PI / 60.0 * ball::DIAMETER_M;
const LEAST_SPIN_PARAMETER: f64 = 0.08;
const MOST_SPIN_PARAMETER: f64 = 0.2;
/// A ball that hardly moves and still turns: far beyond any flight.
const LARGEST_SPIN_PARAMETER: f64 = 4.0;

/// The formulas; they do not depend on the air.
#[derive(Debug, Clone, Copy)]
pub(super) struct SmitsSmith;

impl Law for SmitsSmith {
    type Piece = ();

    fn piece(&self, _: f64, _: f64) {}

    fn ends((): &()) -> Ends {
        Ends::NONE
    }

    fn coefficients(&self, (): &(), speed_m_s: f64, spin_rpm: f64) -> Coefficients {
        let surface_m_s = SURFACE_M_S_PER_RPM * spin_rpm;
        // Not divided before it is known to be a share, so that a ball at rest has one too.
        let spin_parameter = if surface_m_s < LARGEST_SPIN_PARAMETER * speed_m_s {
            surface_m_s / speed_m_s
        } else {
            LARGEST_SPIN_PARAMETER
        };
        let covered = spin_parameter.max(LEAST_SPIN_PARAMETER);
        Coefficients {
            drag: 0.24 + 0.18 * spin_parameter,
            lift: 0.54 * fifth_root(covered * covered) * (spin_parameter / covered),
        }
    }

    fn beyond(&self, extremes: &Extremes) -> Option<BeyondLiterature> {
        let (slowest_m_s, fastest_m_s) = extremes.speed_m_s;
        let (least_rpm, most_rpm) = extremes.spin_rpm;
        // Spin is most at the launch, where the ball is fastest, and least at the landing.
        let least = SURFACE_M_S_PER_RPM * most_rpm / fastest_m_s;
        let most = SURFACE_M_S_PER_RPM * least_rpm / slowest_m_s.max(1.0);
        let is_beyond = least < LEAST_SPIN_PARAMETER || most > MOST_SPIN_PARAMETER;
        is_beyond.then_some(BeyondLiterature {
            quantity: "the spin parameter",
            reached: if most > MOST_SPIN_PARAMETER {
                most
            } else {
                least
            },
            unit: "",
            least: LEAST_SPIN_PARAMETER,
            most: MOST_SPIN_PARAMETER,
            source: "Smits & Smith 1994",
        })
    }
}

/// The fifth root of a figure from 0.005 to 20 by Newton's method, to the last bit or two.
fn fifth_root(figure: f64) -> f64 {
    // A root between 0.34 and 1.83: five steps from a straight line through it are enough.
    let mut root = 0.45 + 0.55 * figure.min(2.0);
    for _ in 0..8 {
        let square = root * root;
        root = 0.8 * root + 0.2 * figure / (square * square);
    }
    root
}

#[cfg(test)]
mod tests {
    use super::super::super::checking::assert_close;
    use super::*;

    #[test]
    fn the_fifth_root_is_the_power_of_a_fifth() {
        for step in 1..=3200 {
            let figure = f64::from(step) * 0.005;
            assert_close(fifth_root(figure), libm::pow(figure, 0.2), 4e-15);
        }
    }

    #[test]
    fn a_drive_as_the_formulas_have_it() {
        // 70 m/s and S = 0.1: CD = 0.258, CL = 0.54 × 0.39811 = 0.21498.
        let spin_rpm = 0.1 * 70.0 / SURFACE_M_S_PER_RPM;
        let found = SmitsSmith.coefficients(&(), 70.0, spin_rpm);
        assert_close(found.drag, 0.258, 1e-12);
        assert_close(found.lift, 0.214_98, 1e-5);
    }

    #[test]
    fn without_spin_there_is_no_lift_and_at_rest_no_nonsense() {
        assert_eq!(SmitsSmith.coefficients(&(), 50.0, 0.0).lift, 0.0);
        for speed_m_s in [0.0, 1e-300, 1.0, 120.0] {
            for spin_rpm in [0.0, 1.0, 15_000.0] {
                let found = SmitsSmith.coefficients(&(), speed_m_s, spin_rpm);
                assert!(found.drag.is_finite() && found.lift.is_finite());
                assert!(found.drag > 0.0 && found.lift >= 0.0);
            }
        }
    }
}
