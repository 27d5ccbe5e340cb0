//! A fault of what was sent.

use std::fmt;

use super::MOST_FAULTS;

/// Something that was sent and cannot be taken.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// What kind of fault it is.
    pub kind: FaultKind,
    /// Where: `readings.wedge_attack_angle`, `kept[2].loft` (counted from 1),
    /// `heads.toml, record 3: stamped_loft`.
    pub field: String,
    /// What was sent, shortened where it is long; empty where something is missing.
    pub sent: String,
    /// A sentence: what was sent, what is allowed, the nearest right name or form.
    pub message: String,
    /// What was sent first, where the same stands twice: a path as that of the fault.
    pub first: Option<String>,
}

/// The kinds of faults of what was sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// A reading, field or kind of part that the rules do not declare.
    UnknownName,
    /// Something that must be there is not.
    Missing,
    /// A field of the stock in the catalogue, or the other way round.
    Misplaced,
    /// One thing stands there twice.
    Twice,
    /// A piece or count of a part that the catalogue does not have.
    UnknownPart,
    /// A record of the stock that is neither one piece nor a count, or both.
    PieceOrCount,
    /// A text from which no value of the type can be read.
    Unreadable,
    /// A word that the vocabulary does not have.
    UnknownWord,
    /// A value beyond the range of its declaration.
    OutOfRange,
    /// A list where a value is needed, or a value where a list is.
    WrongForm,
    /// More or longer than the limit.
    TooMany,
}

/// A text that is no value of what is expected: the kind of fault, and the sentence for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Misread {
    /// What kind of fault it is.
    pub(super) kind: FaultKind,
    /// The sentence.
    pub(super) message: String,
}

impl Misread {
    /// A text from which no value can be read.
    pub(super) fn new(message: String) -> Self {
        Misread {
            kind: FaultKind::Unreadable,
            message,
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}: {}", self.field, self.message)
    }
}

/// The first [`MOST_FAULTS`] faults, and how many more there are.
pub fn first_faults(mut faults: Vec<Fault>) -> (Vec<Fault>, usize) {
    let rest = faults.len().saturating_sub(MOST_FAULTS);
    faults.truncate(MOST_FAULTS);
    (faults, rest)
}

/// The faults so far.
#[derive(Debug, Default)]
pub(super) struct Faults(Vec<Fault>);

impl Faults {
    /// Notes a fault.
    pub(super) fn add(
        &mut self,
        kind: FaultKind,
        field: impl Into<String>,
        sent: &str,
        message: impl Into<String>,
    ) {
        self.0.push(Fault {
            kind,
            field: field.into(),
            sent: super::quote::shortened(sent),
            message: message.into(),
            first: None,
        });
    }

    /// Notes a text that cannot be read.
    pub(super) fn add_misread(&mut self, field: impl Into<String>, sent: &str, misread: Misread) {
        self.add(misread.kind, field, sent, misread.message);
    }

    /// Notes something that stands there twice, `first` being the path of what was sent first.
    pub(super) fn add_twice(
        &mut self,
        field: impl Into<String>,
        sent: &str,
        message: impl Into<String>,
        first: String,
    ) {
        self.add(FaultKind::Twice, field, sent, message);
        if let Some(fault) = self.0.last_mut() {
            fault.first = Some(first);
        }
    }

    /// What was read, if nothing was wrong.
    pub(super) fn or_read<T>(self, read: T) -> Result<T, Vec<Fault>> {
        if self.0.is_empty() {
            Ok(read)
        } else {
            Err(self.0)
        }
    }
}
