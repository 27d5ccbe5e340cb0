//! Why a line cannot be read, in the trade's words.

use pest::error::{Error, ErrorVariant, InputLocation};

use super::findings::Findings;
use super::grammar::Rule;
use super::keyword::{RESERVED_WORDS, keyword_text};
use super::nearest::nearest;
use super::reader::{Line, short, tokens};
use crate::diagnostic::{Code, Diagnostic};

/// The finding for a line that the grammar refused.
pub(super) fn explain(
    masked: &str,
    line: Line,
    error: &Error<Rule>,
    findings: &Findings,
) -> Diagnostic {
    let offset = match error.location {
        InputLocation::Pos(place) | InputLocation::Span((place, _)) => place,
    };
    let at = line.start + offset;
    let found = tokens(masked, at, line.end).next();
    let expected = match &error.variant {
        ErrorVariant::ParsingError { positives, .. } => positives.as_slice(),
        ErrorVariant::CustomError { .. } => &[],
    };
    let (span, what) = match found {
        Some((place, token)) => (
            findings.span(place, place + token.len()),
            format!("`{}`", short(token)),
        ),
        None => (
            findings.span(line.end, line.end),
            "the end of the line".to_owned(),
        ),
    };
    let finding = Diagnostic::error(
        Code::Syntax,
        span,
        format!("expected {}, found {what}", phrases(expected)),
    );
    let word = found.map_or("", |(_, token)| token);
    if RESERVED_WORDS.contains(&word) && expected.contains(&Rule::name) {
        return finding.with_help(format!(
            "`{word}` is a word of the language and cannot be a name"
        ));
    }
    let keywords = expected.iter().filter_map(|rule| keyword_text(*rule));
    match nearest(word, keywords) {
        Some(meant) => finding.with_help(format!("did you mean `{meant}`?")),
        None => finding,
    }
}

fn phrases(expected: &[Rule]) -> String {
    let mut phrases: Vec<String> = Vec::new();
    for rule in expected {
        let phrase = match keyword_text(*rule) {
            Some(text) => format!("`{text}`"),
            None => format!("{rule:?}"),
        };
        if !phrases.contains(&phrase) {
            phrases.push(phrase);
        }
    }
    phrases.join(", ")
}
