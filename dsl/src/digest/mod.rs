//! What identifies a program: two SHA-256 digests over a canonical encoding of our own.
//!
//! *Meaning* covers all that decides outcomes: types, ranges, defaults, spreads, rows, expressions,
//! the contract. *Text* covers what people read: titles, about, because, says, ask, sources, the
//! work at which a caution stands. Cases,
//! `formerly`, `shown in`, comments, layout, file names and the order of declarations are in
//! neither. Things refer to each other by name, and every kind is encoded in the order of names, so
//! that no place in an arena shows.

mod declaration;
mod encoder;
mod expression;
mod meaning;
mod text;

pub use declaration::{STANDS_ON_DIGITS, declaration_digests, stands_on_digits};

use encoder::Encoder;

use crate::program::{Decision, Digests, Expression, Program};

/// The version of the canonical encoding; part of what is hashed.
const ENCODING_VERSION: u64 = 2;

/// The same of what people read, which has grown since.
const TEXT_ENCODING_VERSION: u64 = 3;

/// Takes both digests.
pub(crate) fn digests(program: &Program) -> Digests {
    let mut meaning = Encoder::new("loftwright meaning", ENCODING_VERSION);
    meaning::encode(&mut meaning, program);
    let mut text = Encoder::new("loftwright text", TEXT_ENCODING_VERSION);
    text::encode(&mut text, program);
    Digests {
        meaning: meaning.finish(),
        text: text.finish(),
    }
}

/// The digest of an expression: the same for two that read alike once names are resolved.
pub(crate) fn of_expression(program: &Program, value: &Expression) -> String {
    let mut out = Encoder::new("loftwright expression", ENCODING_VERSION);
    expression::expression(&mut out, program, value);
    out.finish()
}

/// The digest of a decision alone: the same for two that decide alike as far as they say
/// themselves.
pub(crate) fn of_decision(program: &Program, decision: &Decision) -> String {
    let mut out = Encoder::new("loftwright decision", ENCODING_VERSION);
    meaning::encode_decision(&mut out, program, decision);
    out.finish()
}
