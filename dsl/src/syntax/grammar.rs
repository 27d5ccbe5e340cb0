//! The parser that pest derives from `rules.pest`.

/// Reads one line by one rule of `rules.pest`.
#[derive(pest_derive::Parser)]
#[grammar = "syntax/rules.pest"]
pub(super) struct Grammar;
