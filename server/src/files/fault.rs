//! Faults of files, as data and as lines of text.

use std::cmp::Ordering;
use std::fmt;
use std::ops::Range;

use loftwright_dsl::diagnostic::Code;
use loftwright_engine::intake::FaultKind;

use super::limits::MOST_FAULTS_SHOWN;

/// Something in a file, or about it, that cannot be taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileFault {
    /// What kind of fault it is.
    pub kind: FileFaultKind,
    /// The file or folder as it is shown to people.
    pub file: String,
    /// The line, counted from 1.
    pub line: Option<usize>,
    /// The column, counted from 1 in characters, where it is known.
    pub column: Option<usize>,
    /// The bytes of the file's text that it is about, where they are known. Boxed, since every
    /// result that may be a fault is as large as one.
    pub marked: Option<Box<Marked>>,
    /// The key: `readings.wedge_attack_angle`, `stamped_loft`; empty where it is the whole file.
    pub key: String,
    /// A sentence in lower case: what is there, what is allowed.
    pub message: String,
}

/// The bytes of a file's text that a fault is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marked {
    /// What it is about.
    pub span: Range<usize>,
    /// Where the same stands first, of something that stands there twice.
    pub first: Option<Range<usize>>,
}

/// The kinds of faults.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileFaultKind {
    /// There is no such file, folder or built-in.
    NotFound,
    /// The system does not let us read it (rights, a loop of links).
    CannotBeRead,
    /// The system does not let us write it.
    CannotBeWritten,
    /// A folder where a file is needed, a file where a folder is, or a device.
    WrongSort,
    /// It is larger than the limit.
    TooLarge,
    /// There are more of them than the limit.
    TooMany,
    /// It is not UTF-8.
    NotText,
    /// It is not TOML, or not CSV.
    Syntax,
    /// A key or column that nobody knows.
    UnknownName,
    /// A file whose name says of nothing that is known what it holds.
    FileName,
    /// A row of CSV with more or fewer cells than there are columns.
    RowLength,
    /// Something that must be there is not.
    Missing,
    /// A field of the stock in the catalogue, or the other way round.
    Misplaced,
    /// A piece of a part that the catalogue does not have.
    UnknownPart,
    /// A record of the stock that is neither a piece nor a count, or both.
    PieceOrCount,
    /// A value beyond its range.
    OutOfRange,
    /// A word that the vocabulary does not have.
    UnknownWord,
    /// A value of another form: a list where a text is needed.
    WrongForm,
    /// A float of TOML; the text to write is in the message.
    Float,
    /// A text from which no value can be read.
    Value,
    /// Two files, tables or columns for one thing.
    Twice,
    /// A folder of rules without rules.
    NoRules,
    /// A ruleset that is neither beside the one that builds on it nor built in.
    NoSuchRuleset,
    /// Rulesets that build on each other in a circle.
    Circle,
}

impl FileFaultKind {
    /// The stable code of the finding, where it is about a file of catalogue or stock.
    pub fn code_of_parts(self) -> Option<Code> {
        Some(match self {
            FileFaultKind::TooLarge | FileFaultKind::TooMany => Code::PartsLimit,
            FileFaultKind::Syntax => Code::PartsSyntax,
            FileFaultKind::RowLength => Code::RowLength,
            FileFaultKind::FileName => Code::PartsFileName,
            FileFaultKind::UnknownName => Code::UnknownField,
            FileFaultKind::Missing => Code::MissingField,
            FileFaultKind::Misplaced => Code::MisplacedField,
            FileFaultKind::Twice => Code::RecordedTwice,
            FileFaultKind::UnknownPart => Code::UnknownPart,
            FileFaultKind::PieceOrCount => Code::PieceOrCount,
            FileFaultKind::Value => Code::UnreadableValue,
            FileFaultKind::OutOfRange => Code::ValueOutOfRange,
            FileFaultKind::UnknownWord => Code::UnknownWord,
            FileFaultKind::Float => Code::FloatOfToml,
            FileFaultKind::WrongForm => Code::ListOrValue,
            FileFaultKind::NotFound
            | FileFaultKind::CannotBeRead
            | FileFaultKind::CannotBeWritten
            | FileFaultKind::WrongSort
            | FileFaultKind::NotText
            | FileFaultKind::NoRules
            | FileFaultKind::NoSuchRuleset
            | FileFaultKind::Circle => return None,
        })
    }
}

impl From<FaultKind> for FileFaultKind {
    fn from(kind: FaultKind) -> Self {
        match kind {
            FaultKind::UnknownName => FileFaultKind::UnknownName,
            FaultKind::Missing => FileFaultKind::Missing,
            FaultKind::Misplaced => FileFaultKind::Misplaced,
            FaultKind::Twice => FileFaultKind::Twice,
            FaultKind::UnknownPart => FileFaultKind::UnknownPart,
            FaultKind::PieceOrCount => FileFaultKind::PieceOrCount,
            FaultKind::Unreadable => FileFaultKind::Value,
            FaultKind::UnknownWord => FileFaultKind::UnknownWord,
            FaultKind::OutOfRange => FileFaultKind::OutOfRange,
            FaultKind::WrongForm => FileFaultKind::WrongForm,
            FaultKind::TooMany => FileFaultKind::TooMany,
        }
    }
}

impl FileFault {
    /// A fault of a whole file or folder.
    pub fn of_file(
        kind: FileFaultKind,
        file: impl Into<String>,
        message: impl Into<String>,
    ) -> Self {
        FileFault {
            kind,
            file: file.into(),
            line: None,
            column: None,
            marked: None,
            key: String::new(),
            message: message.into(),
        }
    }

    /// The order in which people read faults: by file, line and key.
    pub(super) fn in_order(&self, other: &Self) -> Ordering {
        let of = |fault: &'_ Self| (fault.line, fault.column, fault.key.clone());
        let by_file = self.file.cmp(&other.file);
        by_file.then_with(|| of(self).cmp(&of(other)))
    }

    /// The fault with its line.
    pub fn at_line(mut self, line: usize) -> Self {
        self.line = Some(line);
        self
    }

    /// The fault with the bytes that it is about.
    pub(super) fn at(mut self, span: Range<usize>) -> Self {
        self.marked = Some(Box::new(Marked { span, first: None }));
        self
    }

    /// The fault with its key.
    pub fn of_key(mut self, key: impl Into<String>) -> Self {
        self.key = key.into();
        self
    }
}

impl fmt::Display for FileFault {
    /// `players/one.toml:7: readings.tempo: …`, `stock/heads.csv:7:12: part: …`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(formatter, ":{line}")?;
            if let Some(column) = self.column {
                write!(formatter, ":{column}")?;
            }
        }
        if !self.key.is_empty() {
            write!(formatter, ": {}", self.key)?;
        }
        write!(formatter, ": {}", self.message)
    }
}

impl std::error::Error for FileFault {}

/// The faults as lines of text, the first [`MOST_FAULTS_SHOWN`] of them with the number of the
/// rest.
pub fn report(faults: &[FileFault]) -> Vec<String> {
    let mut lines: Vec<_> = faults
        .iter()
        .take(MOST_FAULTS_SHOWN)
        .map(FileFault::to_string)
        .collect();
    let rest = faults.len().saturating_sub(MOST_FAULTS_SHOWN);
    if rest > 0 {
        let noun = if rest == 1 { "fault" } else { "faults" };
        lines.push(format!("and {rest} more {noun}"));
    }
    lines
}
