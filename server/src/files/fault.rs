//! Faults of files, as data and as lines of text.

use std::cmp::Ordering;
use std::fmt;

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
    /// The key: `readings.wedge_attack_angle`, `stamped_loft`; empty where it is the whole file.
    pub key: String,
    /// A sentence in lower case: what is there, what is allowed.
    pub message: String,
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
    /// A key, column or file name that nobody knows.
    UnknownName,
    /// A value of another form: a list where a text is needed.
    WrongForm,
    /// A float of TOML; the text to write is in the message.
    Float,
    /// A value that the rules do not allow.
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
            key: String::new(),
            message: message.into(),
        }
    }

    /// The order in which people read faults: by file, line and key.
    pub(super) fn in_order(&self, other: &Self) -> Ordering {
        let of = |fault: &'_ Self| (fault.line, fault.key.clone());
        let by_file = self.file.cmp(&other.file);
        by_file.then_with(|| of(self).cmp(&of(other)))
    }

    /// The fault with its line.
    pub fn at_line(mut self, line: usize) -> Self {
        self.line = Some(line);
        self
    }

    /// The fault with its key.
    pub fn of_key(mut self, key: impl Into<String>) -> Self {
        self.key = key.into();
        self
    }
}

impl fmt::Display for FileFault {
    /// `players/one.toml:7: readings.tempo: …`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(formatter, ":{line}")?;
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
