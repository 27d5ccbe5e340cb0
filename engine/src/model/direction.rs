//! Where the ball starts and which way it curves: face against path.
//!
//! The face looks one way, the head moves another. The ball leaves in the plane of the two, between
//! them and near the face, and spins about the line across that plane. All exact from the strike of
//! [`super::impact`], in three dimensions: with n the face's normal, p the head's way, θ the angle
//! between them and t the way along the face,
//!
//! ```text
//! start = v_n n + v_t t      spin axis = t × n
//! ```
//!
//! Most of the start direction is the face's. How much follows from the strike: about 0.81 for a
//! driver, 0.7 for a short iron. Shots by players and by a machine gave 0.61 to 0.83 over the bag:
//! *The Influence of Face Angle and Club Path on the Resultant Launch Angle of a Golf Ball*,
//! Proceedings 2 (2018) 249. Where a rule has its own figure, the share is an argument.
//!
//! Signs, the same for either hand: face + closed; path, start, lateral and tilt of the axis +
//! toward the side that a draw curves to.

use super::answer::Answer;
use super::club_carry::{AIR_DENSITY, club_strike};
use super::flight::{self, Conditions, Launch};
use super::head::{lie_error_face_deg, lie_error_loft_deg, offline_m};
use super::impact::{self, Delivery};
use super::math::{atan2_deg, cos_deg, sin_deg};
use super::outside_range::{OutsideRange, Range};
use super::rotation::Direction;

const FACE: Range = Range::degrees("face", -45.0, 45.0);
const PATH: Range = Range::degrees("path", -30.0, 30.0);
const FACE_SHARE: Range = impact::number("face_share", 0.0, 1.0);

/// A delivery in three dimensions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aimed {
    /// Speed, attack, loft, head, restitution, friction; the loft above the ground.
    pub delivery: Delivery,
    /// Where the face looks, in degrees, + closed, −45 to 45.
    pub face_deg: f64,
    /// Which way the head moves, in degrees, + toward the side that a draw curves to, −30 to 30.
    pub path_deg: f64,
}

/// How the ball leaves the face: as [`impact::strike`], with the direction. Angle between the
/// face's normal and the head's way at most 80°; for everything else the ranges of [`Delivery`].
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn aimed_launch(aimed: Aimed) -> Result<Launch, OutsideRange> {
    let face_deg = FACE.check(aimed.face_deg)?;
    let path_deg = PATH.check(aimed.path_deg)?;
    let delivery = aimed.delivery;
    // For its checks: the spin loft of the delivery is that of a square face.
    impact::strike(delivery)?;
    let face = ray(delivery.delivered_loft_deg, face_deg);
    let path = ray(delivery.attack_deg, path_deg);
    let cosine = face.dot(path);
    let along = Direction {
        x: path.x - cosine * face.x,
        y: path.y - cosine * face.y,
        z: path.z - cosine * face.z,
    };
    let sine = along.dot(along).sqrt();
    let angle_deg = Range::degrees("face", 0.0, 80.0).check(atan2_deg(sine, cosine))?;
    // The same strike in the plane of face and path, the path being its ground.
    let strike = impact::strike(Delivery {
        attack_deg: 0.0,
        delivered_loft_deg: angle_deg,
        ..delivery
    })?;
    let off_normal_deg = angle_deg - strike.launch_deg;
    let toward = if sine > 0.0 {
        sin_deg(off_normal_deg) / sine
    } else {
        0.0
    };
    let keeps = cos_deg(off_normal_deg);
    let start = Direction {
        x: keeps * face.x + toward * along.x,
        y: keeps * face.y + toward * along.y,
        z: keeps * face.z + toward * along.z,
    };
    Ok(Launch {
        ball_speed_m_s: strike.ball_speed_m_s,
        launch_deg: start.elevation_deg(),
        start_direction_deg: start.azimuth_deg(),
        spin_rpm: strike.spin_rpm,
        axis_tilt_deg: tilt_deg(along, face, start),
    })
}

/// A unit vector this high above the ground and this far off the target line.
fn ray(up_deg: f64, aside_deg: f64) -> Direction {
    Direction {
        x: cos_deg(up_deg) * cos_deg(aside_deg),
        y: cos_deg(up_deg) * sin_deg(aside_deg),
        z: sin_deg(up_deg),
    }
}

/// The tilt of the axis `along` × `face` against the horizontal, seen along the start.
fn tilt_deg(along: Direction, face: Direction, start: Direction) -> f64 {
    let axis = Direction {
        x: along.y * face.z - along.z * face.y,
        y: along.z * face.x - along.x * face.z,
        z: along.x * face.y - along.y * face.x,
    };
    let level = (start.x * start.x + start.y * start.y).sqrt();
    // Back spin's own axis, and what is up for the start, both times `level`.
    let (across, upward) = (
        axis.x * start.y - axis.y * start.x,
        axis.z * level * level - start.z * (axis.x * start.x + axis.y * start.y),
    );
    if across == 0.0 && upward == 0.0 {
        return 0.0;
    }
    atan2_deg(upward, across)
}

/// The start direction as a share of the face and the rest of the path, in degrees:
/// path + share × (face − path).
///
/// `face_deg` −45 to 45, `path_deg` −30 to 30, `face_share` 0 to 1.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn start_direction_deg(
    face_deg: f64,
    path_deg: f64,
    face_share: f64,
) -> Result<f64, OutsideRange> {
    let face_deg = FACE.check(face_deg)?;
    let path_deg = PATH.check(path_deg)?;
    Ok(path_deg + FACE_SHARE.check(face_share)? * (face_deg - path_deg))
}

/// The share of the start direction that is the face's, by the strike: the start of a face 1°
/// closed over a straight path.
///
/// # Errors
/// As [`impact::strike`].
pub fn face_share(
    attack_deg: f64,
    delivered_loft_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
) -> Result<f64, OutsideRange> {
    let delivery = Delivery {
        head_speed_m_s: 1.0,
        attack_deg,
        delivered_loft_deg,
        head_mass_kg,
        restitution,
        friction: impact::DRY_FRICTION,
    };
    impact::strike(delivery)?;
    Range::degrees("delivered_loft", -15.0, attack_deg + 75.0).check(delivered_loft_deg)?;
    let launch = aimed_launch(Aimed {
        delivery,
        face_deg: 1.0,
        path_deg: 0.0,
    })?;
    Ok(launch.start_direction_deg)
}

/// How far aside a ball ends because the club's lie does not fit, in metres, + toward the side that
/// a draw curves to (upright): the lie error's face angle, the share of it that the start takes,
/// and a straight line as long as the carry.
///
/// `loft_deg` −20 to 80, delivered; `lie_error_deg` −45 to 45, + toe up; `carry_m` 0 to 1000;
/// `face_share` 0 to 1. The curve that the tilted spin adds, to the same side, is left out: see
/// [`lie_miss_in_flight_m`].
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn lie_miss_m(
    loft_deg: f64,
    lie_error_deg: f64,
    carry_m: f64,
    face_share: f64,
) -> Result<f64, OutsideRange> {
    let face_deg = lie_error_face_deg(loft_deg, lie_error_deg)?;
    offline_m(FACE_SHARE.check(face_share)? * face_deg, carry_m)
}

/// How far aside a ball lands because the club's lie does not fit, in metres, + toward the side
/// that a draw curves to: the head turned about the target line, the strike in three dimensions,
/// the flight in still air with its curve. 0 where the ball does not rise.
///
/// `lie_error_deg` −10 to 10, + toe up; `delivered_loft_deg` at least 3° over the attack; the
/// others as in [`club_carry_m`](super::club_carry::club_carry_m). The spin is an estimate, so the
/// curve is.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn lie_miss_in_flight_m(
    head_speed_m_s: f64,
    attack_deg: f64,
    delivered_loft_deg: f64,
    lie_error_deg: f64,
    head_mass_kg: f64,
    restitution: f64,
    air_density_kg_m3: f64,
) -> Result<Answer, OutsideRange> {
    let lie_error_deg = Range::degrees("lie_error", -10.0, 10.0).check(lie_error_deg)?;
    let square = club_strike(
        head_speed_m_s,
        attack_deg,
        delivered_loft_deg,
        head_mass_kg,
        restitution,
    )?;
    Range::degrees("delivered_loft", attack_deg + 3.0, 80.0).check(delivered_loft_deg)?;
    let conditions = Conditions::still(AIR_DENSITY.check(air_density_kg_m3)?);
    if square.launch_deg <= 0.0 {
        return Ok(Answer::covered(0.0));
    }
    let mut launch = aimed_launch(Aimed {
        delivery: Delivery {
            head_speed_m_s,
            attack_deg,
            delivered_loft_deg: lie_error_loft_deg(delivered_loft_deg, lie_error_deg)?,
            head_mass_kg,
            restitution,
            friction: impact::DRY_FRICTION,
        },
        face_deg: lie_error_face_deg(delivered_loft_deg, lie_error_deg)?,
        path_deg: 0.0,
    })?;
    // The ball's speed and spin are those of the square face, but for a part in a thousand.
    launch.ball_speed_m_s = square.ball_speed_m_s;
    launch.spin_rpm = square.spin_rpm;
    if launch.launch_deg <= 0.0 {
        return Ok(Answer::covered(0.0));
    }
    let flight = flight::fly(&launch, &conditions)?;
    Ok(Answer {
        value: flight.lateral_m,
        beyond: flight.beyond,
    })
}

#[cfg(test)]
#[path = "direction_tests.rs"]
mod tests;
