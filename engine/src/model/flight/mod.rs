//! The flight of a ball through the air.
//!
//! A point of mass in three dimensions under gravity, drag and lift, in wind, with a spin that
//! dies away and an axis that keeps its direction. From a launch come carry, height, time and how
//! the ball lands.
//!
//! **Where the ball lands** is where it comes back to the height it was launched from. Carry is
//! measured there, along the target line; what it is off the line is `lateral_m`, positive toward
//! the side that a draw curves to. Right- and left-handers have the same numbers.

mod aerodynamics;
pub mod ball;
mod bearman_harvey;
mod bearman_harvey_cells;
mod bearman_harvey_grid;
mod integrate;
mod launch;
mod smits_smith;
mod stretch;

#[cfg(test)]
mod tests;

pub use aerodynamics::Aerodynamics;
pub use launch::{Conditions, Launch};

use super::answer::BeyondLiterature;
use super::math::atan2_deg;
use super::outside_range::OutsideRange;
use aerodynamics::Law;
use bearman_harvey::BearmanHarvey;
use integrate::{Landing, Motion};
use smits_smith::SmitsSmith;

/// What comes of a launch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flight {
    /// How far along the target line the ball is when it is back at the height of its launch, in
    /// metres. Negative where wind blows it behind.
    pub carry_m: f64,
    /// How far off the target line it then is, in metres; positive toward the side that a draw
    /// curves to.
    pub lateral_m: f64,
    /// The highest point above the launch, in metres.
    pub apex_m: f64,
    /// The time in the air, in seconds.
    pub time_s: f64,
    /// How steeply it comes down: degrees below the horizontal.
    pub landing_angle_deg: f64,
    /// How fast it comes down, in m/s.
    pub landing_speed_m_s: f64,
    /// The spin that is left, in rpm.
    pub landing_spin_rpm: f64,
    /// What of the flight lies beyond what was measured in the tunnel.
    pub beyond: Option<BeyondLiterature>,
}

/// A point of a flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathPoint {
    /// Since impact, in seconds.
    pub time_s: f64,
    /// Along the target line, in metres.
    pub along_m: f64,
    /// Off the target line, in metres; positive toward the side that a draw curves to.
    pub lateral_m: f64,
    /// Above the launch, in metres.
    pub height_m: f64,
}

impl PathPoint {
    const LAUNCH: Self = Self {
        time_s: 0.0,
        along_m: 0.0,
        lateral_m: 0.0,
        height_m: 0.0,
    };
}

/// The time between two points of a path that is drawn, at most.
const LONGEST_PART_S: f64 = 0.1;

/// The flight of a ball, by the default [`Aerodynamics`].
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn fly(launch: &Launch, conditions: &Conditions) -> Result<Flight, OutsideRange> {
    fly_by(Aerodynamics::default(), launch, conditions)
}

/// The flight of a ball by these coefficients.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn fly_by(
    aerodynamics: Aerodynamics,
    launch: &Launch,
    conditions: &Conditions,
) -> Result<Flight, OutsideRange> {
    launch.check()?;
    conditions.check()?;
    Ok(match aerodynamics {
        Aerodynamics::BearmanHarvey => {
            flight_by(BearmanHarvey::new(conditions), launch, conditions)
        }
        Aerodynamics::SmitsSmith => flight_by(SmitsSmith, launch, conditions),
    })
}

/// The points of a flight by the default [`Aerodynamics`], from the launch to the landing, close
/// enough together to be drawn.
///
/// # Errors
/// As [`fly`].
pub fn path(launch: &Launch, conditions: &Conditions) -> Result<Vec<PathPoint>, OutsideRange> {
    launch.check()?;
    conditions.check()?;
    let motion = Motion::new(BearmanHarvey::new(conditions), conditions);
    let mut points = vec![PathPoint::LAUNCH];
    motion.fly(launch, |stretch| {
        let parts = (stretch.step_s / LONGEST_PART_S).ceil().max(1.0);
        let mut part = 0.0;
        while part < parts {
            part += 1.0;
            points.push(motion.point(stretch, part / parts));
        }
    });
    Ok(points)
}

fn flight_by(law: impl Law, launch: &Launch, conditions: &Conditions) -> Flight {
    let motion = Motion::new(law, conditions);
    let landing = motion.fly(launch, |_| ());
    flight_of(&landing, motion.law.beyond(&landing.extremes))
}

fn flight_of(landing: &Landing, beyond: Option<BeyondLiterature>) -> Flight {
    let [along_m_s, across_m_s, up_m_s] = landing.state.velocity_m_s;
    let level_m_s = (along_m_s * along_m_s + across_m_s * across_m_s).sqrt();
    let [carry_m, lateral_m, _] = landing.state.position_m;
    Flight {
        carry_m,
        lateral_m,
        apex_m: landing.apex_m,
        time_s: landing.time_s,
        landing_angle_deg: atan2_deg(-up_m_s, level_m_s),
        landing_speed_m_s: (level_m_s * level_m_s + up_m_s * up_m_s).sqrt(),
        landing_spin_rpm: landing.state.spin_rpm,
        beyond,
    }
}
