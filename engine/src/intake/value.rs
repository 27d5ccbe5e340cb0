//! One text, one value: the reader that readings, clubs, parts and pieces share.

use std::sync::Arc;

use loftwright_dsl::program::{Input, Program, Shown, Type, Value};
use loftwright_dsl::quantity::{Dimension, ParsedLiteral, parse_literal};

use super::expected::{Expected, number_of};
use super::fault::{FaultKind, Misread};
use super::quote::{quoted, with_article};
use super::words::{read_flag, read_word};
use super::{LONGEST_VALUE_BYTES, MOST_DIGITS, right_form};

/// Reads a value of a type from its text; spaces around it are ignored.
///
/// # Errors
/// A sentence in lower case: what was sent, what is allowed, an example of the right form.
pub fn read_value(program: &Program, value_type: Type, text: &str) -> Result<Value, String> {
    let expected = Expected::of_type(program, value_type);
    read_expected(&expected, text).map_err(|misread| misread.message)
}

/// What an input takes, in words: `an angle from -20 deg through 10 deg`.
pub fn allowed_reading(program: &Program, input: &Input) -> String {
    Expected::of_input(program, input).text()
}

/// The text to write for a number that came without one (a float of TOML): with the unit in which
/// people see the value, an exponent written out. `None` where a number cannot be of the type.
pub fn text_to_write(
    program: &Program,
    value_type: Type,
    shown: &Shown,
    number: &str,
) -> Option<String> {
    if value_type == Type::Text {
        return Some(number.to_owned());
    }
    let expected = Expected {
        unit: shown.unit.as_deref(),
        ..Expected::of_type(program, value_type)
    };
    let text = match expected.unit_to_write() {
        Some(unit) => format!("{number} {unit}"),
        None => number.to_owned(),
    };
    right_form::literal(&expected, &text)
}

/// Reads what is expected, its range included.
pub(super) fn read_expected(expected: &Expected<'_>, text: &str) -> Result<Value, Misread> {
    if text.len() > LONGEST_VALUE_BYTES {
        let (sent, length) = (quoted(text), text.len());
        return Err(Misread {
            kind: FaultKind::TooMany,
            message: format!(
                "{sent} is {length} bytes long; at most {LONGEST_VALUE_BYTES} are read of one value"
            ),
        });
    }
    let text = text.trim();
    if text.is_empty() {
        let needed = expected.needed();
        let message = format!("the text is empty; {needed}; what is not known is left out");
        return Err(Misread::new(message));
    }
    let value = read_of_type(expected, text).map_err(|message| Misread {
        kind: match expected.value_type {
            Type::Flag | Type::Choice(_) | Type::Scale(_) => FaultKind::UnknownWord,
            _ => FaultKind::Unreadable,
        },
        message: match text {
            "unknown" | "none" => format!("{message}; what is not known is left out"),
            _ => message,
        },
    })?;
    if expected.allows(&value) {
        return Ok(value);
    }
    Err(Misread {
        kind: FaultKind::OutOfRange,
        message: out_of_range(expected, text, &value),
    })
}

fn read_of_type(expected: &Expected<'_>, text: &str) -> Result<Value, String> {
    match expected.value_type {
        Type::Flag => read_flag(text),
        Type::Choice(id) | Type::Scale(id) => read_word(&expected.program.vocabularies[id], text),
        Type::Text => read_text(text),
        Type::List(_) | Type::ListOf(_) => {
            Err(format!("{} is a text; {}", quoted(text), expected.needed()))
        }
        Type::Quantity(_) | Type::Temperature | Type::Swingweight | Type::Count | Type::Date => {
            read_number(expected, text)
        }
    }
}

fn read_text(text: &str) -> Result<Value, String> {
    match text.chars().find(|character| character.is_control()) {
        Some(character) => Err(format!(
            "{} holds the control character U+{:04X}; a text of one line is needed",
            quoted(text),
            u32::from(character)
        )),
        None => Ok(Value::Text(Arc::from(text))),
    }
}

fn read_number(expected: &Expected<'_>, text: &str) -> Result<Value, String> {
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    if digits > MOST_DIGITS {
        return Err(format!(
            "{} has {digits} digits; at most {MOST_DIGITS} are read of one number",
            quoted(text)
        ));
    }
    match parse_literal(text) {
        Ok(literal) => match number_of(&literal, expected.value_type) {
            Some(kelvin) if expected.value_type == Type::Temperature && kelvin.is_negative() => {
                Err(format!(
                    "{} is below absolute zero; {}",
                    quoted(text),
                    expected.needed()
                ))
            }
            Some(number) => Ok(Value::Number(number)),
            None => Err(mismatch(expected, text, &literal)),
        },
        Err(error) => Err(right_form::sentence(expected, text, &error)),
    }
}

/// A literal that is well written and of another type.
fn mismatch(expected: &Expected<'_>, text: &str, literal: &ParsedLiteral) -> String {
    let sent = quoted(text);
    if let ParsedLiteral::Quantity {
        dimension: Dimension::NUMBER,
        unit,
        ..
    } = literal
    {
        if expected.value_type == Type::Count {
            return format!("{sent} is not a whole number; {}", expected.needed());
        }
        if let (true, Some(unit)) = (unit.is_empty(), expected.unit_to_write()) {
            return without_unit(expected, text, &unit);
        }
    }
    let found = match literal {
        ParsedLiteral::Quantity { dimension, .. } => dimension.to_string(),
        ParsedLiteral::Temperature { .. } => "temperature".to_owned(),
        ParsedLiteral::Swingweight(_) => "swingweight".to_owned(),
        ParsedLiteral::Date(_) => "date".to_owned(),
    };
    format!("{sent} is {}; {}", with_article(&found), expected.needed())
}

/// A number without the unit that it needs; the same number with the usual unit is the example.
fn without_unit(expected: &Expected<'_>, text: &str, unit: &str) -> String {
    let sent = quoted(text);
    let with_unit = format!("{text} {unit}");
    let reads = expected
        .value_of_literal(&with_unit)
        .is_some_and(|value| expected.allows(&value));
    if reads {
        let allowed = expected.text();
        let example = quoted(&with_unit);
        return format!("{sent} has no unit; {allowed} is needed, such as {example}");
    }
    format!("{sent} has no unit; {}", expected.needed())
}

fn out_of_range(expected: &Expected<'_>, text: &str, value: &Value) -> String {
    let same = expected.text_of(value);
    // `1300 mm` beside bounds in inches: say how much that is.
    let in_unit = if same == text || matches!(value, Value::Word(_)) {
        String::new()
    } else {
        format!(" ({same})")
    };
    format!(
        "{}{in_unit} is out of range; {} is allowed",
        quoted(text),
        expected.text()
    )
}
