//! Values written as literals that read back as exactly the same value.

use crate::program::{Program, Shown, Type, Value, mixed_fraction, unit_factor, usual_unit};
use crate::quantity::{Date, Dimension, Rational, UNITS, unit_named};

/// A number with more decimals than this is written in another unit, or as a fraction.
const FEW_DECIMALS: i128 = 10_000;

/// A value as a rule or a player's file can write it: exact, in the unit that is shown where its
/// decimals are few there, else in one where they are, else as a fraction.
pub fn literal_text(program: &Program, shown: &Shown, value_type: Type, value: &Value) -> String {
    match (value, value_type) {
        (Value::Number(number), Type::Date) => number.to_whole().map_or_else(
            || number.to_text(),
            |days| Date::from_days(days).to_string(),
        ),
        (Value::Number(number), Type::Swingweight) => swingweight(*number),
        (Value::Number(number), Type::Temperature) => temperature(shown, *number),
        (Value::Number(number), Type::Quantity(dimension)) => quantity(shown, dimension, *number),
        (Value::Number(number), _) => plain(*number),
        _ => shown.text(program, value_type, value),
    }
}

fn quantity(shown: &Shown, dimension: Dimension, number: Rational) -> String {
    let own = shown.unit.as_deref().unwrap_or(usual_unit(dimension));
    let in_unit = |unit: &str| {
        let factor = unit_factor(unit).unwrap_or(Rational::ONE);
        number.over(factor).ok()
    };
    let others = UNITS
        .iter()
        .filter(|unit| unit.dimension == dimension && !unit.is_point)
        .map(|unit| unit.symbol);
    // Without a usual unit a plain number would be read as one.
    let is_measured = |unit: &&str| !unit.is_empty() || dimension == Dimension::NUMBER;
    let mut units = [own].into_iter().chain(others).filter(is_measured);
    let first = units.clone().next().unwrap_or(own);
    let has_few_decimals = |number: &Rational| FEW_DECIMALS % number.denominator() == 0;
    let short = units.find_map(|unit| {
        let number = in_unit(unit).filter(has_few_decimals)?;
        Some((unit, number))
    });
    let (unit, number) = short.unwrap_or((first, in_unit(first).unwrap_or(number)));
    let number = number_in(number, unit);
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

/// The number as it stands before its unit: inches in halves to sixteenths as fitters write them.
fn number_in(number: Rational, unit: &str) -> String {
    if unit == "in" && matches!(number.denominator(), 2 | 4 | 8 | 16) {
        return mixed_fraction(number);
    }
    plain(number)
}

fn plain(number: Rational) -> String {
    if number.is_whole() || FEW_DECIMALS % number.denominator() == 0 {
        number.to_text()
    } else {
        mixed_fraction(number)
    }
}

fn temperature(shown: &Shown, kelvin: Rational) -> String {
    let symbol = shown.unit.as_deref().unwrap_or("degC");
    let degrees = unit_named(symbol).and_then(|unit| {
        let above_zero = kelvin.minus(unit.zero()).ok()?;
        above_zero.over(unit.factor()).ok()
    });
    match degrees {
        Some(degrees) => format!("{} {symbol}", plain(degrees)),
        None => format!("{kelvin} kelvin"),
    }
}

/// `D2`, `C9.5`: ten points a letter, from A0 to under H0; beyond, the points.
fn swingweight(points: Rational) -> String {
    let tens = points
        .rounded_to(Rational::whole(10), crate::quantity::Rounding::Down)
        .unwrap_or(points);
    let letter = tens
        .to_whole()
        .and_then(|tens| usize::try_from(tens / 10).ok())
        .filter(|_| !points.is_negative())
        .and_then(|place| "ABCDEFG".chars().nth(place));
    match (letter, points.minus(tens)) {
        (Some(letter), Ok(rest)) => format!("{letter}{rest}"),
        _ => format!("{points} points"),
    }
}
