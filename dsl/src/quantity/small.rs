//! The short way for small fractions, which nearly all are.
//!
//! Numerators and denominators below 2^62 can be cross-multiplied in 128 bits without any check,
//! and reduced in 64 before that (Knuth, *The Art of Computer Programming*, volume 2, 4.5.1): of
//! two reduced fractions only so much can be taken out of the result as they have in common. Every
//! answer here is the one of the long way: with such operands neither way can overflow, and a
//! reduced fraction with a positive denominator is unique.

use std::cmp::Ordering;

use num_rational::Ratio;

use super::number::Rounding;

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
        Small::of_parts(*fraction.numer(), *fraction.denom())
    }

    /// Of a fraction in these parts; the denominator is above 0.
    #[inline]
    pub(super) fn of_parts(numerator: i128, denominator: i128) -> Option<Self> {
        let numerator = i64::try_from(numerator).ok()?;
        let denominator = i64::try_from(denominator).ok()?;
        (-SMALL < numerator && numerator < SMALL && denominator < SMALL).then_some(Small {
            numerator,
            denominator,
        })
    }

    /// The fraction of two numbers, reduced, where both are small and the denominator is above 0.
    #[inline]
    pub(super) fn reduced(numerator: i128, denominator: i128) -> Option<Ratio<i128>> {
        let numerator = i64::try_from(numerator).ok()?;
        let denominator = i64::try_from(denominator).ok()?;
        if denominator <= 0 {
            return None;
        }
        let common = common_divisor(numerator, denominator);
        Some(Ratio::new_raw(
            i128::from(without(numerator, common)),
            i128::from(without(denominator, common)),
        ))
    }

    #[inline]
    pub(super) fn compared(self, other: Self) -> Ordering {
        let left = product(self.numerator, other.denominator);
        left.cmp(&product(other.numerator, self.denominator))
    }

    #[inline]
    pub(super) fn plus(self, other: Self) -> Ratio<i128> {
        if self.denominator == other.denominator {
            // Two numbers below 2^62.
            let numerator = self.numerator + other.numerator;
            let common = common_divisor(numerator, self.denominator);
            return Ratio::new_raw(
                i128::from(without(numerator, common)),
                i128::from(without(self.denominator, common)),
            );
        }
        let common = common_divisor(self.denominator, other.denominator);
        if common == 1 {
            return Ratio::new_raw(
                product(self.numerator, other.denominator)
                    + product(other.numerator, self.denominator),
                product(self.denominator, other.denominator),
            );
        }
        let (own, others) = (self.denominator / common, other.denominator / common);
        let numerator = product(self.numerator, others) + product(other.numerator, own);
        // What is left to take out divides what the denominators have in common.
        let (numerator, rest) = match i64::try_from(numerator) {
            Ok(small) => {
                let rest = common_divisor(small, common);
                (i128::from(without(small, rest)), rest)
            }
            Err(_) => {
                let beyond = i64::try_from(numerator % i128::from(common)).unwrap_or(0);
                let rest = common_divisor(beyond, common);
                (numerator / i128::from(rest), rest)
            }
        };
        Ratio::new_raw(numerator, product(own, without(other.denominator, rest)))
    }

    #[inline]
    pub(super) fn times(self, other: Self) -> Ratio<i128> {
        // Each is reduced: only across can something be taken out.
        let one = common_divisor(self.numerator, other.denominator);
        let two = common_divisor(other.numerator, self.denominator);
        Ratio::new_raw(
            product(without(self.numerator, one), without(other.numerator, two)),
            product(
                without(self.denominator, two),
                without(other.denominator, one),
            ),
        )
    }

    /// `self ÷ other`; the divisor is not zero.
    #[inline]
    pub(super) fn over(self, other: Self) -> Ratio<i128> {
        let above = common_divisor(self.numerator, other.numerator);
        let below = common_divisor(self.denominator, other.denominator);
        let numerator = product(
            without(self.numerator, above),
            without(other.denominator, below),
        );
        let denominator = product(
            without(self.denominator, below),
            without(other.numerator, above),
        );
        if denominator < 0 {
            Ratio::new_raw(-numerator, -denominator)
        } else {
            Ratio::new_raw(numerator, denominator)
        }
    }

    /// The distance of two fractions; it need not be reduced. `None` where it is not small.
    #[inline]
    fn distance(self, other: Self) -> Option<Self> {
        let (numerator, denominator) = if self.denominator == other.denominator {
            (
                i128::from(self.numerator - other.numerator),
                i128::from(self.denominator),
            )
        } else {
            (
                product(self.numerator, other.denominator)
                    - product(other.numerator, self.denominator),
                product(self.denominator, other.denominator),
            )
        };
        Small::of_parts(numerator.abs(), denominator)
    }

    /// `weight` × (1 − distance from `other` ÷ `within`), at least 0, where that is short to work
    /// out: as one fraction, reduced once.
    #[inline]
    pub(super) fn nearness(self, other: Self, within: Self, weight: Self) -> Option<Ratio<i128>> {
        let distance = self.distance(other)?;
        if within.numerator <= 0 {
            return None;
        }
        let all = product(within.numerator, distance.denominator);
        let left = all - product(distance.numerator, within.denominator);
        if left <= 0 {
            return Some(Ratio::new_raw(0, 1));
        }
        let left = Small::of_parts(left, all)?;
        Small::reduced(
            product(left.numerator, weight.numerator),
            product(left.denominator, weight.denominator),
        )
    }

    /// The nearest whole number in the direction of `rounding`.
    #[inline]
    pub(super) fn rounded(self, rounding: Rounding) -> i64 {
        let floor = self.numerator.div_euclid(self.denominator);
        let rest = self.numerator.rem_euclid(self.denominator);
        let is_up = match rounding {
            Rounding::Down => false,
            Rounding::Up => rest > 0,
            // Halves away from zero.
            Rounding::Nearest if self.numerator < 0 => rest > self.denominator - rest,
            Rounding::Nearest => rest >= self.denominator - rest,
        };
        floor + i64::from(is_up)
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

/// A number without a divisor of it. Mostly that is 1, and a division takes longer than to see it.
#[inline]
fn without(number: i64, divisor: i64) -> i64 {
    if divisor == 1 {
        number
    } else {
        number / divisor
    }
}

/// The greatest common divisor of two small numbers, of which the second is not zero.
#[inline]
fn common_divisor(one: i64, other: i64) -> i64 {
    if one == 1 || other == 1 {
        return 1;
    }
    let divisor = greatest_common_divisor(one.unsigned_abs(), other.unsigned_abs());
    // It is no larger than the second, which is small.
    i64::try_from(divisor).unwrap_or(1)
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
