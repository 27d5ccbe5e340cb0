//! Slips in numbers and units.

use super::{bad_literal, near_miss, translated};
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{UNITS, unit_named};
use crate::syntax::Span;
use crate::syntax::explain::Place;
use crate::syntax::explain::expected::keywords_of;
use crate::syntax::grammar::Rule;
use crate::syntax::keyword::{CLAUSE_WORDS, RESERVED_WORDS, is_name};
use crate::syntax::nearest::nearest;
use crate::syntax::reader::{is_word_character, short};

/// Words for units that people write, and the language's symbol.
const UNIT_WORDS: &[(&str, &str)] = &[
    ("inch", "in"),
    ("inches", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("yard", "yd"),
    ("yards", "yd"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("gram", "g"),
    ("grams", "g"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("lbs", "lb"),
    ("grains", "grain"),
    ("second", "s"),
    ("seconds", "s"),
    ("sec", "s"),
    ("hour", "hours"),
    ("day", "days"),
    ("week", "weeks"),
    ("kph", "km/h"),
    ("kmh", "km/h"),
    ("cc", "cm3"),
    ("pct", "percent"),
];

/// Numbers in words.
const NUMBER_WORDS: &[(&str, &str)] = &[
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("five", "5"),
    ("half", "1/2"),
];

/// The finding for a slip in a number or unit, or `None`.
pub(super) fn slip(place: &Place<'_>) -> Option<Diagnostic> {
    decimal_comma(place)
        .or_else(|| after_the_comma(place))
        .or_else(|| wrong_unit(place))
        .or_else(|| number_word(place))
        .or_else(|| wrong_number(place))
}

/// The number that a word stands for.
pub(super) fn number_of_word(word: &str) -> Option<&'static str> {
    translated(NUMBER_WORDS, word)
}

/// `1,5 deg` where no comma may stand.
fn decimal_comma(place: &Place<'_>) -> Option<Diagnostic> {
    let whole = last_run(place.before);
    let part = first_run(place.after.strip_prefix(',')?);
    let span = Span {
        start: place.span.start.checked_sub(whole.len())?,
        end: place.span.end + part.len(),
        ..place.span
    };
    comma_in_number(whole, part, span)
}

/// `1,5 deg` where something else may stand after a comma.
fn after_the_comma(place: &Place<'_>) -> Option<Diagnostic> {
    let whole = last_run(place.before.strip_suffix(',').filter(|_| place.gap == 0)?);
    let span = Span {
        start: place.span.start.checked_sub(whole.len() + 1)?,
        ..place.span
    };
    comma_in_number(whole, place.token, span)
}

fn comma_in_number(whole: &str, part: &str, span: Span) -> Option<Diagnostic> {
    let is_number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !is_number(whole) || !is_number(part) {
        return None;
    }
    let finding = bad_literal(span, &format!("{whole},{part}"), "number");
    Some(if part.len() == 3 {
        finding.with_help(format!(
            "write `{whole}{part}`, or `{whole}.{part}` if it is a decimal"
        ))
    } else {
        finding.with_help(format!("write `{whole}.{part}`"))
    })
}

/// `5 inches`, `2 head_speed`
fn wrong_unit(place: &Place<'_>) -> Option<Diagnostic> {
    let first = place.token.chars().next()?;
    let is_word = RESERVED_WORDS.contains(&place.token) || CLAUSE_WORDS.contains(&place.token);
    let is_candidate = first.is_ascii_alphabetic() && place.expected.contains(&Rule::unit);
    if !is_candidate || is_word || nearest(place.token, keywords_of(place.expected)).is_some() {
        return None;
    }
    let length = place
        .after
        .find(|character| !(is_word_character(character) || matches!(character, '/' | '*')))
        .unwrap_or(place.after.len());
    let written = place.after.get(..length)?.trim_end_matches(['/', '*']);
    let span = Span {
        end: place.span.start + written.len(),
        ..place.span
    };
    let meant = unit_meant(written);
    if meant.is_none() && is_name(written) && written.contains('_') {
        let number = last_run(place.before);
        let message = format!(
            "expected a unit or a sign such as `*`, found `{}`",
            short(written)
        );
        return Some(
            Diagnostic::error(Code::Syntax, span, message).with_help(format!(
                "a product has its sign: `{number} * {}`",
                short(written)
            )),
        );
    }
    let finding = bad_literal(span, written, "unit");
    Some(match meant {
        Some(meant) => finding.with_help(format!("did you mean `{meant}`?")),
        None => {
            let symbols: Vec<&str> = UNITS.iter().map(|unit| unit.symbol).collect();
            finding.with_help(format!("the units are {}", symbols.join(", ")))
        }
    })
}

fn unit_meant(written: &str) -> Option<&'static str> {
    let symbols = || UNITS.iter().map(|unit| unit.symbol);
    translated(UNIT_WORDS, &written.to_lowercase())
        .or_else(|| symbols().find(|symbol| symbol.eq_ignore_ascii_case(written)))
        // A single letter is near to too many.
        .or_else(|| nearest(written, symbols()).filter(|_| written.len() > 1))
}

/// `one in`: the word is read as a name, and the unit is what cannot stand there.
fn number_word(place: &Place<'_>) -> Option<Diagnostic> {
    let word = last_run(place.before);
    let number = number_of_word(word)?;
    unit_named(place.token)?;
    let span = Span {
        start: place.span.start.checked_sub(place.gap + word.len())?,
        ..place.span
    };
    let written = format!("{word} {}", place.token);
    Some(near_miss(
        span,
        &written,
        &format!("{number} {}", place.token),
    ))
}

/// `5deg`, `5.`, `.5`, `1e5`
fn wrong_number(place: &Place<'_>) -> Option<Diagnostic> {
    let length = place
        .after
        .find(|character| !(is_word_character(character) || matches!(character, '.' | '/')))
        .unwrap_or(place.after.len());
    let written = place.after.get(..length)?;
    let digits = written.strip_prefix('.').unwrap_or(written);
    if !digits.starts_with(|first: char| first.is_ascii_digit()) {
        return None;
    }
    let expects_value = place.expected.iter().any(|rule| {
        matches!(
            rule,
            Rule::literal
                | Rule::conditions
                | Rule::cell
                | Rule::expression
                | Rule::condition
                | Rule::comparison
                | Rule::sum
                | Rule::operand
                | Rule::atom
                | Rule::number
                | Rule::quantity
                | Rule::measured
                | Rule::listed
        )
    });
    if !expects_value || is_plain_number(written) {
        return None;
    }
    let span = Span {
        end: place.span.start + written.len(),
        ..place.span
    };
    let finding = bad_literal(span, written, "number");
    if let Some((low, high)) = written.split_once("..") {
        let high = high.trim_matches('.');
        let is_range = is_plain_number(low) && is_plain_number(high);
        let joined = if place.before.ends_with("between") {
            "and"
        } else {
            "through"
        };
        let right = format!("write `{low} {joined} {high}`");
        return Some(if is_range {
            finding.with_help(right)
        } else {
            finding
        });
    }
    let number_end = written
        .find(|character: char| !(character.is_ascii_digit() || matches!(character, '.' | '/')))
        .unwrap_or(written.len());
    let (number, rest) = written.split_at_checked(number_end)?;
    Some(if is_plain_number(number) && unit_named(rest).is_some() {
        finding.with_help(format!("write `{number} {rest}`"))
    } else if written.starts_with('.') {
        finding.with_help(format!("write `0{written}`"))
    } else if let Some(whole) = written.strip_suffix('.') {
        finding.with_help(format!("write `{}`", short(whole)))
    } else {
        finding.with_help("numbers are written `12`, `0.25`, `1/4` or `35 1/4`")
    })
}

fn is_plain_number(text: &str) -> bool {
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    is_digits(text)
        || text
            .split_once(['.', '/'])
            .is_some_and(|(before, after)| is_digits(before) && is_digits(after))
}

/// The word characters at the end of `text`.
fn last_run(text: &str) -> &str {
    let start = text
        .rfind(|character| !is_word_character(character))
        .map_or(0, |place| place + 1);
    text.get(start..).unwrap_or("")
}

/// The word characters at the beginning of `text`.
fn first_run(text: &str) -> &str {
    let end = text
        .find(|character| !is_word_character(character))
        .unwrap_or(text.len());
    text.get(..end).unwrap_or("")
}
