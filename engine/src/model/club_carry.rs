//! How far each club of the bag carries: the strike, then the flight.
//!
//! The strike is [`super::impact`]'s on a clean dry face, its spin the rolling ball's times the
//! share that is to be expected ([`impact::estimated_spin_share`]: for irons and wedges all of it,
//! for a driver three quarters, **an estimate, ±15 %**); the flight is [`super::flight`]'s in still
//! air. What becomes of the carry as loft, speed and air change is worth more than the carry
//! itself, so a bag is set against the carries that the player was measured with:
//! [`calibrated_carry_m`].
//!
//! All lofts are **delivered** lofts. Range of every function here: head speed 5 to 80 m/s, attack
//! −25 to 25°, delivered loft −15 to 80° and at most 75° over the attack, head 0.1 to 0.6 kg,
//! restitution 0.3 to 1, air 0 to 2 kg/m³; and not so fast at so high a loft that the ball would
//! spin more than 15,000 rpm or leave at more than 120 m/s.

use super::answer::Answer;
use super::flight::{self, Conditions, Flight, Launch};
use super::impact::{self, Delivery, Strike};
use super::outside_range::{OutsideRange, Range};

const LEAST_HEAD_SPEED_M_S: f64 = 5.0;
const MOST_HEAD_SPEED_M_S: f64 = 80.0;

/// Slower, softer or more glancing than these three allow, and the ball hardly leaves the face.
const LEAST_RESTITUTION: f64 = 0.3;
const MOST_SPIN_LOFT_DEG: f64 = 75.0;

pub(super) const AIR_DENSITY: Range = Range {
    argument: "air_density",
    unit: "kg/m3",
    least: 0.0,
    most: 2.0,
};
const CARRY_M: (f64, f64) = (1.0, 1000.0);

/// The strike of a club on a dry face, with the spin that is to be expected where none was
/// measured.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn club_strike(
    head_speed_m_s: f64,
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<Strike, OutsideRange> {
    let allows = |most| Range {
        argument: "head_speed",
        unit: "m/s",
        least: LEAST_HEAD_SPEED_M_S,
        most,
    };
    let most_loft_deg = attack_deg + MOST_SPIN_LOFT_DEG;
    let rolling = impact::strike(Delivery {
        head_speed_m_s: allows(MOST_HEAD_SPEED_M_S).check(head_speed_m_s)?,
        attack_deg,
        delivered_loft_deg,
        head_mass_kg,
        restitution: impact::number("restitution", LEAST_RESTITUTION, 1.0).check(restitution)?,
        friction: impact::DRY_FRICTION,
    })?;
    Range::degrees("delivered_loft", -15.0, most_loft_deg).check(delivered_loft_deg)?;
    let share = impact::estimated_spin_share(delivered_loft_deg - attack_deg);
    let spin_rpm = rolling.spin_rpm * share;
    let spare = impact::spare_speed(rolling.ball_speed_m_s, spin_rpm);
    if spare < 1.0 {
        allows(head_speed_m_s * spare).check(head_speed_m_s)?;
    }
    Ok(Strike {
        spin_rpm,
        ..rolling
    })
}

/// The flight of a club's ball in still air; `None` where the ball does not rise or has top spin.
fn club_flight(strike: &Strike, air_density_kg_m3: f64) -> Result<Option<Flight>, OutsideRange> {
    if strike.launch_deg <= 0.0 || strike.spin_rpm < 0.0 {
        AIR_DENSITY.check(air_density_kg_m3)?;
        return Ok(None);
    }
    let launch = Launch::straight(strike.ball_speed_m_s, strike.launch_deg, strike.spin_rpm);
    flight::fly(&launch, &Conditions::still(air_density_kg_m3)).map(Some)
}

/// How far a club carries in still air, in metres; 0 where the ball does not rise.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn club_carry_m(
    head_speed_m_s: f64,
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
    air_density_kg_m3: f64,
) -> Result<Answer, OutsideRange> {
    let strike = club_strike(
        head_speed_m_s,
        attack_deg,
        delivered_loft_deg,
        head_mass_kg,
        restitution,
    )?;
    answer(&strike, air_density_kg_m3, |flight| flight.carry_m)
}

/// How steeply a club's ball comes down in still air: degrees below the horizontal; 0 where it does
/// not rise.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn club_landing_angle_deg(
    head_speed_m_s: f64,
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
    air_density_kg_m3: f64,
) -> Result<Answer, OutsideRange> {
    let strike = club_strike(
        head_speed_m_s,
        attack_deg,
        delivered_loft_deg,
        head_mass_kg,
        restitution,
    )?;
    answer(&strike, air_density_kg_m3, |flight| {
        flight.landing_angle_deg
    })
}

fn answer(
    strike: &Strike,
    air_density_kg_m3: f64,
    of: impl Fn(&Flight) -> f64,
) -> Result<Answer, OutsideRange> {
    Ok(match club_flight(strike, air_density_kg_m3)? {
        Some(flight) => Answer {
            value: of(&flight),
            beyond: flight.beyond,
        },
        None => Answer::covered(0.0),
    })
}

/// A club whose carry is both modelled and measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anchor {
    /// Its loft, in degrees, −15 to 80: of the same kind for both anchors and the club asked about.
    pub loft_deg: f64,
    /// Its carry by the model, in metres, 1 to 1000.
    pub modelled_m: f64,
    /// Its carry as measured with the player, in metres, 1 to 1000.
    pub measured_m: f64,
}

/// A modelled carry set against the carries of two measured clubs, in metres: times measured over
/// modelled, in a straight line in loft between the two, and held at the nearer one beyond them.
///
/// `modelled_carry_m` is 0 to 1000 and `loft_deg` −15 to 80. Two anchors of one loft count alike:
/// the mean of their ratios. Which comes first makes no difference. Interpolation, no physics; *no
/// source*.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn calibrated_carry_m(
    modelled_carry_m: f64,
    loft_deg: f64,
    first: Anchor,
    second: Anchor,
) -> Result<f64, OutsideRange> {
    let modelled_carry_m =
        Range::metres("modelled_carry", 0.0, CARRY_M.1).check(modelled_carry_m)?;
    let loft_deg = Range::degrees("loft", -15.0, 80.0).check(loft_deg)?;
    let first_ratio = ratio(first, ["first_loft", "first_modelled", "first_measured"])?;
    let second_ratio = ratio(
        second,
        ["second_loft", "second_modelled", "second_measured"],
    )?;
    let (weaker, stronger) = if first.loft_deg <= second.loft_deg {
        (
            (second.loft_deg, second_ratio),
            (first.loft_deg, first_ratio),
        )
    } else {
        (
            (first.loft_deg, first_ratio),
            (second.loft_deg, second_ratio),
        )
    };
    let between_deg = weaker.0 - stronger.0;
    let way = if between_deg > 0.0 {
        ((loft_deg - stronger.0) / between_deg).clamp(0.0, 1.0)
    } else {
        0.5
    };
    Ok(modelled_carry_m * (stronger.1 * (1.0 - way) + weaker.1 * way))
}

fn ratio(anchor: Anchor, names: [&'static str; 3]) -> Result<f64, OutsideRange> {
    let [loft, modelled, measured] = names;
    Range::degrees(loft, -15.0, 80.0).check(anchor.loft_deg)?;
    let modelled_m = Range::metres(modelled, CARRY_M.0, CARRY_M.1).check(anchor.modelled_m)?;
    let measured_m = Range::metres(measured, CARRY_M.0, CARRY_M.1).check(anchor.measured_m)?;
    Ok(measured_m / modelled_m)
}

#[cfg(test)]
#[path = "club_carry_tests.rs"]
mod tests;
