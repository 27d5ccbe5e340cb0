//! The outline of a ruleset: its decision graph and its vocabulary, as data and as two pages.
//!
//! [`outline`] gathers from a checked program what people want to look up: every declaration with
//! its type, unit, range, question, source and layer, what it reads and what reads it, its rows
//! with their reasons. [`markdown`] writes it as a page to read, [`svg`] draws the graph. All of it
//! is in the order of evaluation or sorted by name, so that files and their order never show.

mod choose;
mod decide;
mod draw;
mod gather;
mod layers;
mod layout;
mod markdown;
mod place;
mod sections;
mod tables;
mod words;

use serde::Serialize;

pub use draw::svg;
pub use gather::outline;
pub use markdown::markdown;

/// The outline of a ruleset.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Outline {
    /// The ruleset's name.
    pub name: String,
    /// Its title for people.
    pub title: String,
    /// The layers, lowest first; the first is the engine's contract.
    pub layers: Vec<LayerFact>,
    /// SHA-256 of what decides outcomes.
    pub meaning_digest: String,
    /// SHA-256 of what people read.
    pub text_digest: String,
    /// Choices and scales, by name.
    pub vocabularies: Vec<VocabularyFact>,
    /// Kinds of catalogue records, by name.
    pub parts: Vec<PartFact>,
    /// What is decided, asked and computed, in the order of evaluation.
    pub nodes: Vec<NodeFact>,
    /// What must come out, by title.
    pub cases: Vec<CaseFact>,
}

/// A layer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LayerFact {
    /// `contract`, or the ruleset's name.
    pub name: String,
    /// Its title.
    pub title: String,
}

/// A closed vocabulary.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct VocabularyFact {
    /// The name.
    pub name: String,
    /// Whether the words have an order, lowest first.
    pub is_scale: bool,
    /// Whether half steps stand between them.
    pub in_halves: bool,
    /// The words.
    pub words: Vec<String>,
    /// The layer that declares it.
    pub layer: String,
}

/// A kind of catalogue record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PartFact {
    /// The name.
    pub name: String,
    /// The plural.
    pub plural: String,
    /// The layer that declares it.
    pub layer: String,
    /// Its fields in the order declared.
    pub fields: Vec<FieldFact>,
}

/// A field of a part or group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FieldFact {
    /// The name.
    pub name: String,
    /// The type's name.
    pub value_type: String,
    /// The range, as `8 deg through 12 deg`.
    pub range: Option<String>,
    /// Whether a record may leave it out.
    pub may_be_unknown: bool,
    /// Whether it is measured on the single piece.
    pub of_each_piece: bool,
}

/// The kinds of declarations in the graph.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NodeKind {
    /// A reading.
    Input,
    /// A named value.
    Let,
    /// A group of clubs.
    Group,
    /// A decision.
    Decision,
    /// A choice of parts.
    Choice,
    /// A limit.
    Limit,
    /// A caution.
    Caution,
}

impl NodeKind {
    /// Every kind.
    pub const ALL: [NodeKind; 7] = [
        NodeKind::Input,
        NodeKind::Let,
        NodeKind::Group,
        NodeKind::Decision,
        NodeKind::Choice,
        NodeKind::Limit,
        NodeKind::Caution,
    ];

    /// The word for people.
    pub fn word(self) -> &'static str {
        match self {
            NodeKind::Input => "input",
            NodeKind::Let => "let",
            NodeKind::Group => "group",
            NodeKind::Decision => "decision",
            NodeKind::Choice => "choice of a part",
            NodeKind::Limit => "limit",
            NodeKind::Caution => "caution",
        }
    }
}

/// A declaration of the graph.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NodeFact {
    /// The name.
    pub name: String,
    /// The kind.
    pub kind: NodeKind,
    /// The type's name; of a choice the part's; empty for groups, limits and cautions.
    pub value_type: String,
    /// The unit it is shown in, where it is measured.
    pub unit: Option<String>,
    /// The group it is evaluated for.
    pub for_each: Option<String>,
    /// The order along the bag, as `number, largest first`.
    pub in_order_of: Option<String>,
    /// The layer that declares it.
    pub layer: String,
    /// The layer whose declaration it replaced.
    pub replaces: Option<String>,
    /// What it is about.
    pub about: Option<String>,
    /// `common practice`, or the publication.
    pub source: Option<String>,
    /// When it applies, as it is written.
    pub only_when: Option<String>,
    /// What it reads, by name.
    pub reads: Vec<String>,
    /// What reads it, by name.
    pub read_by: Vec<String>,
    /// What it says besides.
    pub detail: Detail,
}

/// What the kinds of declarations say besides.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "of")]
pub enum Detail {
    /// Of a reading.
    Input(InputDetail),
    /// Of a named value: the expression as it is written.
    Let {
        /// The value.
        value: String,
    },
    /// Of a group.
    Group {
        /// How it is made, as it is written.
        made: String,
        /// Its own fields.
        fields: Vec<FieldFact>,
    },
    /// Of a decision: its parts in the order in which they are done.
    Decision {
        /// The parts.
        steps: Vec<StepFact>,
        /// What is promised of its values, as it is written; `tested` where it is not proved.
        promises: Vec<String>,
    },
    /// Of a choice of parts.
    Choice(ChoiceDetail),
    /// Of a limit or caution.
    Condition {
        /// The condition as it is written.
        condition: String,
        /// What it says.
        says: String,
        /// The first day on which it is in force, and the first on which it is no longer.
        in_force: Option<(String, Option<String>)>,
        /// Of a caution: the works of the bench at which it stands.
        at: Vec<String>,
    },
}

/// What a reading says besides.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct InputDetail {
    /// The question.
    pub ask: Option<String>,
    /// The range, or the words there are.
    pub range: Option<String>,
    /// The usual spread of one shot.
    pub spread: Option<String>,
    /// The strike that it is measured at.
    pub strike: Option<String>,
    /// What is assumed where it is not given.
    pub default: Option<String>,
    /// Whether it is personal, and of what kind.
    pub private: Option<String>,
    /// Earlier names.
    pub formerly: Vec<String>,
    /// Whether the engine fills it.
    pub filled_by_the_engine: bool,
}

/// A part of a decision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "step")]
pub enum StepFact {
    /// A value: `gives`, `first gives`, `kept gives`, …
    Gives {
        /// The verb with what stands before it.
        verb: String,
        /// The expression as it is written.
        value: String,
        /// Why.
        because: Option<String>,
    },
    /// Rows: `by`, `then by`, `next by`.
    Table(TableFact),
    /// A line such as `then rounded to 1/2 in`.
    Line {
        /// The line as it is written.
        text: String,
    },
}

/// A table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TableFact {
    /// `by`, `then by` or `next by`.
    pub opening: String,
    /// The columns as they are written.
    pub columns: Vec<String>,
    /// Whether the first row that fits decides; else no two may fit.
    pub is_first: bool,
    /// What happens where readings are missing.
    pub if_unknown: Option<String>,
    /// The rows.
    pub rows: Vec<RowFact>,
}

/// A row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RowFact {
    /// One condition a column; empty for `otherwise`.
    pub conditions: Vec<String>,
    /// What it does.
    pub result: String,
    /// Why.
    pub because: Option<String>,
}

/// What a choice of parts says besides.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChoiceDetail {
    /// The plural of the part it looks through.
    pub from: String,
    /// The list in each of whose records a part is tried.
    pub in_each_of_its: Option<String>,
    /// Whether it takes the piece out of the stock.
    pub takes_from_the_stock: bool,
    /// Whether all clubs share the stock by the assignment that costs least.
    pub together: bool,
    /// The choices that take before it.
    pub after: Vec<String>,
    /// Its lines in the order in which they count: `let`, `agrees on`, `needs`,
    /// `prefers`, `ties by`, rungs.
    pub lines: Vec<ChoiceLine>,
}

/// A line of a choice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChoiceLine {
    /// `let`, `agrees on`, `needs`, `prefers`, `ties by`, `if none on hand`.
    pub word: String,
    /// What it asks, as it is written.
    pub text: String,
    /// The weight of a preference.
    pub weight: Option<String>,
    /// When it is asked.
    pub when: Option<String>,
    /// Why, or what is said.
    pub because: Option<String>,
}

/// A case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CaseFact {
    /// The title.
    pub title: String,
    /// The layer that declares it.
    pub layer: String,
    /// What is given.
    pub given: Vec<String>,
    /// What must come out, as it is written.
    pub expect: Vec<String>,
}
