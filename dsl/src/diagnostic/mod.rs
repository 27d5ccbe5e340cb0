//! Diagnostics as data: one type for the terminal, JSON, the API and the editor.

mod code;
mod located;
mod terminal;

pub use code::Code;
pub use located::{Lines, Located, LocatedLabel, LocatedSpan, Locator, Place, Position, locate};
pub use terminal::{Layout, render_for_terminal, render_in_layout, render_short};

use serde::Serialize;

use crate::syntax::Span;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// The ruleset is refused.
    Error,
    /// The ruleset works, something deserves a look.
    Warning,
    /// Good to know.
    Note,
}

impl Severity {
    /// `error`, `warning` or `note`.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// The stable code, such as `L0301`.
    pub code: Code,
    /// How grave it is.
    pub severity: Severity,
    /// One sentence in lower case, the user's own text in backticks, no full stop.
    pub message: String,
    /// The place it speaks of first.
    pub primary: Label,
    /// Other places that belong to it.
    pub secondary: Vec<Label>,
    /// The values that do not go together, each with what it measures; mostly none.
    pub operands: Vec<Operand>,
    /// What to do, or what else is known: the right form, the nearest name.
    pub help: Vec<String>,
    /// A player who shows it, where one was found.
    pub witness: Option<Witness>,
}

/// A player who shows what is wrong with a table, to be confirmed by running him.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Witness {
    /// The decision.
    pub decision: String,
    /// The number of its table, from 0 (see [`crate::program::Decision::tables`]).
    pub table: usize,
    /// The rows, from 0, that match him; none for a gap.
    pub rows: Vec<usize>,
    /// His readings. Any other is not given.
    pub given: Vec<WitnessReading>,
}

/// A reading of a witness.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct WitnessReading {
    /// The input's name.
    pub input: String,
    /// A literal or word that reads back exactly.
    pub value: String,
}

/// A place with what is to be said of it; the text may be empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// What is said there.
    pub text: String,
}

/// A value with what it measures, to be shown under the one that it does not go with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Operand {
    /// The value as it is written, or what is wanted there.
    pub text: String,
    /// Its type or dimension by name.
    pub measures: String,
}

impl Diagnostic {
    /// An error at `span`.
    pub fn error(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, span, message)
    }

    /// A warning at `span`.
    pub fn warning(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, span, message)
    }

    /// A note at `span`.
    pub fn note(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Note, code, span, message)
    }

    /// A form that is almost right, answered with the right one.
    pub fn near_miss(span: Span, written: &str, right: &str) -> Self {
        let message = format!("`{written}` is not how the language says it");
        Self::error(Code::NearMiss, span, message).with_help(format!("write `{right}`"))
    }

    fn new(severity: Severity, code: Code, span: Span, message: impl Into<String>) -> Self {
        Diagnostic {
            code,
            severity,
            message: message.into(),
            primary: Label {
                span,
                text: String::new(),
            },
            secondary: Vec::new(),
            operands: Vec::new(),
            help: Vec::new(),
            witness: None,
        }
    }

    /// Says something at the first place.
    #[must_use]
    pub fn labelled(mut self, text: impl Into<String>) -> Self {
        self.primary.text = text.into();
        self
    }

    /// Adds another place.
    #[must_use]
    pub fn also_at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.secondary.push(Label {
            span,
            text: text.into(),
        });
        self
    }

    /// Adds a value with what it measures.
    #[must_use]
    pub fn with_operand(mut self, text: impl Into<String>, measures: impl Into<String>) -> Self {
        self.operands.push(Operand {
            text: text.into(),
            measures: measures.into(),
        });
        self
    }

    /// Adds a line of help.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }
}
