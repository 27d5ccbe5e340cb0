//! Slips that have a better answer than "expected …": `literal` knows those in numbers and units,
//! `sign` those with signs of other languages, `word` those with words.

mod literal;
mod sign;
mod word;

use super::Place;
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::Span;
use crate::syntax::reader::short;

pub(super) use word::help;

/// The finding for a slip that is known, or `None`.
pub(super) fn slip(place: &Place<'_>) -> Option<Diagnostic> {
    literal::slip(place)
        .or_else(|| sign::slip(place))
        .or_else(|| word::slip(place))
}

fn near_miss(span: Span, written: &str, right: &str) -> Diagnostic {
    Diagnostic::near_miss(span, &short(written), right)
}

fn bad_literal(span: Span, written: &str, what: &str) -> Diagnostic {
    Diagnostic::error(
        Code::BadLiteral,
        span,
        format!("`{}` is not a {what}", short(written)),
    )
}

fn translated(table: &[(&str, &'static str)], word: &str) -> Option<&'static str> {
    table
        .iter()
        .find(|(written, _)| *written == word)
        .map(|(_, right)| *right)
}

/// A span of `length` bytes from where the token at hand stands.
fn from_token(place: &Place<'_>, length: usize) -> Span {
    Span {
        end: place.span.start + length,
        ..place.span
    }
}
