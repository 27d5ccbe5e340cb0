//! What two versions differ in, as data.

use serde::Serialize;

/// What two versions differ in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Comparison {
    /// The old version.
    pub old: Identity,
    /// The new one.
    pub new: Identity,
    /// Whether both decide alike: the digests of the meaning are the same.
    pub same_meaning: bool,
    /// Whether both read alike: the digests of the text are the same.
    pub same_text: bool,
    /// Every declaration that is not the same, by kind and name.
    pub changes: Vec<Change>,
}

/// What a version is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Identity {
    /// The ruleset's name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The digest of its meaning.
    pub meaning: String,
    /// The digest of its text.
    pub text: String,
}

/// One declaration that is not the same.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// Its kind: `input`, `decide`, `choose`, …
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// What happened to it.
    pub how: How,
    /// Its lines that differ.
    pub lines: Vec<LineChange>,
    /// Of a decision by rows: where the outcome differs, at most [`super::MOST_REGIONS_SHOWN`].
    pub regions: Vec<RegionChange>,
    /// How many regions more there are.
    pub more_regions: usize,
    /// Why the rows are listed as they are written and not compared region by region.
    pub not_by_regions: Option<String>,
    /// What has not changed itself and depends on it, directly or through others.
    pub dependents: Vec<String>,
}

/// What happened to a declaration.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Only the new version has it.
    Added,
    /// Only the old version has it.
    Removed,
    /// It decides otherwise.
    Changed,
    /// Only what people read is another.
    Reworded,
}

/// A line that is not the same. A line of which there may be several, such as `needs`, is either
/// old or new.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LineChange {
    /// What it says something of.
    pub what: &'static str,
    /// As the old version writes it.
    pub old: Option<String>,
    /// As the new version writes it.
    pub new: Option<String>,
}

/// A region of a decision's columns in which the outcome differs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RegionChange {
    /// What it asks of each column, in the words of rows. Columns that do not matter are left out;
    /// where none does, the region is everybody.
    pub conditions: Vec<Named>,
    /// A player who is there, in a sentence.
    pub player: String,
    /// The same as values: readings where they could be found, else the columns'.
    pub witness: Vec<Named>,
    /// Whether the witness are readings.
    pub witness_is_readings: bool,
    /// What the old version comes to.
    pub old: OutcomeSide,
    /// What the new one comes to.
    pub new: OutcomeSide,
}

/// A name and a text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Named {
    /// The column or reading.
    pub name: String,
    /// The condition or value.
    pub text: String,
}

/// What one version comes to in a region.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OutcomeSide {
    /// The outcome for people.
    pub outcome: String,
    /// The rows that decide, in the order of the tables.
    pub rows: Vec<RowSide>,
}

/// A row that decides.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RowSide {
    /// The table's number in the decision, from 1.
    pub table: usize,
    /// The row's number, from 1; `None` where `if unknown` decides.
    pub row: Option<usize>,
    /// As it is written.
    pub text: String,
    /// Why.
    pub because: Option<String>,
}
