//! The short way for small fractions, which nearly all are.
//!
//! Numerators and denominators below 2^62 can be cross-multiplied in 128 bits without any check,
//! and nearly always reduced in 64. Every answer here is the one of the long way: with such
//! operands neither way can overflow, and a reduced fraction with a positive denominator is unique.

use std::cmp::Ordering;

use num_rational::Ratio;

/// What is below this in size is small.
const SMALL: i64 = 1 << 62;

/// A fraction whose parts are small, as it was reduced.
#[derive(Clone, Copy)]
pub(super) struct Small {
    numerator: i64,
    denominator: i64,
}

impl Small {
    #[inline]
    pub(super) fn of(fraction: &Ratio<i128>) -> Option<Self> {
        let numerator = i64::try_from(*fraction.numer()).ok()?;
        // A reduced fraction has a positive denominator.
        let denominator = i64::try_from(*fraction.denom()).ok()?;
        (-SMALL < numerator && numerator < SMALL && denominator < SMALL).then_some(Small {
            numerator,
            denominator,
        })
    }

    #[inline]
    pub(super) fn compared(self, other: Self) -> Ordering {
        if self.denominator == other.denominator {
            return self.numerator.cmp(&other.numerator);
        }
        let left = product(self.numerator, other.denominator);
        left.cmp(&product(other.numerator, self.denominator))
    }

    #[inline]
    pub(super) fn plus(self, other: Self) -> Ratio<i128> {
        if self.denominator == other.denominator {
            // Two numbers below 2^62.
            return reduced(
                i128::from(self.numerator + other.numerator),
                i128::from(self.denominator),
            );
        }
        reduced(
            product(self.numerator, other.denominator) + product(other.numerator, self.denominator),
            product(self.denominator, other.denominator),
        )
    }

    #[inline]
    pub(super) fn times(self, other: Self) -> Ratio<i128> {
        reduced(
            product(self.numerator, other.numerator),
            product(self.denominator, other.denominator),
        )
    }

    /// `self ÷ other`; the divisor is not zero.
    #[inline]
    pub(super) fn over(self, other: Self) -> Ratio<i128> {
        let numerator = product(self.numerator, other.denominator);
        let denominator = product(self.denominator, other.numerator);
        if denominator < 0 {
            reduced(-numerator, -denominator)
        } else {
            reduced(numerator, denominator)
        }
    }

    #[inline]
    pub(super) fn negated(self) -> Self {
        Small {
            numerator: -self.numerator,
            denominator: self.denominator,
        }
    }
}

#[inline]
fn product(one: i64, other: i64) -> i128 {
    i128::from(one) * i128::from(other)
}

/// The fraction in lowest terms; the denominator is positive.
#[inline]
fn reduced(numerator: i128, denominator: i128) -> Ratio<i128> {
    if denominator == 1 {
        return Ratio::new_raw(numerator, 1);
    }
    match (
        u64::try_from(numerator.unsigned_abs()),
        u64::try_from(denominator),
    ) {
        (Ok(above), Ok(below)) => {
            let divisor = greatest_common_divisor(above, below);
            let above = i128::from(above / divisor);
            let numerator = if numerator < 0 { -above } else { above };
            Ratio::new_raw(numerator, i128::from(below / divisor))
        }
        _ => Ratio::new(numerator, denominator),
    }
}

/// Stein's binary algorithm (Knuth, *The Art of Computer Programming*, volume 2, 4.5.2, algorithm
/// B): shifts and subtractions, no division. `one` may be zero, `other` may not.
fn greatest_common_divisor(one: u64, other: u64) -> u64 {
    if one == 0 {
        return other;
    }
    let common_twos = (one | other).trailing_zeros();
    let mut one = one >> one.trailing_zeros();
    let mut other = other;
    while other != 0 {
        other >>= other.trailing_zeros();
        if one > other {
            std::mem::swap(&mut one, &mut other);
        }
        other -= one;
    }
    one << common_twos
}
