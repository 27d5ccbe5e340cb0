//! Why a line cannot be read, in the trade's words.
//!
//! The parser knows how far it came and which rules it tried there. `expected` turns the rules into
//! what a fitter would call them; `slips` knows the slips that have a better answer than
//! "expected": a unit that is none, a decimal comma, a sign of another language.

mod expected;
mod slips;

use pest::error::{Error, ErrorVariant, InputLocation};

use super::findings::Findings;
use super::grammar::Rule;
use super::keyword::RESERVED_WORDS;
use super::nearest::nearest;
use super::reader::{Line, short, tokens};
use super::{Span, limits};
use crate::diagnostic::{Code, Diagnostic};
use expected::{keywords_of, phrases};

/// Where a line could not be read, and what is known there.
#[derive(Clone, Copy, Debug)]
struct Place<'a> {
    /// The rule of the line.
    rule: Rule,
    /// The rules tried here.
    expected: &'a [Rule],
    /// The word, number or sign that stands here; empty at the end of the line.
    token: &'a str,
    /// Its place.
    span: Span,
    /// The line before it, without the blanks in between.
    before: &'a str,
    /// How many blanks stand between.
    gap: usize,
    /// The line from it on.
    after: &'a str,
}

/// The finding for a line that the grammar refused.
pub(super) fn explain(
    masked: &str,
    line: Line,
    rule: Rule,
    error: &Error<Rule>,
    findings: &Findings,
) -> Diagnostic {
    let offset = match error.location {
        InputLocation::Pos(place) | InputLocation::Span((place, _)) => place,
    };
    let at = (line.start + offset).min(line.end);
    let found = tokens(masked, at, line.end)
        .next()
        // A text stands here, which is no token: its quote is shown.
        .filter(|(place, _)| masked.get(at..*place).is_some_and(is_blank))
        .or_else(|| {
            masked
                .get(at..at + 1)
                .filter(|next| *next == "\"")
                .map(|next| (at, next))
        });
    let (start, token) = found.unwrap_or((line.end, ""));
    let expected = match &error.variant {
        ErrorVariant::ParsingError { positives, .. } => positives.as_slice(),
        // The parser's own guard of its stack; the reader's limit keeps it from being met.
        ErrorVariant::CustomError { .. } => {
            let place = findings.span(line.start, line.end);
            return Diagnostic::error(
                Code::LimitExceeded,
                place,
                "a line that is nested too deep to be read on this stack",
            )
            .with_help(limits::NESTING.to_string());
        }
    };
    let before = masked.get(line.start..start).unwrap_or("");
    let place = Place {
        rule,
        expected,
        token,
        span: findings.span(start, start + token.len()),
        before: before.trim_end(),
        gap: before.len() - before.trim_end().len(),
        after: masked.get(start..line.end).unwrap_or(""),
    };
    if let Some(finding) = slips::slip(&place) {
        return finding;
    }
    let what = if token.is_empty() {
        "the end of the line".to_owned()
    } else {
        format!("`{}`", short(token))
    };
    let message = format!("expected {}, found {what}", phrases(&place));
    with_help(Diagnostic::error(Code::Syntax, place.span, message), &place)
}

fn with_help(finding: Diagnostic, place: &Place<'_>) -> Diagnostic {
    // A short word is near to too many, and one of the language is no slip of the hand.
    let is_slip = place.token.len() > 2 && !RESERVED_WORDS.contains(&place.token);
    let meant = nearest(place.token, keywords_of(place.expected)).filter(|_| is_slip);
    if let Some(meant) = meant {
        return finding.with_help(format!("did you mean `{meant}`?"));
    }
    if RESERVED_WORDS.contains(&place.token) && place.expected.contains(&Rule::name) {
        return finding.with_help(format!(
            "`{}` is a word of the language and cannot be a name",
            place.token
        ));
    }
    match slips::help(place) {
        Some(help) => finding.with_help(help),
        None => finding,
    }
}

fn is_blank(text: &str) -> bool {
    text.trim().is_empty()
}
