//! How values are shown: in the unit of the declaration, to its step.

use super::{Program, Type, Value};
use crate::quantity::{Date, Dimension, Rational, Rounding, unit_named};

/// The unit and step in which a value is shown. It never changes the value.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Shown {
    /// The unit's text, such as `in` or `deg/in`; empty for a plain number. `None` shows the usual
    /// unit of the dimension.
    pub unit: Option<String>,
    /// The step it is shown to, in that unit.
    pub step: Option<Rational>,
}

/// The usual unit of a dimension, where it has one.
pub(crate) fn usual_unit(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::LENGTH => "in",
        Dimension::MASS => "g",
        Dimension::ANGLE => "deg",
        Dimension::SPEED => "mph",
        Dimension::SPIN => "rpm",
        Dimension::TIME => "days",
        Dimension::FREQUENCY => "cpm",
        Dimension::VOLUME => "cm3",
        Dimension::DENSITY => "kg/m3",
        Dimension::PRESSURE => "hPa",
        Dimension::MOMENT_OF_INERTIA => "kg*cm2",
        Dimension::TEMPERATURE => "degC",
        Dimension::SWINGWEIGHT => "point",
        Dimension::MONEY => "money",
        _ => "",
    }
}

impl Shown {
    /// The unit in which values of a type are shown; none where the type has no units.
    pub fn unit_text(&self, value_type: Type) -> Option<&str> {
        let usual = match value_type {
            Type::Quantity(dimension) => usual_unit(dimension),
            Type::Temperature => usual_unit(Dimension::TEMPERATURE),
            _ => return None,
        };
        Some(self.unit.as_deref().unwrap_or(usual)).filter(|unit| !unit.is_empty())
    }

    /// The text of a value of type `value_type`.
    pub fn text(&self, program: &Program, value_type: Type, value: &Value) -> String {
        match (value, value_type) {
            (Value::Flag(true), _) => "yes".to_owned(),
            (Value::Flag(false), _) => "no".to_owned(),
            (Value::Text(text), _) => text.to_string(),
            (Value::List(records), _) => format!("{} records", records.len()),
            (Value::Values(values), Type::ListOf(element)) => {
                let text = |value| self.text(program, element.value_type(), value);
                values.iter().map(text).collect::<Vec<_>>().join(", ")
            }
            (Value::Values(values), _) => format!("{} values", values.len()),
            (Value::Word(word), Type::Choice(id) | Type::Scale(id)) => {
                program.vocabularies[id].text_of(*word)
            }
            (Value::Word(word), _) => format!("word {word}"),
            (Value::Number(number), Type::Date) => number.to_whole().map_or_else(
                || number.to_text(),
                |days| Date::from_days(days).to_string(),
            ),
            (Value::Number(number), Type::Swingweight) => swingweight_text(*number),
            (Value::Number(number), Type::Temperature) => self.temperature_text(*number),
            (Value::Number(number), Type::Quantity(dimension)) => {
                self.quantity_text(*number, dimension)
            }
            (Value::Number(number), _) => number.to_text(),
        }
    }

    fn quantity_text(&self, number: Rational, dimension: Dimension) -> String {
        let unit = self
            .unit
            .as_deref()
            .unwrap_or_else(|| usual_unit(dimension));
        let factor = unit_factor(unit).unwrap_or(Rational::ONE);
        let Ok(in_unit) = number.over(factor) else {
            return format!("{number} {dimension} in base units");
        };
        let number = number_text(in_unit, self.step, unit == "in");
        let unit = match unit {
            "point" | "points" if in_unit.size() <= Rational::ONE => "point",
            "point" => "points",
            other => other,
        };
        if unit.is_empty() {
            number
        } else {
            format!("{number} {unit}")
        }
    }

    fn temperature_text(&self, kelvin: Rational) -> String {
        let unit = self.unit.as_deref().unwrap_or("degC");
        let in_unit = unit_named(unit).and_then(|unit| {
            kelvin
                .minus(unit.zero())
                .and_then(|difference| difference.over(unit.factor()))
                .ok()
        });
        match in_unit {
            Some(number) => format!("{} {unit}", number_text(number, self.step, false)),
            None => format!("{kelvin} kelvin"),
        }
    }
}

/// The factor of a unit or product of units.
pub fn unit_factor(unit: &str) -> Option<Rational> {
    use crate::quantity::{ParsedLiteral, parse_literal};
    if let Some(known) = unit_named(unit) {
        return Some(known.factor());
    }
    match parse_literal(&format!("1 {unit}")) {
        Ok(ParsedLiteral::Quantity { value, .. }) => Some(value),
        Ok(ParsedLiteral::Temperature { difference, .. }) => Some(difference),
        _ => None,
    }
}

/// The number in its unit; inches in halves, quarters, eighths and sixteenths read as a fitter
/// writes them; anything that needs more than four places is rounded to them and marked `≈`.
fn number_text(number: Rational, step: Option<Rational>, in_inches: bool) -> String {
    let rounded = match step {
        Some(step) => number.rounded_to(step, Rounding::Nearest).unwrap_or(number),
        None => number,
    };
    let is_binary_fraction = (2..=16).contains(&rounded.denominator())
        && (rounded.denominator() & (rounded.denominator() - 1)) == 0;
    if in_inches && is_binary_fraction {
        return mixed_fraction(rounded);
    }
    let places = Rational::fraction(1, 10_000).unwrap_or(Rational::ONE);
    match rounded.rounded_to(places, Rounding::Nearest) {
        Ok(short) if short == rounded => rounded.to_text(),
        Ok(short) => format!("≈{short}"),
        Err(_) => rounded.to_text(),
    }
}

pub(crate) fn mixed_fraction(number: Rational) -> String {
    let sign = if number.is_negative() { "-" } else { "" };
    let size = number.size();
    let whole = size.numerator() / size.denominator();
    let rest = size.numerator() % size.denominator();
    match whole {
        0 => format!("{sign}{rest}/{}", size.denominator()),
        _ => format!("{sign}{whole} {rest}/{}", size.denominator()),
    }
}

/// `D2`, `C9.5`: ten points a letter from A0. Beyond the letters A to G the points are shown.
fn swingweight_text(points: Rational) -> String {
    let tenth = Rational::fraction(1, 10).unwrap_or(Rational::ONE);
    let rounded = points
        .rounded_to(tenth, Rounding::Nearest)
        .unwrap_or(points);
    let letter = rounded.numerator().div_euclid(rounded.denominator() * 10);
    let within = i64::try_from(letter)
        .ok()
        .and_then(|letter| rounded.minus(Rational::whole(letter * 10)).ok());
    let letter_text = usize::try_from(letter)
        .ok()
        .and_then(|place| "ABCDEFG".chars().nth(place));
    match (letter_text, within) {
        (Some(letter), Some(points)) => format!("{letter}{points}"),
        _ => format!("{rounded} points"),
    }
}
