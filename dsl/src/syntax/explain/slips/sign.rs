//! Signs of other languages, and signs in the wrong place.

use super::{from_token, near_miss, translated};
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::Span;
use crate::syntax::explain::Place;
use crate::syntax::grammar::Rule;
use crate::syntax::keyword::{DECLARATION_WORDS, is_name, keywords};
use crate::syntax::reader::short;

/// Signs of other languages, and what is written here.
const SIGNS: &[(&str, &str)] = &[
    ("&", "and"),
    ("|", "or"),
    ("!", "not"),
    ("%", "percent"),
    ("'", "\""),
    ("^", "x * x"),
];

/// What stands elsewhere between a row's conditions and what it gives; longer ones first.
const ARROWS: &[&str] = &["-->", "==>", "->", "=>", ":=", ":", "="];

/// The finding for a sign that is known, or `None`.
pub(super) fn slip(place: &Place<'_>) -> Option<Diagnostic> {
    comment(place)
        .or_else(|| arrow(place))
        .or_else(|| sign_after_clause(place))
        .or_else(|| dash_for_any(place))
        .or_else(|| quoted_value(place))
        .or_else(|| closes_nothing(place))
        .or_else(|| feet(place))
        .or_else(|| wrong_sign(place))
}

/// `// …` and `-- …` after a line.
fn comment(place: &Place<'_>) -> Option<Diagnostic> {
    // The first of the two signs may be read as a division.
    if place.token == "/" && place.before.ends_with('/') && place.gap == 0 {
        let span = Span {
            start: place.span.start.checked_sub(1)?,
            ..place.span
        };
        return Some(near_miss(span, "//", "#"));
    }
    let written = ["//", "--", "/*"]
        .into_iter()
        .find(|begin| place.after.starts_with(begin))?;
    // Two signs of minus may stand before a value.
    let is_value = written == "--" && !place.expected.contains(&Rule::EOI);
    (!is_value).then(|| near_miss(from_token(place, written.len()), written, "#"))
}

/// `under 5 deg -> low`
fn arrow(place: &Place<'_>) -> Option<Diagnostic> {
    if place.rule != Rule::row_line || !place.expected.contains(&Rule::result) {
        return None;
    }
    if place.token == "+" {
        return Some(near_miss(place.span, "+", "or more"));
    }
    let written = match place.token {
        "then" | "is" => place.token,
        _ => ARROWS
            .iter()
            .find(|arrow| place.after.starts_with(**arrow))?,
    };
    Some(near_miss(
        from_token(place, written.len()),
        written,
        "gives",
    ))
}

/// `gives: 5 deg`, `default = 3 in`
fn sign_after_clause(place: &Place<'_>) -> Option<Diagnostic> {
    let clause = place.before;
    let is_clause = keywords().contains(&clause) && !DECLARATION_WORDS.contains(&clause);
    if !matches!(place.token, ":" | "=") || !is_clause {
        return None;
    }
    let span = Span {
        start: place.span.start.checked_sub(place.gap + clause.len())?,
        ..place.span
    };
    let blanks = " ".repeat(place.gap);
    let written = format!("{clause}{blanks}{}", place.token);
    Some(near_miss(span, &written, clause))
}

/// A dash or a star where any value will do, as in tables on paper.
fn dash_for_any(place: &Place<'_>) -> Option<Diagnostic> {
    if place.rule != Rule::row_line {
        return None;
    }
    let is_begun = |text: &str| text.is_empty() || text.ends_with(" and") || text == "and";
    if matches!(place.token, "*" | "?") && is_begun(place.before) {
        return Some(near_miss(place.span, place.token, "any"));
    }
    let before = place.before.strip_suffix('-')?;
    let is_word = place
        .token
        .starts_with(|first: char| first.is_ascii_lowercase());
    if !is_begun(before.trim_end()) || !is_word {
        return None;
    }
    let start = place.span.start.checked_sub(place.gap + 1)?;
    let span = Span {
        start,
        end: start + 1,
        ..place.span
    };
    Some(near_miss(span, "-", "any"))
}

/// `turf is "soft"`: a value in the quotation marks of a text.
fn quoted_value(place: &Place<'_>) -> Option<Diagnostic> {
    let takes_text = |rule: &Rule| matches!(rule, Rule::text | Rule::texts);
    let takes_value = |rule: &Rule| {
        matches!(
            rule,
            Rule::name | Rule::literal | Rule::listed | Rule::operand | Rule::sum | Rule::condition
        )
    };
    let rest = place.after.strip_prefix('"')?;
    // The reader takes a line that begins with a text as the rest of the row before it.
    let is_row = place.rule == Rule::row_line;
    let has_value = is_row || place.expected.iter().any(takes_value);
    if !has_value || place.expected.iter().any(takes_text) {
        return None;
    }
    let (inside, _) = rest.split_once('"')?;
    let is_value = is_name(inside) || inside.starts_with(|first: char| first.is_ascii_digit());
    let span = from_token(place, inside.len() + 2);
    is_value.then(|| near_miss(span, &format!("\"{inside}\""), inside))
}

fn closes_nothing(place: &Place<'_>) -> Option<Diagnostic> {
    let opened = place.before.matches('(').count();
    let is_open = opened > place.before.matches(')').count();
    if place.token != ")" || is_open || place.expected.contains(&Rule::closing) {
        return None;
    }
    let finding = Diagnostic::error(Code::Syntax, place.span, "`)` closes nothing");
    Some(finding.with_help("delete it, or open it with `(` further left"))
}

/// `5' 10`, `5'`; with a mark for inches behind it the reader has answered already.
fn feet(place: &Place<'_>) -> Option<Diagnostic> {
    let last = place.before.chars().next_back()?;
    if place.token != "'" || place.gap > 0 || !last.is_ascii_digit() {
        return None;
    }
    Some(near_miss(place.span, "'", " ft"))
}

/// `=` where `is` or `:` stands, and signs of other languages.
fn wrong_sign(place: &Place<'_>) -> Option<Diagnostic> {
    let expects = |rule| place.expected.contains(&rule);
    let right = match place.token {
        ":" | "is" if expects(Rule::equals) => "=",
        "=" | "is" | "as" if expects(Rule::colon) => ":",
        "if" | "when" | "where" if expects(Rule::colon) => ":",
        "=" | ":" | "are" if expects(Rule::kw_is) => "is",
        ":" if expects(Rule::kw_then) => "then",
        ">" if expects(Rule::less) => {
            let finding = near_miss(place.span, ">", "<");
            return Some(finding.with_help("the lowest step of a scale comes first"));
        }
        "=" if place.before.ends_with('=') => {
            let span = Span {
                start: place.span.start.checked_sub(1)?,
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
    Some(near_miss(
        from_token(place, written.len()),
        &short(written),
        right,
    ))
}
