//! What a leaf records.

use std::fmt;

/// The kinds of leaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LeafKind {
    /// A player was answered.
    Recommendation,
    /// What was really built, with what differs from the recommendation and why.
    BuildConfirmed,
    /// Rules were published.
    Published,
    /// Rules were put in force.
    Activated,
    /// A catalogue was published.
    Catalogue,
    /// The stock was changed.
    Stock,
    /// A key of the log was put in use or out of it.
    Key,
    /// Somebody was given a role, or lost one.
    Role,
    /// A setting of the house was changed.
    Setting,
    /// A subject's data was erased.
    Erasure,
    /// A person read a record.
    ReadByAPerson,
}

impl LeafKind {
    /// All of them.
    pub const ALL: [LeafKind; 11] = [
        LeafKind::Recommendation,
        LeafKind::BuildConfirmed,
        LeafKind::Published,
        LeafKind::Activated,
        LeafKind::Catalogue,
        LeafKind::Stock,
        LeafKind::Key,
        LeafKind::Role,
        LeafKind::Setting,
        LeafKind::Erasure,
        LeafKind::ReadByAPerson,
    ];

    /// The kind as a header names it.
    pub fn text(self) -> &'static str {
        match self {
            LeafKind::Recommendation => "recommendation",
            LeafKind::BuildConfirmed => "build confirmed",
            LeafKind::Published => "published",
            LeafKind::Activated => "activated",
            LeafKind::Catalogue => "catalogue",
            LeafKind::Stock => "stock",
            LeafKind::Key => "key",
            LeafKind::Role => "role",
            LeafKind::Setting => "setting",
            LeafKind::Erasure => "erasure",
            LeafKind::ReadByAPerson => "read by a person",
        }
    }

    /// The kind that a header names.
    pub fn of_text(text: &str) -> Option<Self> {
        LeafKind::ALL.into_iter().find(|kind| kind.text() == text)
    }

    /// Whether it is decided by rules: its header names them, and the parts.
    pub(super) fn is_by_rules(self) -> bool {
        matches!(self, LeafKind::Recommendation | LeafKind::BuildConfirmed)
    }

    /// Whether it is about rules: its header names them.
    pub(super) fn is_of_rules(self) -> bool {
        self.is_by_rules() || matches!(self, LeafKind::Published | LeafKind::Activated)
    }

    /// Whether its header names parts.
    pub(super) fn is_of_parts(self) -> bool {
        self.is_by_rules() || matches!(self, LeafKind::Catalogue | LeafKind::Stock)
    }

    /// Whether it is about a player: its header has the commitment to his pseudonym.
    pub(super) fn is_of_a_subject(self) -> bool {
        self.is_by_rules() || self == LeafKind::Erasure
    }
}

impl fmt::Display for LeafKind {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.text())
    }
}
