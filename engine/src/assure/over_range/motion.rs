//! How a value moves while the readings of a range do: not at all, along a line, or in a way that
//! is not followed.

use std::collections::BTreeMap;

use loftwright_dsl::program::InputId;
use loftwright_dsl::quantity::{Rational, Rounding};

/// Rounding that steps more often than this over a range is not followed.
const MOST_ROUNDING_STEPS: usize = 200;

/// How a value moves while the readings stay inside one piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Motion {
    /// It stays what it is, known or not.
    Still,
    /// It moves along a straight line with one reading.
    Line(Line),
    /// It is not followed: what stands in the way, for people.
    Lost(String),
}

/// value = slope × reading + offset, in base units; the slope is not zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Line {
    pub(super) input: InputId,
    pub(super) slope: Rational,
    pub(super) offset: Rational,
}

impl Line {
    /// The reading at which the value is `value`.
    fn reading_at(self, value: Rational) -> Option<Rational> {
        value.minus(self.offset).ok()?.over(self.slope).ok()
    }

    fn at(self, reading: Rational) -> Option<Rational> {
        reading.times(self.slope).ok()?.plus(self.offset).ok()
    }

    /// The line turned and shifted; still where the slope comes to zero.
    pub(super) fn scaled(self, factor: Rational, shift: Rational) -> Motion {
        let turned = self.slope.times(factor).ok();
        let shifted = self
            .offset
            .times(factor)
            .and_then(|moved| moved.plus(shift))
            .ok();
        match (turned, shifted) {
            (Some(slope), Some(_)) if slope.is_zero() => Motion::Still,
            (Some(slope), Some(offset)) => Motion::Line(Line {
                slope,
                offset,
                ..self
            }),
            _ => Motion::Lost("numbers that are too long to be held".to_owned()),
        }
    }

    /// The sum of two lines; two readings together are not followed.
    pub(super) fn plus(self, other: Self) -> Motion {
        if self.input != other.input {
            return Motion::Lost("a value that moves with two of the ranges at once".to_owned());
        }
        match (self.slope.plus(other.slope), self.offset.plus(other.offset)) {
            (Ok(slope), Ok(_)) if slope.is_zero() => Motion::Still,
            (Ok(slope), Ok(offset)) => Motion::Line(Line {
                slope,
                offset,
                ..self
            }),
            _ => Motion::Lost("numbers that are too long to be held".to_owned()),
        }
    }
}

/// The readings that move, each strictly between two numbers, and where those must be cut so that
/// every condition is settled on each piece.
#[derive(Clone, Debug, Default)]
pub(super) struct Piece {
    /// The lower end, the reading at hand, the upper end.
    pub(super) open: BTreeMap<InputId, (Rational, Rational, Rational)>,
    /// The cuts that are asked for.
    pub(super) cuts: Vec<(InputId, Rational)>,
}

impl Piece {
    /// The value of a line for the readings at hand.
    pub(super) fn value_of(&self, line: Line) -> Option<Rational> {
        let (_, here, _) = self.open.get(&line.input)?;
        line.at(*here)
    }

    /// Asks for a cut where the line passes a value inside the piece: on either side of it, whether
    /// the line is under or over the value is settled.
    pub(super) fn cut_at(&mut self, line: Line, value: Rational) {
        if let (Some((low, _, high)), Some(cut)) =
            (self.open.get(&line.input), line.reading_at(value))
            && *low < cut
            && cut < *high
        {
            self.cuts.push((line.input, cut));
        }
    }

    /// Asks for cuts where the rounded line steps; between them it is still.
    pub(super) fn cut_where_rounded(
        &mut self,
        line: Line,
        rounding: Rounding,
        unit: Rational,
    ) -> Motion {
        self.rounded(line, rounding, unit)
            .unwrap_or_else(|| Motion::Lost("rounding in very many steps".to_owned()))
    }

    fn rounded(&mut self, line: Line, rounding: Rounding, unit: Rational) -> Option<Motion> {
        let (low, _, high) = *self.open.get(&line.input)?;
        let (one, other) = (line.at(low)?, line.at(high)?);
        let unit = unit.size();
        let half = unit.over(Rational::whole(2)).ok()?;
        let shift = match rounding {
            Rounding::Nearest => half,
            Rounding::Up | Rounding::Down => Rational::ZERO,
        };
        // Steps lie at whole units, shifted by a half where it is rounded to the nearest.
        let down = one.min(other).minus(shift).ok()?;
        let mut step = down
            .rounded_to(unit, Rounding::Down)
            .ok()?
            .plus(shift)
            .ok()?;
        for _ in 0..MOST_ROUNDING_STEPS {
            if step > one.max(other) {
                return Some(Motion::Still);
            }
            self.cut_at(line, step);
            step = step.plus(unit).ok()?;
        }
        None
    }
}
