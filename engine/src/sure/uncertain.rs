//! Readings that are not exact, and what they might as well have been.
//!
//! A reading that was sent is the mean of n shots. One shot scatters by the spread (the reading's
//! own, else the input's usual one), the mean by spread / √n. Plausible values lie on a grid of
//! thousandths of the mean's spread (with n shots, of spread / ⌈√n⌉, so that they stay short exact
//! fractions); one beyond what the input may be is reflected at the end of its `between`, so that
//! as many lie on either side of a bound as the scatter says. Counts are whole numbers.

use loftwright_dsl::program::{Input, InputId, Program, Type, Value};
use loftwright_dsl::quantity::{Rational, Rounding};

use super::spread::squared_spreads;
use crate::player::{Player, Reading};

/// Deviations are given in these parts of a spread of the mean.
pub(crate) const PARTS_OF_SPREAD: i64 = 10_000;

/// The grid: so many steps to a spread.
const STEPS_OF_SPREAD: i64 = 1_000;

/// Six places of √n.
const ROOT_SCALE: u64 = 1_000_000;

/// A reading that was sent and has a spread.
#[derive(Clone, Debug)]
pub(crate) struct Uncertain {
    /// The input.
    pub(crate) input: InputId,
    /// The reading, the mean of its shots.
    pub(crate) value: Rational,
    /// The standard deviation of one shot; more than zero.
    pub(crate) spread: Rational,
    /// How many shots it is the mean of; at least one.
    pub(crate) shots: u32,
    is_count: bool,
    between: Option<(Rational, Rational)>,
    /// ⌈√n⌉.
    root_up: i64,
    /// √n in millionths, rounded down.
    root_millionths: i64,
}

impl Uncertain {
    /// The reading of an input, where it was sent and is uncertain.
    pub(crate) fn of(program: &Program, player: &Player, input: InputId) -> Option<Self> {
        let reading = player.readings.get(&input)?;
        let declared = &program.inputs[input];
        let spread = spread_of(declared, reading)?;
        if spread <= Rational::ZERO || !declared.value_type.is_numeric() {
            return None;
        }
        let shots = reading.shots.max(1);
        let root = (u64::from(shots) * ROOT_SCALE * ROOT_SCALE).isqrt();
        let between = declared.between.as_ref();
        Some(Uncertain {
            input,
            value: reading.value.number()?,
            spread,
            shots,
            is_count: declared.value_type == Type::Count,
            between: between.and_then(|(low, high)| Some((low.number()?, high.number()?))),
            root_up: i64::try_from(root.div_ceil(ROOT_SCALE)).ok()?,
            root_millionths: i64::try_from(root).ok()?,
        })
    }

    /// All of a player's, in the order of the inputs; those that do not apply are left out.
    pub(crate) fn all(
        program: &Program,
        player: &Player,
        applies: impl Fn(InputId) -> bool,
    ) -> Vec<Self> {
        let inputs = program.inputs.ids().filter(|input| applies(*input));
        inputs
            .filter_map(|input| Uncertain::of(program, player, input))
            .collect()
    }

    /// The reading that lies so far from this one, in ten-thousandths of the mean's spread; `None`
    /// where the fraction cannot be held.
    pub(crate) fn at(&self, deviation: i64) -> Option<Rational> {
        let distance = self.on_the_grid(deviation)?;
        let moved = self.value.plus(distance).ok()?;
        self.possible(moved)
    }

    /// Whether it is a whole number of things.
    pub(crate) fn is_count(&self) -> bool {
        self.is_count
    }

    /// The step of the grid, in the units of the reading.
    pub(crate) fn step(&self) -> Option<Rational> {
        let steps = Rational::whole(STEPS_OF_SPREAD.checked_mul(self.root_up)?);
        self.spread.over(steps).ok()
    }

    /// The square of how far a value is from the reading, in spreads of the mean.
    pub(crate) fn squared_spreads_to(&self, value: Rational) -> Option<Rational> {
        squared_spreads(value.minus(self.value).ok()?, self.spread, self.shots)
    }

    /// Whether the input may be so.
    pub(crate) fn is_possible(&self, value: Rational) -> bool {
        let within = |(low, high): (Rational, Rational)| low <= value && value <= high;
        self.between.is_none_or(within) && (!self.is_count || value.is_whole())
    }

    /// A deviation as a distance on the grid.
    fn on_the_grid(&self, deviation: i64) -> Option<Rational> {
        let steps = i128::from(deviation)
            .checked_mul(i128::from(STEPS_OF_SPREAD))?
            .checked_mul(i128::from(self.root_up))?
            .checked_mul(i128::from(ROOT_SCALE))?;
        let of = i128::from(PARTS_OF_SPREAD).checked_mul(i128::from(self.root_millionths))?;
        let steps = Rational::fraction(steps, of).ok()?;
        let steps = steps.rounded_to(Rational::ONE, Rounding::Nearest).ok()?;
        steps.times(self.step()?).ok()
    }

    /// The value brought back to what the input may be: whole where it is a count, reflected once
    /// at an end, and at the end where that is not enough.
    fn possible(&self, value: Rational) -> Option<Rational> {
        let value = if self.is_count {
            value.rounded_to(Rational::ONE, Rounding::Nearest).ok()?
        } else {
            value
        };
        let Some((low, high)) = self.between else {
            return Some(value);
        };
        let end = if value < low {
            low
        } else if value > high {
            high
        } else {
            return Some(value);
        };
        let reflected = end.plus(end.minus(value).ok()?).ok()?;
        Some(reflected.max(low).min(high))
    }
}

/// The spread of one shot: the reading's own, else the input's usual one.
fn spread_of(input: &Input, reading: &Reading) -> Option<Rational> {
    let usual = || input.spread.as_ref().and_then(Value::number);
    reading.spread.or_else(usual)
}
