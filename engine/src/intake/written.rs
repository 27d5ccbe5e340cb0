//! A value as text that reads back as the very same value: the way out of the program.

use loftwright_dsl::program::{Field, Program, Type, Value, unit_factor};
use loftwright_dsl::quantity::{Dimension, Rational, UNITS, unit_named};

use super::MOST_DIGITS;
use super::expected::Expected;
use super::value::read_expected;

/// The text of a field's value: in the unit in which people see it, else in another unit of its
/// dimension, else as a fraction. `None` where no text reads back as the value, and for lists,
/// whose elements are written one by one.
pub fn written_value(program: &Program, field: &Field, value: &Value) -> Option<String> {
    let expected = Expected::of_field(program, field);
    let expected = match field.value_type {
        Type::ListOf(element) => expected.of_element(element),
        _ => expected,
    };
    let reads_back =
        |text: &String| read_expected(&expected, text).is_ok_and(|read| read == *value);
    let shown = expected.text_of(value);
    if reads_back(&shown) {
        return Some(shown);
    }
    let number = value.number()?;
    exact_texts(&expected, number).into_iter().find(reads_back)
}

/// Texts of a number in every unit that it may be written in.
fn exact_texts(expected: &Expected<'_>, number: Rational) -> Vec<String> {
    let in_units = |dimension: Dimension| {
        let own = expected.unit_to_write();
        let own = own.as_deref().into_iter();
        let of_dimension = UNITS
            .iter()
            .filter(|unit| unit.dimension == dimension && !unit.is_point);
        own.chain(of_dimension.map(|unit| unit.symbol))
            .filter_map(|symbol| {
                let number = number.over(unit_factor(symbol)?).ok()?;
                Some(format!("{} {symbol}", exact_decimal(number)))
            })
            .collect()
    };
    match expected.value_type {
        Type::Quantity(Dimension::NUMBER) => vec![exact_decimal(number)],
        Type::Quantity(dimension) => in_units(dimension),
        Type::Temperature => ["degC", "degF"]
            .into_iter()
            .filter_map(|symbol| {
                let unit = unit_named(symbol)?;
                let above = number.minus(unit.zero()).ok()?;
                let number = above.over(unit.factor()).ok()?;
                Some(format!("{} {symbol}", exact_decimal(number)))
            })
            .collect(),
        Type::Swingweight => exact_swingweight(number).into_iter().collect(),
        _ => Vec::new(),
    }
}

/// `D2.25`: a swingweight to more places than are shown.
fn exact_swingweight(points: Rational) -> Option<String> {
    let ten = Rational::whole(10);
    let letters = points.over(ten).ok()?;
    let letters = letters.numerator().div_euclid(letters.denominator());
    let letter = "ABCDEFG".chars().nth(usize::try_from(letters).ok()?)?;
    let before = ten
        .times(Rational::whole(i64::try_from(letters).ok()?))
        .ok()?;
    let within = points.minus(before).ok()?;
    Some(format!("{letter}{}", exact_decimal(within)))
}

/// The decimal text where it ends within the digits that are read of one number, else a fraction.
fn exact_decimal(number: Rational) -> String {
    let sign = if number.is_negative() { "-" } else { "" };
    let (above, below) = (number.size().numerator(), number.size().denominator());
    let mut scale = 1_i128;
    for places in 0..=MOST_DIGITS {
        let Some(scaled) = above.checked_mul(scale) else {
            break;
        };
        if scaled % below == 0 {
            let digits = (scaled / below).to_string();
            let digits = format!("{digits:0>width$}", width = places + 1);
            let (whole, rest) = digits
                .split_at_checked(digits.len() - places)
                .unwrap_or_default();
            let point = if places > 0 { "." } else { "" };
            return format!("{sign}{whole}{point}{rest}");
        }
        let Some(next) = scale.checked_mul(10) else {
            break;
        };
        scale = next;
    }
    number.to_text()
}
