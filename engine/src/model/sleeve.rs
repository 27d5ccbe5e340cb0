//! The tilted sleeve: a hosel whose bore stands at a small angle to the shaft and can be turned.
//!
//! The shaft is held where the player holds it, at the lie Λ. The sleeve turns the head, against
//! the shaft, by the tilt ε about an axis at right angles to the shaft; turning the sleeve by φ
//! turns that axis about the shaft. All by exact rotation matrices. φ = 0 adds the most loft; φ
//! grows by the right-hand rule about the shaft from head to butt (for a left-hander by the left
//! hand, his world being the mirror image), so that φ = 90° makes the head flatter.
//!
//! To first order, with L the loft without the sleeve and δ the change of lie:
//!
//! ```text
//! change of loft = ε sin Λ cos φ
//! change of lie  = −ε sin φ = δ
//! face           = ε cos Λ cos φ + tan L · δ
//! ```
//!
//! The last term is the lie error of [`super::head`]: a head that the sleeve has made flatter than
//! the shaft is held points open by what any head too flat does. The tests hold the exact form
//! against this one, and against the closed form of the loft after squaring up.
//!
//! Sleeves of 1, 1.5 and 2 degrees are common (*common practice, no source*). The ranges taken here
//! are wider: loft −20 to 70 (60 for squaring up), lie 40 to 90, tilt −5 to 5, turn −360 to 360
//! degrees. Signs, the same for either hand: face + closed, lie + upright, loft + more.

use super::math::asin_deg;
use super::outside_range::{OutsideRange, Range};
use super::rotation::{Direction, Rotation};

const LOFT: Range = Range::degrees("loft", -20.0, 70.0);
const LIE: Range = Range::degrees("lie", 40.0, 90.0);
const TILT: Range = Range::degrees("tilt", -5.0, 5.0);
const TURN: Range = Range::degrees("turn", -360.0, 360.0);

/// Narrower: so far a turn of the shaft can always square the face.
const LOFT_TO_SQUARE: Range = Range::degrees("loft", -20.0, 60.0);

/// What the head delivers with its sleeve turned to a setting, the shaft held where it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SleevedHead {
    /// The loft, in degrees.
    pub loft_deg: f64,
    /// The lie of the club, in degrees: between the ground that the head was made for and the
    /// shaft, projected on the vertical plane through heel and toe, as the R&A/USGA Equipment Rules
    /// project the shaft for its least angle (Part 2, 1d; *from memory*).
    pub lie_deg: f64,
    /// Where the face points, in degrees, closed positive.
    pub face_deg: f64,
}

/// The delivered loft, lie and face of a head on a tilted sleeve, all in degrees.
///
/// `loft_deg` and `lie_deg` are the head's own, without the sleeve's tilt; `tilt_deg` is the angle
/// of the sleeve, `turn_deg` its setting. Ranges and source at the head of this module.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn sleeved_head(
    loft_deg: f64,
    lie_deg: f64,
    tilt_deg: f64,
    turn_deg: f64,
) -> Result<SleevedHead, OutsideRange> {
    let tilted = Tilted::of(LOFT.check(loft_deg)?, lie_deg, tilt_deg, turn_deg)?;
    Ok(SleevedHead {
        loft_deg: tilted.normal().elevation_deg(),
        lie_deg: tilted.lie_deg(),
        face_deg: tilted.normal().azimuth_deg(),
    })
}

/// The loft of a head on a tilted sleeve once the player has turned the shaft in his hands until
/// the face is square again, in degrees.
///
/// Turning the shaft keeps the angle between face normal and shaft, and a square face has
/// n·s = sin(loft) · sin(lie); so the loft is asin(n·s / sin(lie)). Arguments and ranges as in
/// [`sleeved_head`], but for the loft, −20 to 60: over those the quotient stays under 1 (0.98 at
/// loft 60, lie 40, tilt 5), so that a turn that squares the face always exists.
///
/// # Errors
/// The first argument beyond its range, or no number.
pub fn sleeve_squared_loft_deg(
    loft_deg: f64,
    lie_deg: f64,
    tilt_deg: f64,
    turn_deg: f64,
) -> Result<f64, OutsideRange> {
    let tilted = Tilted::of(LOFT_TO_SQUARE.check(loft_deg)?, lie_deg, tilt_deg, turn_deg)?;
    Ok(asin_deg(tilted.normal().dot(tilted.shaft) / tilted.shaft.z))
}

/// A head that the sleeve turns against the shaft.
struct Tilted {
    loft_deg: f64,
    shaft: Direction,
    axis: Direction,
    tilt_deg: f64,
}

impl Tilted {
    fn of(loft_deg: f64, lie_deg: f64, tilt_deg: f64, turn_deg: f64) -> Result<Self, OutsideRange> {
        let lie_deg = LIE.check(lie_deg)?;
        let tilt_deg = TILT.check(tilt_deg)?;
        let turn_deg = TURN.check(turn_deg)?;
        let shaft = Direction::shaft(lie_deg);
        // At right angles to the shaft, in the plane of shaft and plumb line: turning the head
        // about it by the right-hand rule looks the face up and closes it.
        let loft_adding_axis = Direction {
            x: 0.0,
            y: -shaft.z,
            z: shaft.y,
        };
        Ok(Self {
            loft_deg,
            shaft,
            axis: Rotation::about(shaft, turn_deg).turn(loft_adding_axis),
            tilt_deg,
        })
    }

    /// The face's normal, the shaft held still.
    fn normal(&self) -> Direction {
        Rotation::about(self.axis, self.tilt_deg).turn(Direction::face_normal(self.loft_deg))
    }

    /// The lie of the shaft, the head left on its sole.
    fn lie_deg(&self) -> f64 {
        let shaft = Rotation::about(self.axis, -self.tilt_deg).turn(self.shaft);
        shaft.elevation_across_target_line_deg()
    }
}

/// The loft delivered by a head on a tilted sleeve, shaft held still, in degrees.
///
/// # Errors
/// As [`sleeved_head`].
pub fn sleeve_loft_deg(
    loft_deg: f64,
    lie_deg: f64,
    tilt_deg: f64,
    turn_deg: f64,
) -> Result<f64, OutsideRange> {
    let tilted = Tilted::of(LOFT.check(loft_deg)?, lie_deg, tilt_deg, turn_deg)?;
    Ok(tilted.normal().elevation_deg())
}

/// The lie of a club with a tilted sleeve, in degrees, upright positive.
///
/// # Errors
/// As [`sleeved_head`].
pub fn sleeve_lie_deg(
    loft_deg: f64,
    lie_deg: f64,
    tilt_deg: f64,
    turn_deg: f64,
) -> Result<f64, OutsideRange> {
    Ok(Tilted::of(LOFT.check(loft_deg)?, lie_deg, tilt_deg, turn_deg)?.lie_deg())
}

/// Where the face of a head on a tilted sleeve points, shaft held still, in degrees, closed
/// positive.
///
/// # Errors
/// As [`sleeved_head`].
pub fn sleeve_face_deg(
    loft_deg: f64,
    lie_deg: f64,
    tilt_deg: f64,
    turn_deg: f64,
) -> Result<f64, OutsideRange> {
    let tilted = Tilted::of(LOFT.check(loft_deg)?, lie_deg, tilt_deg, turn_deg)?;
    Ok(tilted.normal().azimuth_deg())
}

#[cfg(test)]
#[path = "sleeve_tests.rs"]
mod tests;
