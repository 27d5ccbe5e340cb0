//! Diagnostics as data: one type for the terminal, JSON, the API and the editor.

mod terminal;

pub use terminal::render_for_terminal;

use crate::syntax::Span;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The ruleset is refused.
    Error,
    /// The ruleset works, something deserves a look.
    Warning,
    /// Good to know.
    Note,
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
    /// What to do, or what else is known: the right form, the nearest name, a witness.
    pub help: Vec<String>,
}

/// A place with what is to be said of it; the text may be empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// What is said there.
    pub text: String,
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
            help: Vec::new(),
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

    /// Adds a line of help.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }
}

macro_rules! codes {
    ($($(#[$meta:meta])* $name:ident = $text:literal,)+) => {
        /// The stable code of a finding. Codes are never reused.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code { $($(#[$meta])* $name,)+ }

        impl Code {
            /// Every code there is.
            pub const ALL: &'static [Code] = &[$(Code::$name,)+];

            /// The code as people quote it.
            pub fn text(self) -> &'static str {
                match self { $(Code::$name => $text,)+ }
            }
        }
    };
}

codes! {
    /// A limit of the reader is passed: file, folder, line, declaration, parentheses, findings.
    LimitExceeded = "L0001",
    /// Bytes that are not UTF-8, a NUL, or a pasted character such as U+2212.
    BadCharacter = "L0002",
    /// An indented line that belongs to no declaration, or a line that begins none.
    StrayLine = "L0003",
    /// A line that is not of the language.
    Syntax = "L0101",
    /// A form that is almost right, answered with the right one.
    NearMiss = "L0102",
    /// A literal that is not a number, date or unit.
    BadLiteral = "L0103",
    /// A line that a declaration may have once stands twice, or one that it needs is missing.
    ClauseCount = "L0104",
    /// No `ruleset` line, or two; or a ruleset it builds on that is not there.
    RulesetLine = "L0201",
    /// A name is declared twice.
    DeclaredTwice = "L0202",
    /// `replace` or `drop case` without anything below to replace.
    NothingToReplace = "L0203",
    /// A declaration of the contract is declared again, or what it reads is missing or different.
    Contract = "L0204",
    /// A name that is declared nowhere.
    UnknownName = "L0301",
    /// A name that means something else than this place needs.
    WrongKind = "L0302",
    /// Types or dimensions do not fit.
    TypeMismatch = "L0303",
    /// A quantity or count without the range that it must state, or a range the wrong way round.
    BadRange = "L0304",
    /// A model or table with another number of arguments or conditions.
    Arity = "L0305",
    /// Declarations that need each other in a circle.
    Cycle = "L0306",
    /// A name that is used outside the club or candidate it belongs to.
    OutOfScope = "L0307",
    /// Two rows match the same player.
    Overlap = "L0401",
    /// A player matches no row.
    Gap = "L0402",
    /// A table beyond the budget of the proof.
    TooManyCells = "L0403",
    /// A row that is never reached.
    UnreachableRow = "L0404",
    /// A row or value outside the declared range.
    OutsideRange = "L0405",
    /// A divisor that may be zero.
    MayDivideByZero = "L0406",
    /// A promise that is read and not proved yet.
    NotProvedYet = "L0501",
    /// A form of the language that this version reads and does not support yet.
    NotSupportedYet = "L0502",
    /// A declaration that nothing uses.
    Unused = "L0503",
    /// A case that does not come out as it expects.
    CaseFailed = "L0601",
}

impl std::fmt::Display for Code {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(self.text())
    }
}
