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
mod integrate;
mod launch;

pub use launch::{Conditions, Launch};

use super::answer::BeyondLiterature;
use super::math::atan2_deg;
use super::outside_range::OutsideRange;
use aerodynamics::{Aerodynamics, Coverage};
use bearman_harvey::BearmanHarvey;
use integrate::{Landing, Motion};

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

/// The flight of a ball.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn fly(launch: &Launch, conditions: &Conditions) -> Result<Flight, OutsideRange> {
    launch.check()?;
    conditions.check()?;
    let motion = Motion::new(BearmanHarvey::new(conditions), conditions);
    let landing = motion.fly(launch, |_| ());
    Ok(flight_of(
        launch,
        &landing,
        &motion.aerodynamics().coverage(),
    ))
}

/// The points of a flight, from the launch to the landing, close enough together to be drawn.
///
/// # Errors
/// As [`fly`].
pub fn path(launch: &Launch, conditions: &Conditions) -> Result<Vec<PathPoint>, OutsideRange> {
    launch.check()?;
    conditions.check()?;
    let motion = Motion::new(BearmanHarvey::new(conditions), conditions);
    let mut points = Vec::new();
    motion.fly(launch, |point| points.push(point));
    Ok(points)
}

fn flight_of(launch: &Launch, landing: &Landing, coverage: &Coverage) -> Flight {
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
        beyond: beyond(launch, landing, coverage),
    }
}

fn beyond(launch: &Launch, landing: &Landing, coverage: &Coverage) -> Option<BeyondLiterature> {
    let figure = |quantity, unit, reached: f64, (least, most)| {
        (reached < least || reached > most).then_some(BeyondLiterature {
            quantity,
            reached,
            unit,
            least,
            most,
            source: coverage.source,
        })
    };
    figure("the ball's spin", "rpm", launch.spin_rpm, coverage.spin_rpm)
        .or_else(|| {
            figure(
                "the ball's spin",
                "rpm",
                landing.state.spin_rpm,
                coverage.spin_rpm,
            )
        })
        .or_else(|| {
            figure(
                "the ball's speed",
                "m/s",
                launch.ball_speed_m_s,
                coverage.speed_m_s,
            )
        })
}

#[cfg(test)]
mod tests {
    use super::super::checking::assert_close;
    use super::*;

    #[test]
    fn without_air_the_ball_flies_a_parabola() {
        // 150 mph at 12°: v² sin 2θ / g, v² sin² θ / 2g, 2 v sin θ / g.
        let launch = Launch::straight(67.056, 12.0, 3000.0);
        let flight = fly(&launch, &Conditions::still(0.0)).unwrap();
        assert_close(flight.carry_m / 0.9144, 203.95, 0.01);
        assert_close(flight.apex_m / 0.9144, 10.838, 0.01);
        assert_close(flight.time_s, 2.8433, 0.0001);
    }

    #[test]
    fn the_overall_distance_standard() {
        let launch = Launch::straight(176.0 * 0.447_04, 10.0, 2520.0);
        let flight = fly(&launch, &Conditions::still(1.19)).unwrap();
        let carry_yd = flight.carry_m / 0.9144;
        assert!((255.0..=305.0).contains(&carry_yd), "{carry_yd}");
    }
}
