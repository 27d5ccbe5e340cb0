//! Exact lengths as whole numbers of one unit: what makes the search fast without a float.

use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use super::{Contender, Terms};

/// The common units of one make-up.
pub(super) struct Scale {
    /// How many units a metre has.
    length: i128,
    /// How many units a reluctance of 1 has.
    reluctance: i128,
    /// The narrowest gap of the terms.
    pub(super) narrowest_gap: i64,
}

impl Scale {
    /// The largest units in which everything is a whole number.
    pub(super) fn of(standing: &[&Contender], terms: Terms) -> Result<Self, ArithmeticFault> {
        let widest = standing.iter().filter_map(|contender| contender.widest_gap);
        let gaps = widest.chain([terms.narrowest_gap]);
        let carries = standing.iter().map(|contender| contender.carry);
        let reluctances = standing.iter().map(|contender| contender.reluctance);
        let length = common_denominator(carries.chain(gaps))?;
        Ok(Scale {
            length,
            reluctance: common_denominator(reluctances)?,
            narrowest_gap: whole(terms.narrowest_gap, length)?,
        })
    }

    pub(super) fn length(&self, value: Rational) -> Result<i64, ArithmeticFault> {
        whole(value, self.length)
    }

    pub(super) fn reluctance(&self, value: Rational) -> Result<i64, ArithmeticFault> {
        whole(value, self.reluctance)
    }
}

fn common_denominator(values: impl Iterator<Item = Rational>) -> Result<i128, ArithmeticFault> {
    let mut common: i128 = 1;
    for value in values {
        let denominator = value.denominator();
        let factor = quotient(denominator, greatest_common_divisor(common, denominator));
        common = common
            .checked_mul(factor)
            .ok_or(ArithmeticFault::Overflow)?;
    }
    Ok(common)
}

/// Euclid's; both are positive.
fn greatest_common_divisor(mut left: i128, mut right: i128) -> i128 {
    while right != 0 {
        (left, right) = (right, rest(left, right));
    }
    left
}

/// What `left` leaves over; both are positive. Nearly all are small, and so divided faster.
fn rest(left: i128, right: i128) -> i128 {
    match (u64::try_from(left), u64::try_from(right)) {
        (Ok(left), Ok(right)) => i128::from(left % right),
        _ => left % right,
    }
}

fn quotient(left: i128, right: i128) -> i128 {
    match (u64::try_from(left), u64::try_from(right)) {
        (Ok(left), Ok(right)) => i128::from(left / right),
        _ => left / right,
    }
}

fn whole(value: Rational, units: i128) -> Result<i64, ArithmeticFault> {
    value
        .numerator()
        .checked_mul(quotient(units, value.denominator()))
        .and_then(|units| i64::try_from(units).ok())
        .ok_or(ArithmeticFault::Overflow)
}
