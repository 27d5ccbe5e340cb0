//! Exact rational numbers with checked arithmetic.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::str::FromStr;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, CheckedSub, Signed, Zero};

use super::small::Small;

/// An exact rational number: a reduced fraction of two 128-bit integers.
///
/// Every operation that can overflow is checked; an overflow is an [`ArithmeticFault`], never a
/// wrong answer.
#[derive(Clone, Copy)]
pub struct Rational(Ratio<i128>);

/// Why an exact computation has no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
pub enum ArithmeticFault {
    /// A divisor was zero.
    #[error("division by zero")]
    DivisionByZero,
    /// A numerator or denominator left 128 bits.
    #[error("number too large to hold exactly")]
    Overflow,
}

/// How to round to a multiple of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest multiple, halves away from zero.
    Nearest,
    /// To the next multiple toward plus infinity.
    Up,
    /// To the next multiple toward minus infinity.
    Down,
}

impl Rational {
    /// Zero.
    pub const ZERO: Rational = Rational(Ratio::new_raw(0, 1));
    /// One.
    pub const ONE: Rational = Rational(Ratio::new_raw(1, 1));

    /// The whole number `value`.
    pub fn whole(value: i64) -> Self {
        Rational(Ratio::from_integer(i128::from(value)))
    }

    /// The fraction `numerator / denominator`, reduced.
    ///
    /// # Errors
    /// [`ArithmeticFault::DivisionByZero`] where the denominator is zero,
    /// [`ArithmeticFault::Overflow`] where reducing it leaves 128 bits.
    pub fn fraction(numerator: i128, denominator: i128) -> Result<Self, ArithmeticFault> {
        if denominator == 0 {
            return Err(ArithmeticFault::DivisionByZero);
        }
        if numerator == i128::MIN || denominator == i128::MIN {
            return Err(ArithmeticFault::Overflow);
        }
        let short = Small::reduced(numerator, denominator);
        Ok(Rational(
            short.unwrap_or_else(|| Ratio::new(numerator, denominator)),
        ))
    }

    /// The numerator of the reduced fraction; it carries the sign.
    pub fn numerator(self) -> i128 {
        *self.0.numer()
    }

    /// The denominator of the reduced fraction; always positive.
    pub fn denominator(self) -> i128 {
        *self.0.denom()
    }

    /// Whether this is a whole number.
    pub fn is_whole(self) -> bool {
        self.0.is_integer()
    }

    /// The whole number this is, if it is one that fits 64 bits.
    pub fn to_whole(self) -> Option<i64> {
        if self.is_whole() {
            i64::try_from(self.numerator()).ok()
        } else {
            None
        }
    }

    /// Whether this is zero.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// Whether this is below zero.
    pub fn is_negative(self) -> bool {
        self.0.is_negative()
    }

    /// `self + other`.
    ///
    /// # Errors
    /// [`ArithmeticFault::Overflow`].
    pub fn plus(self, other: Self) -> Result<Self, ArithmeticFault> {
        if let Some((one, other)) = self.small_with(other) {
            return Ok(Rational(one.plus(other)));
        }
        self.0
            .checked_add(&other.0)
            .map(Rational)
            .ok_or(ArithmeticFault::Overflow)
    }

    /// `self - other`.
    ///
    /// # Errors
    /// [`ArithmeticFault::Overflow`].
    pub fn minus(self, other: Self) -> Result<Self, ArithmeticFault> {
        if let Some((one, other)) = self.small_with(other) {
            return Ok(Rational(one.plus(other.negated())));
        }
        self.0
            .checked_sub(&other.0)
            .map(Rational)
            .ok_or(ArithmeticFault::Overflow)
    }

    /// `self × other`.
    ///
    /// # Errors
    /// [`ArithmeticFault::Overflow`].
    pub fn times(self, other: Self) -> Result<Self, ArithmeticFault> {
        if let Some((one, other)) = self.small_with(other) {
            return Ok(Rational(one.times(other)));
        }
        self.0
            .checked_mul(&other.0)
            .map(Rational)
            .ok_or(ArithmeticFault::Overflow)
    }

    /// `self ÷ other`.
    ///
    /// # Errors
    /// [`ArithmeticFault::DivisionByZero`] or [`ArithmeticFault::Overflow`].
    pub fn over(self, other: Self) -> Result<Self, ArithmeticFault> {
        if other.is_zero() {
            return Err(ArithmeticFault::DivisionByZero);
        }
        if let Some((one, other)) = self.small_with(other) {
            return Ok(Rational(one.over(other)));
        }
        self.0
            .checked_div(&other.0)
            .map(Rational)
            .ok_or(ArithmeticFault::Overflow)
    }

    /// What is left of `weight` at this distance from `other`, where nothing is left at `within`
    /// and beyond: weight × max(0, 1 − distance ÷ within).
    ///
    /// # Errors
    /// [`ArithmeticFault::DivisionByZero`] where `within` is zero, [`ArithmeticFault::Overflow`].
    pub fn nearness(
        self,
        other: Self,
        within: Self,
        weight: Self,
    ) -> Result<Self, ArithmeticFault> {
        if let Some((one, two)) = self.small_with(other)
            && let Some((within, weight)) = within.small_with(weight)
            && let Some(nearness) = one.nearness(two, within, weight)
        {
            return Ok(Rational(nearness));
        }
        let distance = self.minus(other)?.size();
        let share = Rational::ONE.minus(distance.over(within)?)?;
        share.max(Rational::ZERO).times(weight)
    }

    #[inline]
    fn small_with(self, other: Self) -> Option<(Small, Small)> {
        Some((Small::of(&self.0)?, Small::of(&other.0)?))
    }

    /// `-self`.
    pub fn negated(self) -> Self {
        Rational(-self.0)
    }

    /// The size without the sign.
    pub fn size(self) -> Self {
        if self.is_negative() {
            self.negated()
        } else {
            self
        }
    }

    /// The nearest multiple of `unit` in the direction of `rounding`.
    ///
    /// # Errors
    /// [`ArithmeticFault::DivisionByZero`] for a unit of zero, or [`ArithmeticFault::Overflow`].
    pub fn rounded_to(self, unit: Self, rounding: Rounding) -> Result<Self, ArithmeticFault> {
        let unit = unit.size();
        let multiples = if unit == Rational::ONE {
            self
        } else {
            self.over(unit)?
        };
        if let Some(multiples) = Small::of(&multiples.0) {
            return Rational::whole(multiples.rounded(rounding)).times(unit);
        }
        let whole = match rounding {
            Rounding::Nearest => multiples.0.round(),
            Rounding::Up => multiples.0.ceil(),
            Rounding::Down => multiples.0.floor(),
        };
        Rational(whole).times(unit)
    }

    /// The float nearest to this number, for the models; correctly rounded where numerator and
    /// denominator are below 2^53, within two units in the last place otherwise.
    #[expect(
        clippy::cast_precision_loss,
        reason = "the one door from exact numbers to floats; IEEE conversion and division are the \
                  same on every machine"
    )]
    pub fn to_f64(self) -> f64 {
        // Either conversion rounds to the nearest; that of 64 bits is one instruction.
        match (
            i64::try_from(self.numerator()),
            i64::try_from(self.denominator()),
        ) {
            (Ok(numerator), Ok(denominator)) => numerator as f64 / denominator as f64,
            _ => self.numerator() as f64 / self.denominator() as f64,
        }
    }

    /// The multiple of `resolution` nearest to a model's float answer, halves away from zero.
    ///
    /// Returns `None` where the float is not finite or too large: the model's answer is then
    /// *outside range*, never a number.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "bounded by the check before it"
    )]
    pub fn from_f64(value: f64, resolution: Self) -> Option<Self> {
        let multiples = value / resolution.to_f64();
        if !multiples.is_finite() || multiples.abs() > 1e15 {
            return None;
        }
        let nearest = multiples.round() as i64;
        Rational::whole(nearest).times(resolution).ok()
    }

    /// The decimal text of this number where it ends within nine places, else the fraction `a/b`.
    pub fn to_text(self) -> String {
        self.to_string()
    }
}

impl PartialEq for Rational {
    /// A reduced fraction is unique.
    #[inline]
    fn eq(&self, other: &Self) -> bool {
        self.numerator() == other.numerator() && self.denominator() == other.denominator()
    }
}

impl Eq for Rational {}

impl Hash for Rational {
    fn hash<H: Hasher>(&self, state: &mut H) {
        (self.numerator(), self.denominator()).hash(state);
    }
}

impl Ord for Rational {
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        if self.denominator() == other.denominator() {
            return self.numerator().cmp(&other.numerator());
        }
        match self.small_with(*other) {
            Some((one, other)) => one.compared(other),
            None => self.0.cmp(&other.0),
        }
    }
}

impl PartialOrd for Rational {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Rational {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        const PLACES: u32 = 9;
        let denominator = self.denominator();
        let scale = 10_i128.pow(PLACES);
        if scale % denominator != 0 {
            return write!(formatter, "{}/{}", self.numerator(), denominator);
        }
        let Some(scaled) = self.numerator().checked_mul(scale / denominator) else {
            return write!(formatter, "{}/{}", self.numerator(), denominator);
        };
        let sign = if scaled < 0 { "-" } else { "" };
        let size = scaled.unsigned_abs();
        let scale = scale.unsigned_abs();
        let whole = size / scale;
        let part = size % scale;
        if part == 0 {
            return write!(formatter, "{sign}{whole}");
        }
        let digits = format!("{part:09}");
        write!(formatter, "{sign}{whole}.{}", digits.trim_end_matches('0'))
    }
}

impl fmt::Debug for Rational {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, formatter)
    }
}

impl FromStr for Rational {
    type Err = ArithmeticFault;

    /// Reads `12`, `-0.25` or `3/4`: the digits exactly, never through a float. The caller has
    /// seen to it that the text has one of these forms; any other is an overflow.
    fn from_str(text: &str) -> Result<Self, ArithmeticFault> {
        let (sign, digits) = match text.strip_prefix('-') {
            Some(rest) => (-1, rest),
            None => (1, text),
        };
        let whole = |part: &str| part.parse::<i128>().map_err(|_| ArithmeticFault::Overflow);
        if let Some((numerator, denominator)) = digits.split_once('/') {
            return Rational::fraction(sign * whole(numerator)?, whole(denominator)?);
        }
        let Some((before, after)) = digits.split_once('.') else {
            return Rational::fraction(sign * whole(digits)?, 1);
        };
        let places = u32::try_from(after.len()).map_err(|_| ArithmeticFault::Overflow)?;
        let scale = 10_i128
            .checked_pow(places)
            .ok_or(ArithmeticFault::Overflow)?;
        let scaled = whole(before)?
            .checked_mul(scale)
            .and_then(|before| before.checked_add(whole(after).ok()?))
            .ok_or(ArithmeticFault::Overflow)?;
        Rational::fraction(sign * scaled, scale)
    }
}
