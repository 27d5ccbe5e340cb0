//! Words: the values of choices and scales, and yes and no.

use loftwright_dsl::program::{Value, Vocabulary, VocabularyKind};
use loftwright_dsl::quantity::{Dimension, ParsedLiteral, Rational, parse_literal};

use super::names::{did_you_mean, listed, nearest};
use super::quote::quoted;

/// Reads a word of a choice, or of a scale with or without steps above it (`regular plus 1/2`).
///
/// # Errors
/// A sentence with the words that are allowed and the nearest.
pub(super) fn read_word(vocabulary: &Vocabulary, text: &str) -> Result<Value, String> {
    if let Some(value) = vocabulary.value_of(text) {
        return Ok(Value::Word(value));
    }
    let (text_of_word, steps) = match text.split_once(" plus ") {
        Some((word, steps)) => (word.trim(), Some(steps.trim())),
        None => (text, None),
    };
    match (vocabulary.kind, steps) {
        (VocabularyKind::Scale { in_halves }, Some(steps)) => {
            match vocabulary.value_of(text_of_word) {
                Some(from) => stepped(vocabulary, text, from, steps, in_halves),
                None => Err(not_a_word(vocabulary, text)),
            }
        }
        _ => Err(not_a_word(vocabulary, text)),
    }
}

fn stepped(
    vocabulary: &Vocabulary,
    text: &str,
    from: i32,
    steps: &str,
    in_halves: bool,
) -> Result<Value, String> {
    let name = quoted(&vocabulary.name);
    let smallest = if in_halves { "1/2" } else { "1" };
    let half_steps = half_steps(steps).filter(|half_steps| in_halves || half_steps % 2 == 0);
    let Some(half_steps) = half_steps else {
        return Err(format!(
            "{} is not a value of {name}, which goes in steps of {smallest}; {}",
            quoted(text),
            allowed(vocabulary)
        ));
    };
    match from.checked_add(half_steps) {
        Some(value) if value <= vocabulary.highest() => Ok(Value::Word(value)),
        _ => Err(format!(
            "{} is above {}, the highest of {name}; {}",
            quoted(text),
            quoted(&vocabulary.text_of(vocabulary.highest())),
            allowed(vocabulary)
        )),
    }
}

/// The number of half steps of `1/2`, `0.5` or `1`.
fn half_steps(text: &str) -> Option<i32> {
    match parse_literal(text).ok()? {
        ParsedLiteral::Quantity {
            value,
            dimension: Dimension::NUMBER,
            unit,
        } if unit.is_empty() && !value.is_negative() => {
            let doubled = value.times(Rational::whole(2)).ok()?.to_whole()?;
            i32::try_from(doubled).ok()
        }
        _ => None,
    }
}

fn allowed(vocabulary: &Vocabulary) -> String {
    let words = listed(vocabulary.words.iter().map(String::as_str));
    let half_step = match vocabulary.kind {
        VocabularyKind::Scale { in_halves: true } if vocabulary.words.len() > 1 => format!(
            " and the half steps between them, such as {}",
            quoted(&vocabulary.text_of(1))
        ),
        _ => String::new(),
    };
    format!("allowed are {words}{half_step}")
}

fn not_a_word(vocabulary: &Vocabulary, text: &str) -> String {
    let values = vocabulary.values();
    let texts: Vec<_> = values
        .iter()
        .map(|value| vocabulary.text_of(*value))
        .collect();
    let near = nearest(text, texts.iter().map(String::as_str));
    format!(
        "{} is not a value of {}; {}{}",
        quoted(text),
        quoted(&vocabulary.name),
        allowed(vocabulary),
        did_you_mean(near)
    )
}

/// Reads `yes` or `no`.
///
/// # Errors
/// A sentence with the one that is meant, where it can be seen.
pub(super) fn read_flag(text: &str) -> Result<Value, String> {
    let meant = match text {
        "yes" => return Ok(Value::Flag(true)),
        "no" => return Ok(Value::Flag(false)),
        _ => match text.to_lowercase().as_str() {
            "yes" | "true" | "y" | "1" | "on" => Some("yes"),
            "no" | "false" | "n" | "0" | "off" => Some("no"),
            _ => None,
        },
    };
    let hint = meant.map_or_else(String::new, |word| format!("; write {}", quoted(word)));
    Err(format!("{} is neither `yes` nor `no`{hint}", quoted(text)))
}
