//! What a replay came to, counted.

use std::collections::{BTreeMap, BTreeSet};

use super::compared::ChangedDecision;
use super::past::DecidingRow;
use super::{NotComparable, Replayed};

/// The most different changes of one decision that are counted apart.
const MOST_CHANGES_OF_A_DECISION: usize = 200;
/// The most pairs of rows that are counted.
const MOST_ROW_CHANGES: usize = 10_000;

/// Counts of a replay.
#[derive(Clone, Debug, Default)]
pub struct Summary {
    /// How many stay the same.
    pub same: u64,
    /// How many change.
    pub changed: u64,
    /// Why others cannot be compared, and how often.
    pub not_comparable: BTreeMap<Why, u64>,
    decisions: BTreeMap<String, OfDecision>,
    rows: BTreeMap<RowChange, u64>,
}

/// A reason without its details.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// The subject was erased.
    Erased,
    /// Other semantics.
    Semantics,
    /// The parts.
    Parts,
    /// Readings.
    Readings,
    /// Damaged.
    Damaged,
}

#[derive(Clone, Debug)]
struct OfDecision {
    recommendations: u64,
    changes: BTreeMap<(String, String), u64>,
    example: u64,
}

/// One row in the place of another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RowChange {
    /// The decision.
    pub decision: String,
    /// The row that decided.
    pub old: Option<DecidingRow>,
    /// The row that decides.
    pub new: Option<DecidingRow>,
}

/// How often a decision changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DecisionChange {
    /// The decision.
    pub name: String,
    /// For how many recommendations.
    pub recommendations: u64,
    /// The most frequent change.
    pub most_frequent: (String, String),
    /// The place of the first recommendation that changes.
    pub example: u64,
}

impl From<&NotComparable> for Why {
    fn from(why: &NotComparable) -> Why {
        match why {
            NotComparable::Erased => Why::Erased,
            NotComparable::Semantics(_) => Why::Semantics,
            NotComparable::Parts(_) => Why::Parts,
            NotComparable::Readings(_) => Why::Readings,
            NotComparable::Rules(_) | NotComparable::Damaged => Why::Damaged,
        }
    }
}

impl Summary {
    /// Counts the recommendation at a place.
    pub fn add(&mut self, position: u64, replayed: &Replayed) {
        match replayed {
            Replayed::Same => self.same += 1,
            Replayed::Changed(decisions) => {
                self.changed += 1;
                self.add_changes(position, decisions);
            }
            Replayed::NotComparable(why) => {
                *self.not_comparable.entry(why.into()).or_default() += 1;
            }
        }
    }

    fn add_changes(&mut self, position: u64, changed: &[ChangedDecision]) {
        let mut names = BTreeSet::new();
        for change in changed {
            let is_new = names.insert(change.name.as_str());
            let of = self.decisions.entry(change.name.clone());
            let of = of.or_insert_with(|| OfDecision {
                recommendations: 0,
                changes: BTreeMap::new(),
                example: position,
            });
            of.recommendations += u64::from(is_new);
            let pair = (change.old.outcome.clone(), change.new.outcome.clone());
            if of.changes.len() < MOST_CHANGES_OF_A_DECISION || of.changes.contains_key(&pair) {
                *of.changes.entry(pair).or_default() += 1;
            }
            let without = |rows: &[DecidingRow], others: &[DecidingRow]| {
                let is_other =
                    |row: &&DecidingRow| !others.iter().any(|other| other.text == row.text);
                rows.iter().find(is_other).cloned()
            };
            let rows = RowChange {
                decision: change.name.clone(),
                old: without(&change.old.rows, &change.new.rows),
                new: without(&change.new.rows, &change.old.rows),
            };
            let is_by_rows = rows.old.is_some() || rows.new.is_some();
            if is_by_rows && (self.rows.len() < MOST_ROW_CHANGES || self.rows.contains_key(&rows)) {
                *self.rows.entry(rows).or_default() += 1;
            }
        }
    }

    /// The decisions that change, the most frequent first; of as many, by name.
    pub fn decisions(&self) -> Vec<DecisionChange> {
        let mut all: Vec<DecisionChange> = self
            .decisions
            .iter()
            .map(|(name, of)| {
                let most = of.changes.iter().rev().max_by_key(|(_, count)| **count);
                DecisionChange {
                    name: name.clone(),
                    recommendations: of.recommendations,
                    most_frequent: most.map(|(pair, _)| pair.clone()).unwrap_or_default(),
                    example: of.example,
                }
            })
            .collect();
        all.sort_by(|one, other| {
            let by_count = other.recommendations.cmp(&one.recommendations);
            by_count.then_with(|| one.name.cmp(&other.name))
        });
        all
    }

    /// The rows that decide in the place of others, the most frequent first.
    pub fn rows(&self) -> Vec<(RowChange, u64)> {
        let rows = self.rows.iter().map(|(rows, count)| (rows.clone(), *count));
        let mut rows: Vec<(RowChange, u64)> = rows.collect();
        rows.sort_by(|(one, count), (other, more)| more.cmp(count).then_with(|| one.cmp(other)));
        rows
    }
}
