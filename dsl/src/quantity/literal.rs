//! Literals as fitters write them: `35 1/4 in`, `5 ft 10 in`, `-0.5 deg`, `2026-05-01`, `D2`.
//!
//! One reader serves the rules, the player's file and the API, so that the same text means the same
//! quantity wherever it stands.

use super::{ArithmeticFault, Date, Dimension, Rational, unit_named};

/// What a literal says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParsedLiteral {
    /// A size: a number with or without a unit.
    Quantity {
        /// The size in base units.
        value: Rational,
        /// What it measures.
        dimension: Dimension,
        /// The unit as it was written (of `5 ft 10 in`, the last); empty for a plain number.
        unit: String,
    },
    /// A temperature: a point on its scale, in kelvin.
    Temperature {
        /// The point in kelvin.
        value: Rational,
        /// The same number taken as a difference, in kelvin.
        difference: Rational,
        /// `degC` or `degF`.
        unit: String,
    },
    /// A swingweight: points above A0.
    Swingweight(Rational),
    /// A calendar date.
    Date(Date),
}

/// Why a text is not a literal.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LiteralError {
    /// There is no number where one must be.
    #[error("`{0}` is not a number")]
    NotANumber(String),
    /// The unit is none of the language's.
    #[error("`{0}` is not a unit")]
    UnknownUnit(String),
    /// There is no such day.
    #[error("`{0}` is not a date")]
    NotADate(String),
    /// The number cannot be held.
    #[error("`{text}`: {fault}")]
    Arithmetic {
        /// The literal.
        text: String,
        /// What went wrong.
        fault: ArithmeticFault,
    },
}

/// Reads one literal; spaces around it are ignored.
///
/// # Errors
/// [`LiteralError`] names the part of the text that is wrong.
pub fn parse_literal(text: &str) -> Result<ParsedLiteral, LiteralError> {
    let text = text.trim();
    if let Some(points) = swingweight_points(text) {
        return Ok(ParsedLiteral::Swingweight(points));
    }
    if looks_like_date(text) {
        return Date::parse(text)
            .map(ParsedLiteral::Date)
            .ok_or_else(|| LiteralError::NotADate(text.to_owned()));
    }
    let (negative, rest) = match text.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text),
    };
    let (number_text, unit_text) = split_number(rest);
    let arithmetic = |fault| LiteralError::Arithmetic {
        text: text.to_owned(),
        fault,
    };
    let number = parse_number(number_text).ok_or_else(|| {
        LiteralError::NotANumber(
            if number_text.is_empty() {
                text
            } else {
                number_text
            }
            .to_owned(),
        )
    })?;
    let number = number.map_err(arithmetic)?;
    let signed = |value: Rational| if negative { value.negated() } else { value };
    // Feet and inches: `5 ft 10 in`.
    if let Some(inches_text) = unit_text.strip_prefix("ft ").map(str::trim_start) {
        let (inches_text, unit) = split_number(inches_text);
        if unit == "in" {
            let inches = parse_number(inches_text)
                .ok_or_else(|| LiteralError::NotANumber(inches_text.to_owned()))?
                .map_err(arithmetic)?;
            let value = feet_and_inches(number, inches).map_err(arithmetic)?;
            return Ok(ParsedLiteral::Quantity {
                value: signed(value),
                dimension: Dimension::LENGTH,
                unit: unit.to_owned(),
            });
        }
    }
    let measured = parse_unit(unit_text)?;
    let value = signed(number).times(measured.factor).map_err(arithmetic)?;
    if measured.is_point {
        let point = value.plus(measured.zero).map_err(arithmetic)?;
        return Ok(ParsedLiteral::Temperature {
            value: point,
            difference: value,
            unit: unit_text.to_owned(),
        });
    }
    Ok(ParsedLiteral::Quantity {
        value,
        dimension: measured.dimension,
        unit: unit_text.to_owned(),
    })
}

/// Reads `12`, `0.25`, `1/4` or `35 1/4`; `None` where the text has none of these forms.
fn parse_number(text: &str) -> Option<Result<Rational, ArithmeticFault>> {
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let is_fraction = |part: &str| {
        part.split_once('/')
            .is_some_and(|(above, below)| is_digits(above) && is_digits(below))
    };
    let is_decimal = |part: &str| match part.split_once('.') {
        Some((before, after)) => is_digits(before) && is_digits(after),
        None => is_digits(part),
    };
    if let Some((whole, fraction)) = text.split_once(' ') {
        let fraction = fraction.trim_start();
        if !is_digits(whole) || !is_fraction(fraction) {
            return None;
        }
        let sum = || whole.parse::<Rational>()?.plus(fraction.parse()?);
        return Some(sum());
    }
    (is_fraction(text) || is_decimal(text)).then(|| text.parse())
}

/// Cuts `35 1/4 in` into `35 1/4` and `in`.
fn split_number(text: &str) -> (&str, &str) {
    let is_number_byte = |byte: u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'/' | b' ');
    let end = text
        .bytes()
        .position(|byte| !is_number_byte(byte))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at_checked(end).unwrap_or((text, ""));
    (number.trim_end(), unit.trim())
}

struct MeasuredUnit {
    factor: Rational,
    zero: Rational,
    dimension: Dimension,
    is_point: bool,
}

/// Reads a unit or a product of units: `in`, `km/h`, `deg/in`, `kg*cm2`, or nothing.
fn parse_unit(text: &str) -> Result<MeasuredUnit, LiteralError> {
    let unknown = || LiteralError::UnknownUnit(text.to_owned());
    if text.is_empty() {
        return Ok(MeasuredUnit {
            factor: Rational::ONE,
            zero: Rational::ZERO,
            dimension: Dimension::NUMBER,
            is_point: false,
        });
    }
    if let Some(unit) = unit_named(text) {
        return Ok(MeasuredUnit {
            factor: unit.factor(),
            zero: unit.zero(),
            dimension: unit.dimension,
            is_point: unit.is_point,
        });
    }
    let mut factor = Rational::ONE;
    let mut dimension = Dimension::NUMBER;
    let mut divides = false;
    for part in text.split_inclusive(['*', '/']) {
        let symbol = part.trim_end_matches(['*', '/']);
        let unit = unit_named(symbol)
            .filter(|unit| !unit.is_point)
            .ok_or_else(unknown)?;
        let combined = if divides {
            (factor.over(unit.factor()), dimension.over(unit.dimension))
        } else {
            (factor.times(unit.factor()), dimension.times(unit.dimension))
        };
        factor = combined.0.map_err(|fault| LiteralError::Arithmetic {
            text: text.to_owned(),
            fault,
        })?;
        dimension = combined.1.ok_or_else(unknown)?;
        divides = part.ends_with('/');
    }
    Ok(MeasuredUnit {
        factor,
        zero: Rational::ZERO,
        dimension,
        is_point: false,
    })
}

fn feet_and_inches(feet: Rational, inches: Rational) -> Result<Rational, ArithmeticFault> {
    let inch = Rational::fraction(127, 5_000)?;
    feet.times(Rational::whole(12))?.plus(inches)?.times(inch)
}

fn looks_like_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.len() == 10
        && bytes.iter().enumerate().all(|(place, byte)| match place {
            4 | 7 => *byte == b'-',
            _ => byte.is_ascii_digit(),
        })
}

/// Points above A0 of a swingweight such as `D2` or `C9.5`; ten points a letter, A to G.
fn swingweight_points(text: &str) -> Option<Rational> {
    let mut characters = text.chars();
    let letter = characters
        .next()
        .filter(|letter| ('A'..='G').contains(letter))?;
    let digits = characters.as_str();
    let first = digits.split('.').next()?;
    if first.len() != 1 || digits.ends_with('.') {
        return None;
    }
    let points = parse_number(digits)?.ok()?;
    let letters = i64::from(u32::from(letter) - u32::from('A'));
    Rational::whole(letters * 10).plus(points).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str) -> Rational {
        match parse_literal(text) {
            Ok(ParsedLiteral::Quantity {
                value,
                dimension: Dimension::LENGTH,
                ..
            }) => value,
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn inches_and_millimetres_meet_exactly() {
        assert_eq!(length("34.5 in"), length("876.3 mm"));
        assert_eq!(length("34 1/2 in"), length("876.3 mm"));
        assert_eq!(length("5 ft 10 in"), length("70 in"));
        assert_eq!(length("-1/2 in"), length("-12.7 mm"));
    }

    #[test]
    fn a_scale_letter_is_ten_points() {
        assert_eq!(
            parse_literal("D2"),
            Ok(ParsedLiteral::Swingweight(Rational::whole(32)))
        );
        assert!(parse_literal("D12").is_err());
    }

    #[test]
    fn faults_name_what_is_wrong() {
        assert_eq!(
            parse_literal("5 furlong"),
            Err(LiteralError::UnknownUnit("furlong".to_owned()))
        );
        assert_eq!(
            parse_literal("NaN"),
            Err(LiteralError::NotANumber("NaN".to_owned()))
        );
        assert_eq!(
            parse_literal("2026-02-30"),
            Err(LiteralError::NotADate("2026-02-30".to_owned()))
        );
        assert!(parse_literal("1e5 deg").is_err());
        assert!(matches!(
            parse_literal("99999999999999999999999999999999999999999 in"),
            Err(LiteralError::Arithmetic { .. })
        ));
    }

    #[test]
    fn spin_is_an_angle_over_a_time() {
        let spin = parse_literal("1 rpm");
        assert!(matches!(
            spin,
            Ok(ParsedLiteral::Quantity {
                dimension: Dimension::SPIN,
                ..
            })
        ));
        let product = parse_literal("6 deg/s");
        let Ok(ParsedLiteral::Quantity { value: left, .. }) = spin else {
            panic!()
        };
        let Ok(ParsedLiteral::Quantity {
            value: right,
            dimension,
            ..
        }) = product
        else {
            panic!()
        };
        assert_eq!((left, dimension), (right, Dimension::SPIN));
    }

    #[test]
    fn freezing_point_is_the_same_in_both_scales() {
        let point = |text| match parse_literal(text) {
            Ok(ParsedLiteral::Temperature { value, .. }) => value,
            other => panic!("{other:?}"),
        };
        assert_eq!(point("0 degC"), point("32 degF"));
    }
}
