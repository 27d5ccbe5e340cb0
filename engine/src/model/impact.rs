//! Head against ball: two rigid bodies, a restitution, and a ball that leaves the face rolling.
//!
//! The head of mass M meets the ball of mass m and radius r with speed V under the **spin loft** θ:
//! the angle between the face's normal and the way the head moves, delivered loft − angle of
//! attack. Across the face the restitution e rules; along it friction drags the ball until it
//! rolls:
//!
//! ```text
//! normal      v_n = (1 + e) V cos θ / (1 + m/M)
//! tangential  v_t = V sin θ / (1 + m/M + m r²/I)      at most μ v_n, where the ball still slides
//! spin        ω   = m r v_t / I
//! launch          = delivered loft − atan(v_t / v_n)
//! ```
//!
//! Source: conservation of momentum and of angular momentum about the point of contact, as in A. R.
//! Penner, *The physics of golf: the optimum loft of a driver*, American Journal of Physics 69
//! (2001) 563-568 (attribution *from memory*). The ball is a uniform sphere, I = 2/5 m r²; the head
//! does not turn (a strike on the line of its centre of mass), so no gear effect.
//!
//! **The rolling spin is an upper bound for a driver.** The R&A/USGA Overall Distance Standard sets
//! 2520 rpm where rolling makes 3412; the tour averages of their 2015 Distance Report come to three
//! quarters as well. So a spin that was measured is worth more than any of this:
//! [`after_loft_change`] carries a measured launch to another loft and takes only ratios from the
//! model. Without a measurement [`estimated_spin_share`] says what to expect of a spin, and that it
//! may be wrong by 15 %.
//!
//! Angles in degrees, attack + upward, loft is the one **delivered** (dynamic: shaft lean and bend
//! of the shaft included), not the one at address.

use super::flight::ball;
use super::math::{atan2_deg, cos_deg, sin_deg};
use super::outside_range::{OutsideRange, Range};

const BALL_MASS_KG: f64 = ball::MASS_KG;
const BALL_RADIUS_M: f64 = ball::DIAMETER_M / 2.0;

/// Moment of inertia of the ball over m r², as for a uniform sphere.
const INERTIA_SHARE: f64 = 0.4;

/// Friction of a clean dry face: more than rolling asks for up to 60° of spin loft. Dry, the form
/// of the grooves made no difference between 20° and 60° (R&A/USGA 2006, as quoted by Cornish,
/// Otto, Strangwood, *The influence of groove profile, ball type and surface condition on golf ball
/// backspin magnitude*, The Engineering of Sport 7, 2008): the ball rolls. The figure beyond is an
/// estimate.
pub const DRY_FRICTION: f64 = 0.40;

const HEAD_SPEED: Range = Range {
    argument: "head_speed",
    unit: "m/s",
    least: 1.0,
    most: 80.0,
};
const ATTACK: Range = Range::degrees("attack_angle", -25.0, 25.0);
const LEAST_LOFT_DEG: f64 = -15.0;
const MOST_LOFT_DEG: f64 = 80.0;
/// Beyond, the face passes under the ball.
const MOST_SPIN_LOFT_DEG: f64 = 85.0;
const HEAD_MASS: Range = Range::kilograms("head_mass", 0.1, 0.6);
const RESTITUTION: Range = number("restitution", 0.0, 1.0);
const FRICTION: Range = number("friction", 0.0, 2.0);

/// A plain number.
pub(super) const fn number(argument: &'static str, least: f64, most: f64) -> Range {
    Range {
        argument,
        unit: "",
        least,
        most,
    }
}

/// How the head meets the ball.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Delivery {
    /// Speed of the head, in metres a second, 1 to 80.
    pub head_speed_m_s: f64,
    /// Angle of attack, in degrees, + upward, −25 to 25.
    pub attack_deg: f64,
    /// Loft as delivered, in degrees, −15 to 80, and at most 85 above the angle of attack.
    pub delivered_loft_deg: f64,
    /// Mass of the head, in kilograms, 0.1 to 0.6.
    pub head_mass_kg: f64,
    /// Coefficient of restitution, 0 to 1. A driver's face about 0.83, an iron's less.
    pub restitution: f64,
    /// Coefficient of friction between face and ball, 0 to 2; [`DRY_FRICTION`].
    pub friction: f64,
}

/// How the ball leaves the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strike {
    /// Speed of the ball, in metres a second.
    pub ball_speed_m_s: f64,
    /// Launch angle above the ground, in degrees.
    pub launch_deg: f64,
    /// Spin, in rpm, back spin positive: the rolling ball's, or the sliding
    /// one's where friction does not suffice.
    pub spin_rpm: f64,
    /// Whether friction did not suffice to make the ball roll.
    pub is_sliding: bool,
}

/// The strike that a delivery makes.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn strike(delivery: Delivery) -> Result<Strike, OutsideRange> {
    let speed = HEAD_SPEED.check(delivery.head_speed_m_s)?;
    let spin_loft_deg = spin_loft_deg(delivery.attack_deg, delivery.delivered_loft_deg)?;
    let head = Head::of(delivery.head_mass_kg, delivery.restitution)?;
    let friction = FRICTION.check(delivery.friction)?;
    let normal = speed * head.normal_share * cos_deg(spin_loft_deg);
    let rolling = speed * head.tangential_share * sin_deg(spin_loft_deg);
    let most = friction * normal;
    let tangential = rolling.clamp(-most, most);
    Ok(Strike {
        ball_speed_m_s: (normal * normal + tangential * tangential).sqrt(),
        launch_deg: delivery.delivered_loft_deg - atan2_deg(tangential, normal),
        spin_rpm: spin_rpm(tangential),
        is_sliding: rolling > most || rolling < -most,
    })
}

/// Faster than any ball leaves a face, in metres a second; the flight has no answer beyond.
const MOST_BALL_SPEED_M_S: f64 = 120.0;
/// More than any ball spins, in rpm.
const MOST_SPIN_RPM: f64 = 15_000.0;

/// By what the head's speed may be multiplied for the ball to have a flight: both its speed and its
/// spin go with the head's speed.
pub(super) fn spare_speed(ball_speed_m_s: f64, spin_rpm: f64) -> f64 {
    (MOST_BALL_SPEED_M_S / ball_speed_m_s).min(MOST_SPIN_RPM / spin_rpm.abs())
}

/// What a head of this mass and restitution passes on.
#[derive(Debug, Clone, Copy)]
struct Head {
    /// Of the ball's speed along the face's normal, over V cos θ.
    normal_share: f64,
    /// Of the rolling ball's speed along the face, over V sin θ.
    tangential_share: f64,
}

impl Head {
    fn of(head_mass_kg: f64, restitution: f64) -> Result<Self, OutsideRange> {
        let masses = BALL_MASS_KG / HEAD_MASS.check(head_mass_kg)?;
        let restitution = RESTITUTION.check(restitution)?;
        Ok(Self {
            normal_share: (1.0 + restitution) / (1.0 + masses),
            tangential_share: 1.0 / (1.0 + masses + 1.0 / INERTIA_SHARE),
        })
    }

    /// How far the launch stays below the delivered loft, in degrees.
    fn launch_drop_deg(self, spin_loft_deg: f64) -> f64 {
        atan2_deg(
            self.tangential_share * sin_deg(spin_loft_deg),
            self.normal_share * cos_deg(spin_loft_deg),
        )
    }

    /// Speed of the rolling ball over the head's.
    fn speed_share(self, spin_loft_deg: f64) -> f64 {
        let normal = self.normal_share * cos_deg(spin_loft_deg);
        let tangential = self.tangential_share * sin_deg(spin_loft_deg);
        (normal * normal + tangential * tangential).sqrt()
    }
}

/// ω = m r v_t / I, in rpm.
fn spin_rpm(tangential_m_s: f64) -> f64 {
    let radians_per_s = tangential_m_s / (INERTIA_SHARE * BALL_RADIUS_M);
    radians_per_s * (30.0 / std::f64::consts::PI)
}

/// Delivered loft over the angle of attack, both checked.
fn spin_loft_deg(attack_deg: f64, delivered_loft_deg: f64) -> Result<f64, OutsideRange> {
    spin_loft_of(attack_deg, "delivered_loft", delivered_loft_deg)
}

fn spin_loft_of(
    attack_deg: f64,
    argument: &'static str,
    delivered_loft_deg: f64,
) -> Result<f64, OutsideRange> {
    let attack_deg = ATTACK.check(attack_deg)?;
    let most = MOST_LOFT_DEG.min(attack_deg + MOST_SPIN_LOFT_DEG);
    let loft_deg = Range::degrees(argument, LEAST_LOFT_DEG, most).check(delivered_loft_deg)?;
    Ok(loft_deg - attack_deg)
}

/// Speed of the ball, in metres a second; a dry face.
///
/// # Errors
/// As [`strike`].
pub fn ball_speed_m_s(
    head_speed_m_s: f64,
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<f64, OutsideRange> {
    let speed = HEAD_SPEED.check(head_speed_m_s)?;
    let spin_loft_deg = spin_loft_deg(attack_deg, delivered_loft_deg)?;
    Ok(speed * Head::of(head_mass_kg, restitution)?.speed_share(spin_loft_deg))
}

/// Launch angle of the rolling ball, in degrees above the ground. It does not depend on speed.
///
/// # Errors
/// As [`strike`].
pub fn launch_deg(
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<f64, OutsideRange> {
    let spin_loft_deg = spin_loft_deg(attack_deg, delivered_loft_deg)?;
    let head = Head::of(head_mass_kg, restitution)?;
    Ok(delivered_loft_deg - head.launch_drop_deg(spin_loft_deg))
}

/// Spin of the rolling ball, in rpm: **an upper bound for a driver**. It does not depend
/// on the restitution.
///
/// # Errors
/// As [`strike`].
pub fn rolling_spin_rpm(
    head_speed_m_s: f64,
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
) -> Result<f64, OutsideRange> {
    let speed = HEAD_SPEED.check(head_speed_m_s)?;
    let spin_loft_deg = spin_loft_deg(attack_deg, delivered_loft_deg)?;
    let head = Head::of(head_mass_kg, 0.0)?;
    Ok(spin_rpm(
        speed * head.tangential_share * sin_deg(spin_loft_deg),
    ))
}

/// The delivered loft that makes a launch, in degrees: the reverse of [`launch_deg`], in closed
/// form.
///
/// With λ = launch − attack and k = v_t / (v_n tan θ), tan λ = (1 − k) tan θ / (1 + k tan² θ), a
/// quadratic in tan θ whose smaller root is the strike. `launch_deg` from 5° below the angle of
/// attack to 38° above it, `head_mass_kg` 0.15 to 0.6, `restitution` 0.5 to 1: there a root always
/// exists.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn loft_from_launch_deg(
    launch_deg: f64,
    attack_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<f64, OutsideRange> {
    let attack_deg = ATTACK.check(attack_deg)?;
    let launches = Range::degrees("launch", attack_deg - 5.0, attack_deg + 38.0);
    let above = launches.check(launch_deg)? - attack_deg;
    let head = Head::of(
        Range::kilograms("head_mass", 0.15, 0.6).check(head_mass_kg)?,
        number("restitution", 0.5, 1.0).check(restitution)?,
    )?;
    let k = head.tangential_share / head.normal_share;
    let tangent = sin_deg(above) / cos_deg(above);
    let rest = 1.0 - k;
    let root = (rest * rest - 4.0 * k * tangent * tangent).sqrt();
    Ok(attack_deg + atan2_deg(2.0 * tangent, rest + root))
}

/// A strike that was measured with the player's own club, and what is known of its delivery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Speed of the ball, in metres a second, 1 to 120.
    pub ball_speed_m_s: f64,
    /// Launch angle, in degrees, −10 to 70.
    pub launch_deg: f64,
    /// Spin, in rpm, 0 to 15,000.
    pub spin_rpm: f64,
    /// Angle of attack, in degrees, −25 to 25.
    pub attack_deg: f64,
    /// Loft that was delivered, in degrees, 2 to 80 above the angle of attack: nearer to it the
    /// spin says nothing of the loft.
    pub delivered_loft_deg: f64,
    /// Mass of the head, in kilograms, 0.1 to 0.6.
    pub head_mass_kg: f64,
    /// Coefficient of restitution, 0 to 1.
    pub restitution: f64,
}

/// The measured strike carried to another delivered loft, all else the same: the launch changed by
/// what the model's launch changes by; ball speed and spin in the model's ratio. None of it depends
/// on the head's speed.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn after_loft_change(measured: Measured, new_loft_deg: f64) -> Result<Strike, OutsideRange> {
    let Measured {
        attack_deg,
        delivered_loft_deg: loft_deg,
        head_mass_kg,
        restitution,
        ..
    } = measured;
    Ok(Strike {
        ball_speed_m_s: ball_speed_after_loft_change_m_s(
            measured.ball_speed_m_s,
            attack_deg,
            loft_deg,
            new_loft_deg,
            head_mass_kg,
            restitution,
        )?,
        launch_deg: launch_after_loft_change_deg(
            measured.launch_deg,
            attack_deg,
            loft_deg,
            new_loft_deg,
            head_mass_kg,
            restitution,
        )?,
        spin_rpm: spin_after_loft_change_rpm(
            measured.spin_rpm,
            attack_deg,
            loft_deg,
            new_loft_deg,
        )?,
        is_sliding: false,
    })
}

/// A measured ball speed at another delivered loft, in metres a second; see [`after_loft_change`].
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn ball_speed_after_loft_change_m_s(
    measured_m_s: f64,
    attack_deg: f64,
    measured_loft_deg: f64,
    new_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<f64, OutsideRange> {
    let measured = Range {
        argument: "measured_ball_speed",
        unit: "m/s",
        least: 1.0,
        most: 120.0,
    }
    .check(measured_m_s)?;
    let (before_deg, after_deg) = spin_lofts(attack_deg, measured_loft_deg, new_loft_deg)?;
    let head = Head::of(head_mass_kg, restitution)?;
    Ok(measured * (head.speed_share(after_deg) / head.speed_share(before_deg)))
}

/// A measured launch at another delivered loft, in degrees; see [`after_loft_change`].
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn launch_after_loft_change_deg(
    measured_deg: f64,
    attack_deg: f64,
    measured_loft_deg: f64,
    new_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<f64, OutsideRange> {
    let measured_deg = Range::degrees("measured_launch", -10.0, 70.0).check(measured_deg)?;
    let (before_deg, after_deg) = spin_lofts(attack_deg, measured_loft_deg, new_loft_deg)?;
    let head = Head::of(head_mass_kg, restitution)?;
    let more_loft_deg = after_deg - before_deg;
    let more_drop_deg = head.launch_drop_deg(after_deg) - head.launch_drop_deg(before_deg);
    Ok(measured_deg + (more_loft_deg - more_drop_deg))
}

/// A measured spin at another delivered loft, in rpm; see [`after_loft_change`]. Spin goes
/// with the sine of the spin loft, whatever the head.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn spin_after_loft_change_rpm(
    measured_rpm: f64,
    attack_deg: f64,
    measured_loft_deg: f64,
    new_loft_deg: f64,
) -> Result<f64, OutsideRange> {
    let measured = Range {
        argument: "measured_spin",
        unit: "rpm",
        least: 0.0,
        most: 15_000.0,
    }
    .check(measured_rpm)?;
    let (before_deg, after_deg) = spin_lofts(attack_deg, measured_loft_deg, new_loft_deg)?;
    Ok(measured * (sin_deg(after_deg) / sin_deg(before_deg)))
}

/// The spin lofts before and after, both checked.
fn spin_lofts(
    attack_deg: f64,
    measured_loft_deg: f64,
    new_loft_deg: f64,
) -> Result<(f64, f64), OutsideRange> {
    let attack_deg = ATTACK.check(attack_deg)?;
    let far_enough = Range::degrees("measured_loft", attack_deg + 2.0, attack_deg + 80.0);
    let before = spin_loft_of(
        attack_deg,
        "measured_loft",
        far_enough.check(measured_loft_deg)?,
    )?;
    let after = spin_loft_of(attack_deg, "new_loft", new_loft_deg)?;
    Ok((before, after))
}

/// The share of the rolling spin to expect where none was measured: 0.74 up to a spin loft of 14°,
/// 1 from 28° on, in a straight line between.
///
/// **An estimate, ±15 %.** 0.74 is what the R&A/USGA's own figures for drivers come to (see the
/// head of this module); 1 is the ball that rolls off a dry iron or wedge; the line between has no
/// source.
#[must_use]
pub fn estimated_spin_share(spin_loft_deg: f64) -> f64 {
    let way = ((spin_loft_deg - 14.0) / 14.0).clamp(0.0, 1.0);
    DRIVER_SPIN_SHARE + (1.0 - DRIVER_SPIN_SHARE) * way
}

/// What a driver leaves of the rolling spin where the player's own was not measured: ±15 %.
pub const DRIVER_SPIN_SHARE: f64 = 0.74;

#[cfg(test)]
#[path = "impact_tests.rs"]
mod tests;
