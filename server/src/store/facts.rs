//! What a list of records is drawn from: some facts of each leaf, kept beside it, so that a list
//! opens no body.
//!
//! All of it follows from leaf and body; it is there to be found quickly, and is never proved by.

use crate::audit::leaf::LeafKind;
use crate::audit::merkle::Hash;

use super::entry::KeptBody;

/// What a list says of an entry beyond its header.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct EntryFacts {
    /// The name of the ruleset.
    pub ruleset: Option<String>,
    /// How a recommendation came out. It is forgotten with the subject.
    pub outcome: Option<Outcome>,
    /// The place of the earlier record that this one speaks of: the one that was built, read or
    /// superseded.
    pub about: Option<u64>,
}

/// How a recommendation came out; of several that hold, the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Readings are missing.
    NeedsReadings,
    /// A limit is broken.
    LimitsBroken,
    /// A decision came to nothing, or a part is not on hand.
    Undecided,
    /// Everything is settled.
    Complete,
}

impl Outcome {
    /// All of them.
    pub const ALL: [Outcome; 4] = [
        Outcome::NeedsReadings,
        Outcome::LimitsBroken,
        Outcome::Undecided,
        Outcome::Complete,
    ];

    /// The outcome as it is kept and shown.
    pub fn text(self) -> &'static str {
        match self {
            Outcome::NeedsReadings => "needs readings",
            Outcome::LimitsBroken => "limits broken",
            Outcome::Undecided => "undecided",
            Outcome::Complete => "complete",
        }
    }

    /// The outcome of a text.
    pub fn of_text(text: &str) -> Option<Self> {
        Outcome::ALL
            .into_iter()
            .find(|outcome| outcome.text() == text)
    }
}

/// Which records a list has; what is left out is not asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListFilter {
    /// Of one of these kinds; of any where there are none.
    pub kinds: Vec<LeafKind>,
    /// Made at this instant or later, in milliseconds since 1970.
    pub first_instant_ms: Option<i64>,
    /// Made at this instant or earlier.
    pub last_instant_ms: Option<i64>,
    /// Of the ruleset of this name.
    pub ruleset: Option<String>,
    /// Of the revision whose source has this SHA-256.
    pub revision: Option<Hash>,
    /// That came out so; none of those whose subject was erased.
    pub outcome: Option<Outcome>,
}

/// A line of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// The place of the record.
    pub position: u64,
    /// When it was made, in milliseconds since 1970.
    pub instant_ms: i64,
    /// What it records.
    pub kind: LeafKind,
    /// Who did it.
    pub principal: String,
    /// The name of the ruleset.
    pub ruleset: Option<String>,
    /// The SHA-256 of the revision's source.
    pub revision: Option<Hash>,
    /// How a recommendation came out; absent once its subject is erased.
    pub outcome: Option<Outcome>,
    /// The place of the earlier record that it speaks of.
    pub about: Option<u64>,
    /// Whether its subject was erased, and with it the body.
    pub is_erased: bool,
}

/// A leaf with its body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptRecord {
    /// Its place.
    pub position: u64,
    /// The bytes of the leaf.
    pub leaf: Vec<u8>,
    /// What is there of the body.
    pub body: KeptBody,
}
