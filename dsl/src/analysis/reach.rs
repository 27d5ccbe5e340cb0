//! Intervals of numbers and what arithmetic does with them: never too narrow.

use crate::program::Arithmetic;
use crate::quantity::{ArithmeticFault, Rational, Rounding};

/// How far the values of an expression reach. An end that is `None` is not known; both ends belong
/// to it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Reach {
    pub(crate) low: Option<Rational>,
    pub(crate) high: Option<Rational>,
    /// Whether zero is left out, though it may lie between the ends.
    pub(super) is_never_zero: bool,
}

/// A result that 128 bits cannot hold: some value of the operands may be too large to compute with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct TooLarge;

impl Reach {
    /// Any number.
    pub(super) const ANYTHING: Reach = Reach {
        low: None,
        high: None,
        is_never_zero: false,
    };

    pub(super) fn between(low: Rational, high: Rational) -> Self {
        Reach {
            low: Some(low),
            high: Some(high),
            is_never_zero: false,
        }
    }

    pub(super) fn at_least(low: Rational) -> Self {
        Reach {
            low: Some(low),
            ..Reach::ANYTHING
        }
    }

    pub(super) fn at_most(high: Rational) -> Self {
        Reach {
            high: Some(high),
            ..Reach::ANYTHING
        }
    }

    /// Both ends, where both are known.
    pub(crate) fn ends(self) -> Option<(Rational, Rational)> {
        self.low.zip(self.high)
    }

    /// Whether zero is one of the values, as far as is known.
    pub(super) fn may_be_zero(self) -> bool {
        !self.is_never_zero
            && self.low.is_none_or(|low| low <= Rational::ZERO)
            && self.high.is_none_or(|high| high >= Rational::ZERO)
    }

    pub(super) fn hull(self, other: Reach) -> Reach {
        Reach {
            low: self.low.zip(other.low).map(|(one, two)| one.min(two)),
            high: self.high.zip(other.high).map(|(one, two)| one.max(two)),
            is_never_zero: !self.may_be_zero() && !other.may_be_zero(),
        }
    }

    pub(super) fn intersection(self, other: Reach) -> Reach {
        let tighter = |one: Option<Rational>,
                       two: Option<Rational>,
                       pick: fn(Rational, Rational) -> Rational| {
            match (one, two) {
                (Some(one), Some(two)) => Some(pick(one, two)),
                (one, two) => one.or(two),
            }
        };
        Reach {
            low: tighter(self.low, other.low, Rational::max),
            high: tighter(self.high, other.high, Rational::min),
            is_never_zero: self.is_never_zero || other.is_never_zero,
        }
    }

    pub(super) fn negated(self) -> Reach {
        Reach {
            low: self.high.map(Rational::negated),
            high: self.low.map(Rational::negated),
            is_never_zero: self.is_never_zero,
        }
    }

    pub(super) fn size(self) -> Reach {
        let reach = if self.low.is_some_and(|low| low >= Rational::ZERO) {
            self
        } else if self.high.is_some_and(|high| high <= Rational::ZERO) {
            self.negated()
        } else {
            Reach {
                low: Some(Rational::ZERO),
                high: self.ends().map(|(low, high)| low.size().max(high.size())),
                is_never_zero: self.is_never_zero,
            }
        };
        Reach {
            low: reach.low.or(Some(Rational::ZERO)),
            ..reach
        }
    }

    /// The larger of two.
    pub(super) fn larger(self, other: Reach) -> Reach {
        let low = match (self.low, other.low) {
            (Some(one), Some(two)) => Some(one.max(two)),
            (one, two) => one.or(two),
        };
        Reach {
            low,
            high: self.high.zip(other.high).map(|(one, two)| one.max(two)),
            is_never_zero: !self.may_be_zero() && !other.may_be_zero(),
        }
    }

    /// The smaller of two.
    pub(super) fn smaller(self, other: Reach) -> Reach {
        self.negated().larger(other.negated()).negated()
    }

    /// Kept within two ends: first not above the higher, then not below the lower.
    pub(super) fn kept_within(self, low: Reach, high: Reach) -> Reach {
        self.smaller(high).larger(low)
    }

    pub(super) fn arithmetic(self, operator: Arithmetic, other: Reach) -> Result<Reach, TooLarge> {
        match operator {
            Arithmetic::Plus => self.plus(other),
            Arithmetic::Minus => self.plus(other.negated()),
            Arithmetic::Times => self.times(other),
            Arithmetic::Over => self.over(other),
        }
    }

    fn plus(self, other: Reach) -> Result<Reach, TooLarge> {
        let sum = |one: Option<Rational>, two: Option<Rational>| {
            one.zip(two).map(|(one, two)| one.plus(two)).transpose()
        };
        Ok(Reach {
            low: sum(self.low, other.low).map_err(too_large)?,
            high: sum(self.high, other.high).map_err(too_large)?,
            is_never_zero: false,
        })
    }

    fn times(self, other: Reach) -> Result<Reach, TooLarge> {
        let is_never_zero = !self.may_be_zero() && !other.may_be_zero();
        let reach = match (self.ends(), other.ends()) {
            (Some(ours), Some(theirs)) => corners(ours, theirs, Rational::times)?,
            _ if self.is_at_least_zero() && other.is_at_least_zero() => {
                let low = self.low.zip(other.low);
                let low = low.map(|(one, two)| one.times(two)).transpose();
                Reach {
                    low: low.map_err(too_large)?,
                    ..Reach::ANYTHING
                }
            }
            _ => Reach::ANYTHING,
        };
        Ok(Reach {
            is_never_zero,
            ..reach
        })
    }

    fn over(self, divisor: Reach) -> Result<Reach, TooLarge> {
        let is_never_zero = !self.may_be_zero();
        let is_apart = divisor.low.is_some_and(|low| low > Rational::ZERO)
            || divisor.high.is_some_and(|high| high < Rational::ZERO);
        let reach = match (self.ends(), divisor.ends()) {
            (Some(ours), Some(theirs)) if is_apart => corners(ours, theirs, Rational::over)?,
            _ if self.is_at_least_zero() && divisor.is_at_least_zero() => {
                Reach::at_least(Rational::ZERO)
            }
            _ => Reach::ANYTHING,
        };
        Ok(Reach {
            is_never_zero,
            ..reach
        })
    }

    fn is_at_least_zero(self) -> bool {
        self.low.is_some_and(|low| low >= Rational::ZERO)
    }

    /// Rounded to multiples of a unit; of a unit that is no constant nothing is known.
    pub(super) fn rounded(self, rounding: Rounding, unit: Reach) -> Result<Reach, TooLarge> {
        let Some((unit, _)) = unit
            .ends()
            .filter(|(low, high)| low == high && !low.is_zero())
        else {
            return Ok(Reach::ANYTHING);
        };
        let end = |end: Option<Rational>| end.map(|end| end.rounded_to(unit, rounding)).transpose();
        Ok(Reach {
            low: end(self.low).map_err(too_large)?,
            high: end(self.high).map_err(too_large)?,
            is_never_zero: false,
        })
    }
}

fn too_large(_: ArithmeticFault) -> TooLarge {
    TooLarge
}

/// An operation that is monotone in each operand, from all four corners.
fn corners(
    ours: (Rational, Rational),
    theirs: (Rational, Rational),
    operation: fn(Rational, Rational) -> Result<Rational, ArithmeticFault>,
) -> Result<Reach, TooLarge> {
    let one = operation(ours.0, theirs.0).map_err(too_large)?;
    let two = operation(ours.0, theirs.1).map_err(too_large)?;
    let three = operation(ours.1, theirs.0).map_err(too_large)?;
    let four = operation(ours.1, theirs.1).map_err(too_large)?;
    Ok(Reach::between(
        one.min(two).min(three).min(four),
        one.max(two).max(three).max(four),
    ))
}
