//! Directions and rotations in space, exact (no small angles).
//!
//! Axes of the head at address: x to the target, y toward the player, z up. For a right-hander this
//! is a right-handed system; a left-hander's world is its mirror image, so the same figures serve
//! both and left and right only appear in words for people.

use super::math::{atan2_deg, cos_deg, sin_deg};

/// A direction, or a row of a matrix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Direction {
    /// To the target.
    pub(crate) x: f64,
    /// Toward the player.
    pub(crate) y: f64,
    /// Up.
    pub(crate) z: f64,
}

impl Direction {
    /// The normal of a square face of this loft.
    pub(crate) fn face_normal(loft_deg: f64) -> Self {
        Self {
            x: cos_deg(loft_deg),
            y: 0.0,
            z: sin_deg(loft_deg),
        }
    }

    /// The shaft's centre line from the head to the butt, at this lie, without forward lean.
    pub(crate) fn shaft(lie_deg: f64) -> Self {
        Self {
            x: 0.0,
            y: cos_deg(lie_deg),
            z: sin_deg(lie_deg),
        }
    }

    pub(crate) fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// Angle above the ground, −90 to 90 degrees. Well conditioned everywhere, unlike asin z.
    pub(crate) fn elevation_deg(self) -> f64 {
        atan2_deg(self.z, (self.x * self.x + self.y * self.y).sqrt())
    }

    /// Angle from the target line toward the player, in degrees.
    pub(crate) fn azimuth_deg(self) -> f64 {
        atan2_deg(self.y, self.x)
    }

    /// Angle above the ground of the projection on the vertical plane through heel and toe.
    pub(crate) fn elevation_across_target_line_deg(self) -> f64 {
        atan2_deg(self.z, self.y)
    }
}

/// A rotation matrix, by rows.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rotation {
    x: Direction,
    y: Direction,
    z: Direction,
}

impl Rotation {
    /// By the right-hand rule about a unit axis (O. Rodrigues, 1840).
    pub(crate) fn about(axis: Direction, angle_deg: f64) -> Self {
        let sine = sin_deg(angle_deg);
        let cosine = cos_deg(angle_deg);
        let rest = 1.0 - cosine;
        let Direction { x, y, z } = axis;
        Self {
            x: Direction {
                x: cosine + rest * x * x,
                y: rest * x * y - sine * z,
                z: rest * x * z + sine * y,
            },
            y: Direction {
                x: rest * y * x + sine * z,
                y: cosine + rest * y * y,
                z: rest * y * z - sine * x,
            },
            z: Direction {
                x: rest * z * x - sine * y,
                y: rest * z * y + sine * x,
                z: cosine + rest * z * z,
            },
        }
    }

    pub(crate) fn turn(&self, direction: Direction) -> Direction {
        Direction {
            x: self.x.dot(direction),
            y: self.y.dot(direction),
            z: self.z.dot(direction),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::checking::assert_close;
    use super::*;

    const X: Direction = Direction {
        x: 1.0,
        y: 0.0,
        z: 0.0,
    };
    const Y: Direction = Direction {
        x: 0.0,
        y: 1.0,
        z: 0.0,
    };
    const Z: Direction = Direction {
        x: 0.0,
        y: 0.0,
        z: 1.0,
    };

    #[test]
    fn quarter_turns_carry_each_axis_to_the_next() {
        // The right-hand rule.
        assert_eq!(Rotation::about(X, 90.0).turn(Y), Z);
        assert_eq!(Rotation::about(Y, 90.0).turn(Z), X);
        assert_eq!(Rotation::about(Z, 90.0).turn(X), Y);
    }

    #[test]
    fn a_rotation_keeps_its_axis_and_every_length_and_turns_back() {
        let axis = Direction::shaft(58.0);
        let arrow = Direction::face_normal(10.5);
        for step in -24..=24 {
            let angle_deg = f64::from(step) * 15.5;
            let there = Rotation::about(axis, angle_deg);
            let turned = there.turn(arrow);
            assert_close(turned.dot(turned), 1.0, 1e-14);
            assert_close(there.turn(axis).dot(axis), 1.0, 1e-14);
            let back = Rotation::about(axis, -angle_deg).turn(turned);
            assert_close(back.dot(arrow), 1.0, 1e-14);
        }
    }
}
