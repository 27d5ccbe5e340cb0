//! What a ball starts with, and the air it starts into.

use super::super::outside_range::{OutsideRange, Range};

const BALL_SPEED: Range = Range {
    argument: "ball_speed",
    unit: "m/s",
    least: 1.0,
    most: 120.0,
};
const LAUNCH: Range = Range::degrees("launch", 0.0, 80.0);
const START_DIRECTION: Range = Range::degrees("start_direction", -60.0, 60.0);
const SPIN: Range = Range {
    argument: "spin",
    unit: "rpm",
    least: 0.0,
    most: 15_000.0,
};
const AXIS_TILT: Range = Range::degrees("axis_tilt", -90.0, 90.0);
const AIR_DENSITY: Range = Range {
    argument: "air_density",
    unit: "kg/m3",
    least: 0.0,
    most: 2.0,
};
const HEAD_WIND: Range = Range {
    argument: "head_wind",
    unit: "m/s",
    least: -40.0,
    most: 40.0,
};
const CROSS_WIND: Range = Range {
    argument: "cross_wind",
    ..HEAD_WIND
};

/// A ball just after impact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Launch {
    /// Its speed in m/s, 1 to 120.
    pub ball_speed_m_s: f64,
    /// Its direction above the horizontal in degrees, 0 to 80.
    pub launch_deg: f64,
    /// Its direction from the target line in degrees, −60 to 60; positive toward the side that a
    /// draw curves to.
    pub start_direction_deg: f64,
    /// Its whole spin in rpm, 0 to 15,000.
    pub spin_rpm: f64,
    /// How far the spin's axis is tilted from the horizontal, in degrees, −90 to 90, in the plane
    /// across the launch; 0 is pure backspin, positive is a draw.
    pub axis_tilt_deg: f64,
}

impl Launch {
    /// A launch along the target line with pure backspin.
    #[must_use]
    pub const fn straight(ball_speed_m_s: f64, launch_deg: f64, spin_rpm: f64) -> Self {
        Self {
            ball_speed_m_s,
            launch_deg,
            start_direction_deg: 0.0,
            spin_rpm,
            axis_tilt_deg: 0.0,
        }
    }

    pub(super) fn check(&self) -> Result<(), OutsideRange> {
        BALL_SPEED.check(self.ball_speed_m_s)?;
        LAUNCH.check(self.launch_deg)?;
        START_DIRECTION.check(self.start_direction_deg)?;
        SPIN.check(self.spin_rpm)?;
        AXIS_TILT.check(self.axis_tilt_deg)?;
        Ok(())
    }
}

/// The air that a ball flies through, the same at every height of its flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Density in kg/m³, 0 (no air at all) to 2.
    pub air_density_kg_m3: f64,
    /// Wind against the ball along the target line in m/s, −40 to 40; negative helps.
    pub head_wind_m_s: f64,
    /// Wind across in m/s, −40 to 40; positive blows toward the side that a draw curves to.
    pub cross_wind_m_s: f64,
}

impl Conditions {
    /// Still air at sea level in the US Standard Atmosphere 1976: 15 °C, 101,325 Pa.
    pub const STILL_AIR: Self = Self {
        air_density_kg_m3: 1.225,
        head_wind_m_s: 0.0,
        cross_wind_m_s: 0.0,
    };

    /// Still air of this density.
    #[must_use]
    pub const fn still(air_density_kg_m3: f64) -> Self {
        Self {
            air_density_kg_m3,
            ..Self::STILL_AIR
        }
    }

    pub(super) fn check(&self) -> Result<(), OutsideRange> {
        AIR_DENSITY.check(self.air_density_kg_m3)?;
        HEAD_WIND.check(self.head_wind_m_s)?;
        CROSS_WIND.check(self.cross_wind_m_s)?;
        Ok(())
    }
}
