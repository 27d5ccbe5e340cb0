//! The club as a body: mass, balance point, moment of inertia about the butt, and the pendulum.
//!
//! Every component lies on one line, the shaft's; the head's balance point stands a few centimetres
//! off it, which changes the moment by a few parts in a thousand and is left out. Each component
//! has a mass, a balance point measured from the butt, and a moment about its own balance point for
//! an axis across the shaft; the parallel-axis theorem (C. Huygens, J. Steiner) carries the moments
//! to the butt. Sums run in the order of the components, so that the bits never change.
//!
//! Any club fits the ranges: masses 0 to 5 kg, distances 0 to 2 m, moments 0 to 20 kg·m².

use std::f64::consts::PI;

use super::outside_range::{OutsideRange, Range};
use super::swingweight;

/// Standard acceleration of free fall (3rd CGPM, 1901).
pub const FREE_FALL_M_PER_S2: f64 = 9.806_65;

const MASS: Range = Range::kilograms("mass", 0.0, 5.0);
const MASS_OF_A_BODY: Range = Range::kilograms("mass", 0.001, 50.0);
const BALANCE: Range = Range::metres("balance_from_butt", 0.0, 2.0);
const BALANCE_OF_A_PENDULUM: Range = Range::metres("balance_from_butt", 0.001, 2.0);
const MOMENT: Range = Range {
    argument: "moment_about_butt",
    unit: "kg m2",
    least: 0.0,
    most: 20.0,
};
const PERIOD: Range = Range {
    argument: "period",
    unit: "s",
    least: 0.01,
    most: 20.0,
};

/// One thing on the shaft's line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    mass_kg: f64,
    balance_from_butt_m: f64,
    moment_about_balance_kg_m2: f64,
}

impl Component {
    /// A mass whose own size does not matter: a head, a ferrule, a weight in the tip, a strip of
    /// lead. Mass 0 to 5 kg, distance 0 to 2 m.
    ///
    /// # Errors
    /// An argument beyond its range, or no number.
    pub fn point(mass_kg: f64, from_butt_m: f64) -> Result<Self, OutsideRange> {
        Ok(Self {
            mass_kg: MASS.check(mass_kg)?,
            balance_from_butt_m: BALANCE.check(from_butt_m)?,
            moment_about_balance_kg_m2: 0.0,
        })
    }

    /// A uniform rod on the shaft's line, from `start_m` to `end_m` (0 to 2 m, in this order): a
    /// grip, the tape under it. Its own moment is m l² / 12.
    ///
    /// # Errors
    /// An argument beyond its range, or no number.
    pub fn uniform_rod(mass_kg: f64, start_m: f64, end_m: f64) -> Result<Self, OutsideRange> {
        let mass_kg = MASS.check(mass_kg)?;
        let start_m = Range::metres("start", 0.0, 2.0).check(start_m)?;
        let end_m = Range::metres("end", start_m, 2.0).check(end_m)?;
        let length_m = end_m - start_m;
        Ok(Self {
            mass_kg,
            balance_from_butt_m: (start_m + end_m) / 2.0,
            moment_about_balance_kg_m2: mass_kg * length_m * length_m / 12.0,
        })
    }

    /// For a component whose figures another module has worked out from checked arguments.
    pub(crate) const fn from_checked(
        mass_kg: f64,
        balance_from_butt_m: f64,
        moment_about_balance_kg_m2: f64,
    ) -> Self {
        Self {
            mass_kg,
            balance_from_butt_m,
            moment_about_balance_kg_m2,
        }
    }

    /// In kilograms.
    #[must_use]
    pub const fn mass_kg(&self) -> f64 {
        self.mass_kg
    }

    /// In metres.
    #[must_use]
    pub const fn balance_from_butt_m(&self) -> f64 {
        self.balance_from_butt_m
    }

    /// About the butt, in kg·m²: its own moment and m d² (parallel-axis theorem).
    #[must_use]
    pub fn moment_about_butt_kg_m2(&self) -> f64 {
        self.moment_about_balance_kg_m2
            + self.mass_kg * self.balance_from_butt_m * self.balance_from_butt_m
    }
}

/// Components taken together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClubBody {
    mass_kg: f64,
    first_moment_kg_m: f64,
    moment_about_butt_kg_m2: f64,
}

impl ClubBody {
    /// The body that these components make, added in this order.
    ///
    /// # Errors
    /// Components that weigh less than a gram together, or more than 50 kg.
    pub fn from_components(components: &[Component]) -> Result<Self, OutsideRange> {
        let mut body = Self {
            mass_kg: 0.0,
            first_moment_kg_m: 0.0,
            moment_about_butt_kg_m2: 0.0,
        };
        for component in components {
            body.mass_kg += component.mass_kg;
            body.first_moment_kg_m += component.mass_kg * component.balance_from_butt_m;
            body.moment_about_butt_kg_m2 += component.moment_about_butt_kg_m2();
        }
        MASS_OF_A_BODY.check(body.mass_kg)?;
        Ok(body)
    }

    /// In kilograms.
    #[must_use]
    pub const fn mass_kg(&self) -> f64 {
        self.mass_kg
    }

    /// In metres from the butt.
    #[must_use]
    pub fn balance_from_butt_m(&self) -> f64 {
        self.first_moment_kg_m / self.mass_kg
    }

    /// About an axis across the shaft at the butt, in kg·m².
    #[must_use]
    pub const fn moment_about_butt_kg_m2(&self) -> f64 {
        self.moment_about_butt_kg_m2
    }

    /// About the swingweight scale's fulcrum, in kg·m.
    pub(crate) fn moment_about_fulcrum_kg_m(&self) -> f64 {
        self.first_moment_kg_m - self.mass_kg * swingweight::FULCRUM_FROM_BUTT_M
    }

    /// In points above A0; D2 is 32. Source as in [`super::swingweight`].
    #[must_use]
    pub fn swingweight_points(&self) -> f64 {
        swingweight::points_from_kg_m(self.moment_about_fulcrum_kg_m())
    }
}

/// The period in seconds of a club hung by its butt and swung through a small angle:
/// T = 2π √(I / (m g d)), the compound pendulum (C. Huygens, 1673), with the standard g.
///
/// Mass 0.001 to 50 kg, balance point 0.001 to 2 m, moment 0 to 20 kg·m².
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn pendulum_period_s(
    mass_kg: f64,
    balance_from_butt_m: f64,
    moment_about_butt_kg_m2: f64,
) -> Result<f64, OutsideRange> {
    let mass_kg = MASS_OF_A_BODY.check(mass_kg)?;
    let balance_m = BALANCE_OF_A_PENDULUM.check(balance_from_butt_m)?;
    let moment_kg_m2 = MOMENT.check(moment_about_butt_kg_m2)?;
    let torque_per_radian = mass_kg * FREE_FALL_M_PER_S2 * balance_m;
    Ok(2.0 * PI * (moment_kg_m2 / torque_per_radian).sqrt())
}

/// The moment about the butt in kg·m² of a club that swings with this period: how a workshop
/// measures it. The same pendulum, solved for I.
///
/// Mass 0.001 to 50 kg, balance point 0.001 to 2 m, period 0.01 to 20 s.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn moment_from_pendulum_kg_m2(
    mass_kg: f64,
    balance_from_butt_m: f64,
    period_s: f64,
) -> Result<f64, OutsideRange> {
    let mass_kg = MASS_OF_A_BODY.check(mass_kg)?;
    let balance_m = BALANCE_OF_A_PENDULUM.check(balance_from_butt_m)?;
    let period_s = PERIOD.check(period_s)?;
    let seconds_per_radian = period_s / (2.0 * PI);
    Ok(mass_kg * FREE_FALL_M_PER_S2 * balance_m * seconds_per_radian * seconds_per_radian)
}

#[cfg(test)]
#[path = "club_tests.rs"]
mod tests;
