//! What operators do with known values.
//!
//! Numbers are in base units, so arithmetic needs no types (where a rule subtracts dates, the
//! checker has put the seconds of a day into the expression). A distance does: dates are counted in
//! days and a time in seconds; steps of a scale are counted in half steps and a distance on it in
//! whole steps.

use std::cmp::Ordering;

use loftwright_dsl::program::{Arithmetic, Program, Type, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Extreme, Relation};

use super::algebra::{Ended, number};

const SECONDS_PER_DAY: i64 = 86_400;

fn seconds(days: Rational) -> Result<Rational, Ended> {
    Ok(days.times(Rational::whole(SECONDS_PER_DAY))?)
}

/// Arithmetic of two known values.
pub(super) fn arithmetic(
    operator: Arithmetic,
    left: &Value,
    right: &Value,
) -> Result<Value, Ended> {
    let (left, right) = (number(left)?, number(right)?);
    let result = match operator {
        Arithmetic::Plus => left.plus(right)?,
        Arithmetic::Minus => left.minus(right)?,
        Arithmetic::Times => left.times(right)?,
        Arithmetic::Over => left.over(right)?,
    };
    Ok(Value::Number(result))
}

/// `left − right`: in the base unit of a difference, on a scale in whole steps.
pub(super) fn difference(value_type: Type, left: &Value, right: &Value) -> Result<Rational, Ended> {
    match (left, right) {
        (Value::Word(left), Value::Word(right)) => Ok(Rational::fraction(
            i128::from(*left) - i128::from(*right),
            2,
        )?),
        _ => {
            let difference = number(left)?.minus(number(right)?)?;
            if value_type == Type::Date {
                seconds(difference)
            } else {
                Ok(difference)
            }
        }
    }
}

/// What is left of `weight` at the distance of two values, where nothing is left at `within`.
pub(super) fn nearness(
    value_type: Type,
    left: &Value,
    right: &Value,
    within: Rational,
    weight: Rational,
) -> Result<Rational, Ended> {
    let (one, other) = match (left, right) {
        (Value::Number(left), Value::Number(right)) if value_type != Type::Date => (*left, *right),
        _ => (difference(value_type, left, right)?, Rational::ZERO),
    };
    Ok(one.nearness(other, within, weight)?)
}

/// Whether `left` stands in this relation to `right`.
pub(super) fn relation(relation: Relation, left: &Value, right: &Value) -> bool {
    let order = compare(left, right);
    match relation {
        Relation::Under => order == Ordering::Less,
        Relation::Over => order == Ordering::Greater,
        Relation::AtMost => order != Ordering::Greater,
        Relation::AtLeast => order != Ordering::Less,
    }
}

/// The order of two values of one type.
pub(super) fn compare(left: &Value, right: &Value) -> Ordering {
    left.cmp(right)
}

/// Whether `left` is further in the wanted direction than `right`.
pub(super) fn is_more_extreme(extreme: Extreme, left: &Value, right: &Value) -> bool {
    match extreme {
        Extreme::Larger => compare(left, right) == Ordering::Greater,
        Extreme::Smaller => compare(left, right) == Ordering::Less,
    }
}

/// The value, or the end of the range that it lies beyond. Where the ends are the wrong way round
/// the higher one wins.
pub(super) fn kept_within<'v>(value: &'v Value, low: &'v Value, high: &'v Value) -> &'v Value {
    let below = if compare(value, high) == Ordering::Greater {
        high
    } else {
        value
    };
    if compare(below, low) == Ordering::Less {
        low
    } else {
        below
    }
}

/// The value of a scale moved by half steps, and whether an end of the scale stopped it.
pub(super) fn moved(
    program: &Program,
    value_type: Type,
    value: &Value,
    half_steps: i32,
) -> Result<(Value, bool), Ended> {
    let (Type::Scale(scale), Value::Word(word)) = (value_type, value) else {
        return Err(Ended::not_checked());
    };
    let highest = program.vocabularies[scale].highest();
    let wanted = word.saturating_add(half_steps);
    let reached = wanted.clamp(0, highest.max(0));
    Ok((Value::Word(reached), reached != wanted))
}
