//! The driver's loft: what carries furthest, and what another loft costs.
//!
//! **Which loft.** All here is the *delivered* loft: what the face looks up at the moment of
//! impact, lean and bend of the shaft included. The loft at address, sleeve included, differs from
//! it by what the player and the shaft do; that difference is the house's, or measured (see
//! [`super::impact::loft_from_launch_deg`]), and belongs to the rules.
//!
//! The strike is [`super::impact`]'s with a share of the rolling spin: the player's own where spin
//! was measured, [`DRIVER_SPIN_SHARE`](super::impact::DRIVER_SPIN_SHARE) where not. The flight is
//! [`super::flight`]'s in still air; roll is left out.
//!
//! **Attack.** Hit upward, the head has turned with its arc, so that the delivered loft has grown
//! by as much as the attack. The best delivered loft rises with the attack too, but by less; so
//! what is left for the head, best loft − attack, falls: less loft for a blow upward.
//!
//! **What may be given up.** A lower flight rolls further, and the top is flat. So the answer is
//! the least loft that gives up no more than a share of the best carry, which the rules choose: 0
//! for the best carry itself.
//!
//! **How the best is found.** Carry over loft has one top, and a flat one: a degree off costs a few
//! tenths of a percent. So the top is not looked for by comparing neighbours a tenth of a degree
//! apart, which differ by less than a step of the flight's integration makes. It is first found to
//! the degree (climbing over whole degrees of spin loft from where most players have it; of two
//! equals the less lofted), and then as the top of the cubic through carries five degrees wide,
//! which no such small error moves by a hundredth of a degree; what is given up is sought from
//! there. Nine or ten flights for most players. Source: finite differences of five points.
//!
//! Ranges: head speed 10 to 75 m/s, attack −15 to 15°, delivered loft at most 62° over the attack,
//! head 0.15 to 0.4 kg, restitution 0.5 to 0.9, share of the rolling spin 0.3 to 1.3, air 0.5 to
//! 1.6 kg/m³, given up 0 to 0.05. Below 20 m/s (45 mph) the drag changes steeply with speed and the
//! top is no longer a clean one: the answer may then stray by a degree.

use std::collections::BTreeMap;

use super::answer::{Answer, BeyondLiterature};
use super::flight::{self, Conditions, Launch};
use super::impact::{self, Delivery, Strike};
use super::outside_range::{OutsideRange, Range};

const HEAD_SPEED: Range = Range {
    argument: "head_speed",
    unit: "m/s",
    least: 10.0,
    most: 75.0,
};
const ATTACK: Range = Range::degrees("attack_angle", -15.0, 15.0);
const HEAD_MASS: Range = Range::kilograms("head_mass", 0.15, 0.4);
const RESTITUTION: Range = impact::number("restitution", 0.5, 0.9);
const SPIN_SHARE: Range = impact::number("spin_share", 0.3, 1.3);
const AIR_DENSITY: Range = Range {
    argument: "air_density",
    unit: "kg/m3",
    least: 0.5,
    most: 1.6,
};
/// No lower launch is answered with: where a driver is hit steeply down on, lift alone would carry
/// the ball up from a launch of nothing, and the ground that it would skim is not modelled.
const LEAST_LAUNCH_DEG: f64 = 4.0;
const GIVEN_UP: Range = impact::number("given_up", 0.0, 0.05);
const MOST_SPIN_LOFT_DEG: f64 = 62.0;

/// A player with a driver, all but its loft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driving {
    /// Speed of the head, in metres a second.
    pub head_speed_m_s: f64,
    /// Angle of attack, in degrees, + upward.
    pub attack_deg: f64,
    /// Mass of the head, in kilograms.
    pub head_mass_kg: f64,
    /// Coefficient of restitution.
    pub restitution: f64,
    /// Spin over the spin of a rolling ball.
    pub spin_share: f64,
    /// Density of the air, in kg/m³.
    pub air_density_kg_m3: f64,
}

/// The best loft, and how flat the top is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestLoft {
    /// The delivered loft, in degrees.
    pub delivered_loft_deg: f64,
    /// What a loft a degree off the best loses in carry, in metres; the loss grows with the square
    /// of the distance, for three degrees or so.
    pub lost_by_a_degree_m: f64,
    /// What of the best flight lies beyond what the literature covers.
    pub beyond: Option<BeyondLiterature>,
}

/// The least delivered loft, of those that launch at 4° or more, that gives up no more than this
/// share of the best carry in still air: the best itself for a `given_up` of 0. Ranges at the head
/// of this module.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn best_driver_loft(driving: Driving, given_up: f64) -> Result<BestLoft, OutsideRange> {
    driving.check()?;
    let given_up = GIVEN_UP.check(given_up)?;
    let floor_deg = driving.floor_deg()?;
    let mut flown_before = WholeDegrees::default();
    let top = driving.best_whole_degree(floor_deg, &mut flown_before)?;
    let mut carries_m = [0.0; 5];
    let mut beyond = None;
    for (carry_m, offset) in carries_m.iter_mut().zip([-2, -1, 0, 1, 2]) {
        let flown = flown_before.fly(&driving, top + offset)?;
        *carry_m = flown.worth;
        if offset == 0 {
            beyond = flown.beyond;
        }
    }
    let Top { at, curvature } = top_of(carries_m);
    let top_deg = (f64::from(top) + at).max(floor_deg);
    let lost_by_a_degree_m = -0.5 * curvature;
    let lower_deg = driving.lower_deg(top_deg, floor_deg, lost_by_a_degree_m, given_up)?;
    Ok(BestLoft {
        delivered_loft_deg: driving.attack_deg + (top_deg - lower_deg),
        lost_by_a_degree_m,
        beyond,
    })
}

/// How far a driver at this delivered loft carries in still air, in metres; 0 where the ball does
/// not rise. Ranges at the head of this module.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn driver_carry_m(driving: Driving, delivered_loft_deg: f64) -> Result<Answer, OutsideRange> {
    driving.check()?;
    let loft_deg = Range::degrees(
        "delivered_loft",
        -15.0,
        driving.attack_deg + MOST_SPIN_LOFT_DEG,
    )
    .check(delivered_loft_deg)?;
    let flown = driving.fly(loft_deg - driving.attack_deg)?;
    if let Some(spare) = flown.slower_by {
        let most = driving.head_speed_m_s * spare;
        Range { most, ..HEAD_SPEED }.check(driving.head_speed_m_s)?;
    }
    Ok(Answer {
        value: flown.worth.max(0.0),
        beyond: flown.beyond,
    })
}

/// What comes of one loft.
#[derive(Clone, Copy)]
struct Flown {
    /// The carry in metres; below 0 where there is none: lower, the further from having one.
    worth: f64,
    /// By what the head's speed must be multiplied for the flight to have an answer.
    slower_by: Option<f64>,
    beyond: Option<BeyondLiterature>,
}

impl Flown {
    const fn nowhere(worth: f64) -> Self {
        Self {
            worth,
            slower_by: None,
            beyond: None,
        }
    }
}

/// What came of whole degrees of spin loft: the search passes the top and its neighbours.
#[derive(Default)]
struct WholeDegrees(BTreeMap<i32, Flown>);

impl WholeDegrees {
    fn fly(&mut self, driving: &Driving, spin_loft: i32) -> Result<Flown, OutsideRange> {
        if let Some(known) = self.0.get(&spin_loft) {
            return Ok(*known);
        }
        let flown = driving.fly(f64::from(spin_loft))?;
        self.0.insert(spin_loft, flown);
        Ok(flown)
    }
}

/// Each takes the relative error of what is given up to a fraction of itself.
const CORRECTIONS: usize = 3;

/// The whole degrees of spin loft among which the best is looked for.
const LEAST_SEARCHED: i32 = 5;
const MOST_SEARCHED: i32 = 58;

impl Driving {
    fn check(&self) -> Result<(), OutsideRange> {
        HEAD_SPEED.check(self.head_speed_m_s)?;
        ATTACK.check(self.attack_deg)?;
        HEAD_MASS.check(self.head_mass_kg)?;
        RESTITUTION.check(self.restitution)?;
        SPIN_SHARE.check(self.spin_share)?;
        AIR_DENSITY.check(self.air_density_kg_m3)?;
        Ok(())
    }

    /// The spin loft that makes the least launch, in degrees; 0 where none is needed.
    fn floor_deg(&self) -> Result<f64, OutsideRange> {
        if self.attack_deg >= LEAST_LAUNCH_DEG {
            return Ok(0.0);
        }
        let loft_deg = impact::loft_from_launch_deg(
            LEAST_LAUNCH_DEG,
            self.attack_deg,
            self.head_mass_kg,
            self.restitution,
        )?;
        Ok(loft_deg - self.attack_deg)
    }

    /// The whole degree of spin loft, 5 to 58 and not below the floor, that carries furthest: the
    /// carry rises up to it and falls beyond, so that it is found by climbing.
    fn best_whole_degree(
        &self,
        floor_deg: f64,
        flown_before: &mut WholeDegrees,
    ) -> Result<i32, OutsideRange> {
        let mut worth = |spin_loft: i32| {
            let spin_loft_deg = f64::from(spin_loft);
            if spin_loft_deg < floor_deg {
                return Ok(no_rise(spin_loft_deg));
            }
            let flown = flown_before.fly(self, spin_loft);
            flown.map(|flown| flown.worth)
        };
        let mut top = self.about_best();
        while top < MOST_SEARCHED && worth(top + 1)? > worth(top)? {
            top += 1;
        }
        while top > LEAST_SEARCHED && worth(top - 1)? >= worth(top)? {
            top -= 1;
        }
        Ok(top)
    }

    /// Where the climb begins: within three degrees of the best for most players, so that few
    /// flights are flown in vain. Read off answers of the search itself; no answer rests on it.
    fn about_best(&self) -> i32 {
        let about_deg = 36.0
            - 0.45 * self.head_speed_m_s
            - 0.6 * self.attack_deg
            - 9.0 * (self.spin_share - impact::DRIVER_SPIN_SHARE);
        let mut top = LEAST_SEARCHED;
        while top < MOST_SEARCHED && f64::from(top) < about_deg {
            top += 1;
        }
        top
    }

    /// How far below the top a share of its carry is lost, in degrees: as if the loss grew with the
    /// square of the distance, then corrected by what the flight there loses.
    fn lower_deg(
        &self,
        top_deg: f64,
        floor_deg: f64,
        lost_by_a_degree_m: f64,
        given_up: f64,
    ) -> Result<f64, OutsideRange> {
        if given_up == 0.0 || lost_by_a_degree_m <= 0.0 {
            return Ok(0.0);
        }
        let best_m = self.fly(top_deg)?.worth;
        let allowed_m = given_up * best_m;
        let most_deg = top_deg - floor_deg.max(1.0);
        let mut lower_deg = (allowed_m / lost_by_a_degree_m).sqrt();
        for _ in 0..CORRECTIONS {
            lower_deg = lower_deg.min(most_deg);
            let lost_m = best_m - self.fly(top_deg - lower_deg)?.worth;
            if lost_m > 0.0 {
                lower_deg *= (allowed_m / lost_m).sqrt();
            }
        }
        Ok(lower_deg.min(most_deg))
    }

    /// The flight at this spin loft. Beyond what has a flight at all, its worth still leads back:
    /// upward where the ball does not rise, down from where it would spin off all scales.
    fn fly(&self, spin_loft_deg: f64) -> Result<Flown, OutsideRange> {
        let strike = self.strike(spin_loft_deg)?;
        if strike.launch_deg <= 0.0 || strike.spin_rpm < 0.0 {
            return Ok(Flown::nowhere(no_rise(spin_loft_deg)));
        }
        let spare = impact::spare_speed(strike.ball_speed_m_s, strike.spin_rpm);
        if spare < 1.0 {
            return Ok(Flown {
                slower_by: Some(spare),
                ..Flown::nowhere(-spin_loft_deg)
            });
        }
        let launch = Launch::straight(strike.ball_speed_m_s, strike.launch_deg, strike.spin_rpm);
        let flight = flight::fly(&launch, &Conditions::still(self.air_density_kg_m3))?;
        Ok(Flown {
            worth: flight.carry_m,
            slower_by: None,
            beyond: flight.beyond,
        })
    }

    fn strike(&self, spin_loft_deg: f64) -> Result<Strike, OutsideRange> {
        let rolling = impact::strike(Delivery {
            head_speed_m_s: self.head_speed_m_s,
            attack_deg: self.attack_deg,
            delivered_loft_deg: self.attack_deg + spin_loft_deg,
            head_mass_kg: self.head_mass_kg,
            restitution: self.restitution,
            friction: impact::DRY_FRICTION,
        })?;
        Ok(Strike {
            spin_rpm: rolling.spin_rpm * self.spin_share,
            ..rolling
        })
    }
}

/// What a loft is worth at which the ball does not rise: less than nothing, and the less the
/// further it is from rising.
fn no_rise(spin_loft_deg: f64) -> f64 {
    spin_loft_deg - 90.0
}

/// The top of a curve.
struct Top {
    /// Where, in steps from the middle, −1 to 1.
    at: f64,
    /// The second derivative there, by the square of a step.
    curvature: f64,
}

/// The top of the cubic that fits five values a step apart best (least squares: slope and third
/// derivative from the odd differences, curvature from the even ones).
fn top_of([far_below, below, middle, above, far_above]: [f64; 5]) -> Top {
    let near = above - below;
    let far = far_above - far_below;
    let slope = (8.0 * near - far) / 12.0;
    let bend = (far - 2.0 * near) / 2.0;
    let curvature = (2.0 * (far_above + far_below) - (above + below) - 2.0 * middle) / 7.0;
    if curvature >= 0.0 {
        // Flat, or falling away from the floor: the better end.
        let at = if slope < 0.0 { -1.0 } else { 1.0 };
        return Top { at, curvature };
    }
    // Newton's method on slope + curvature x + bend x² / 2.
    let mut at = 0.0;
    for _ in 0..3 {
        let steepness = curvature + bend * at;
        if steepness < 0.0 {
            at -= (slope + (curvature + 0.5 * bend * at) * at) / steepness;
            at = at.clamp(-1.0, 1.0);
        }
    }
    Top {
        at,
        curvature: curvature + bend * at,
    }
}

#[cfg(test)]
#[path = "driver_loft_tests.rs"]
mod tests;
