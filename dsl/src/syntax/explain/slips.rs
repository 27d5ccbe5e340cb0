//! Slips that have a better answer than "expected …".

use super::Place;
use super::expected::keywords_of;
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::{UNITS, unit_named};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
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

/// Signs of other languages, and what is written here.
const SIGNS: &[(&str, &str)] = &[
    ("&", "and"),
    ("|", "or"),
    ("!", "not"),
    ("%", "percent"),
    ("'", "\""),
    ("^", "x * x"),
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

/// The finding for a slip that is known, or `None`.
pub(super) fn slip(place: &Place<'_>) -> Option<Diagnostic> {
    decimal_comma(place)
        .or_else(|| wrong_unit(place))
        .or_else(|| wrong_number(place))
        .or_else(|| wrong_sign(place))
}

/// What else helps where something was expected.
pub(super) fn help(place: &Place<'_>) -> Option<String> {
    let expects = |rule| place.expected.contains(&rule);
    if expects(Rule::kw_weight) && place.token.is_empty() {
        return Some("a `prefers` line says how much it counts: `weight 2`".to_owned());
    }
    let first = place.token.chars().next()?;
    if (expects(Rule::text) || expects(Rule::texts)) && first.is_alphanumeric() {
        return Some(in_quotation_marks(place));
    }
    if place.token == "can" && expects(Rule::kw_cannot_happen) {
        return Some("write `cannot happen`".to_owned());
    }
    if first.is_ascii_uppercase() || first == '_' {
        return Some("a name begins with a small letter".to_owned());
    }
    if place.token == "the" {
        return Some(
            "after `the` comes one of: larger of, smaller of, size of, largest, smallest, total"
                .to_owned(),
        );
    }
    if let Some(number) = translated(NUMBER_WORDS, place.token).filter(|_| expects(Rule::number)) {
        return Some(format!("write `{number}`"));
    }
    if let Some(help) = joined_otherwise(place) {
        return Some(help);
    }
    if place.rule == Rule::scale && expects(Rule::kw_in_halves) {
        return Some("the steps of a scale are joined by `<`, lowest first".to_owned());
    }
    None
}

/// `ask How far?`: the rest of the line is the text.
fn in_quotation_marks(place: &Place<'_>) -> String {
    let text = place.after.trim().trim_matches('"');
    let before = place.before.trim();
    if text.contains('"') || text.contains('\\') {
        return "a text stands between two quotation marks".to_owned();
    }
    let lead = if before.split_whitespace().count() > 2 {
        String::new()
    } else {
        let words: Vec<&str> = before.split_whitespace().collect();
        format!("{} ", words.join(" "))
    };
    format!("write `{lead}\"{}\"`", short(text))
}

/// Lists and columns that are joined by something else than what joins them here.
fn joined_otherwise(place: &Place<'_>) -> Option<String> {
    let expects = |rule| place.expected.contains(&rule);
    let is_table = matches!(
        place.rule,
        Rule::by_line | Rule::then_by_line | Rule::next_by_line
    );
    match place.token {
        "," if place.rule == Rule::row_line => {
            Some("the conditions of a row are joined by `and`".to_owned())
        }
        _ if is_table && (expects(Rule::hit_first) || expects(Rule::kw_first)) => {
            Some("the columns of a table are joined by `and`".to_owned())
        }
        "or" if place.rule == Rule::choice => {
            Some("the values of a choice are joined by `,`".to_owned())
        }
        "rounded" | "kept" | "shown" | "may" | "for" | "together" if expects(Rule::comma) => {
            Some(format!("a `,` stands before `{}`", place.token))
        }
        _ => None,
    }
}

/// `1,5 deg`
fn decimal_comma(place: &Place<'_>) -> Option<Diagnostic> {
    let whole = last_run(place.before);
    let part = first_run(place.after.strip_prefix(',')?);
    let is_number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !is_number(whole) || !is_number(part) {
        return None;
    }
    let span = Span {
        start: place.span.start - whole.len(),
        end: place.span.end + part.len(),
        ..place.span
    };
    let finding = bad_literal(span, &format!("{whole},{part}"), "number");
    Some(finding.with_help(format!("write `{whole}.{part}`")))
}

/// `5 inches`
fn wrong_unit(place: &Place<'_>) -> Option<Diagnostic> {
    let first = place.token.chars().next()?;
    let is_candidate = first.is_ascii_alphabetic() && place.expected.contains(&Rule::unit);
    if !is_candidate || nearest(place.token, keywords_of(place.expected)).is_some() {
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
    let finding = bad_literal(span, written, "unit");
    Some(match unit_meant(written) {
        Some(meant) => finding.with_help(format!("did you mean `{meant}`?")),
        None => finding,
    })
}

fn unit_meant(written: &str) -> Option<&'static str> {
    let symbols = || UNITS.iter().map(|unit| unit.symbol);
    translated(UNIT_WORDS, &written.to_lowercase())
        .or_else(|| symbols().find(|symbol| symbol.eq_ignore_ascii_case(written)))
        .or_else(|| nearest(written, symbols()))
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

/// `=` where `is` or `:` stands, and signs of other languages.
fn wrong_sign(place: &Place<'_>) -> Option<Diagnostic> {
    let expects = |rule| place.expected.contains(&rule);
    let right = match place.token {
        ":" | "is" if expects(Rule::equals) => "=",
        "=" | "is" if expects(Rule::colon) => ":",
        "=" if expects(Rule::kw_is) => "is",
        "=" if place.before.ends_with('=') => {
            let span = Span {
                start: place.span.start - 1,
                ..place.span
            };
            return Some(near_miss(span, "==", "="));
        }
        ";" if expects(Rule::comma) || expects(Rule::EOI) => return None,
        sign => translated(SIGNS, sign)?,
    };
    let doubled = place.token.repeat(2);
    let is_doubled = matches!(place.token, "&" | "|") && place.after.starts_with(&doubled);
    let written = if is_doubled { &doubled } else { place.token };
    let span = Span {
        end: place.span.start + written.len(),
        ..place.span
    };
    Some(near_miss(span, written, right))
}

fn near_miss(span: Span, written: &str, right: &str) -> Diagnostic {
    Diagnostic::error(
        Code::NearMiss,
        span,
        format!("`{written}` is not how the language says it"),
    )
    .with_help(format!("write `{right}`"))
}

fn bad_literal(span: Span, written: &str, what: &str) -> Diagnostic {
    Diagnostic::error(
        Code::BadLiteral,
        span,
        format!("`{}` is not a {what}", short(written)),
    )
}

fn is_plain_number(text: &str) -> bool {
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    is_digits(text)
        || text
            .split_once(['.', '/'])
            .is_some_and(|(before, after)| is_digits(before) && is_digits(after))
}

fn translated(table: &[(&str, &'static str)], word: &str) -> Option<&'static str> {
    table
        .iter()
        .find(|(written, _)| *written == word)
        .map(|(_, right)| *right)
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
