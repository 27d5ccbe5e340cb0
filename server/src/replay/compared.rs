//! A recorded recommendation held against an evaluation of today.

use std::collections::BTreeMap;

use loftwright_engine::explain::Brief;
use loftwright_engine::recommendation::{DecisionReport, Ending, ShownValue, StepReport};

use super::past::{DecidingRow, PastDecision};

/// A decision that comes to something else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChangedDecision {
    /// Its name.
    pub name: String,
    /// The club, empty where there is none.
    pub club: String,
    /// What it came to.
    pub old: Side,
    /// What it comes to.
    pub new: Side,
}

/// What a decision comes to, and by what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Side {
    /// The value, the part's code, or how it ends without.
    pub outcome: String,
    /// The rows that decide.
    pub rows: Vec<DecidingRow>,
}

/// How an ending is named in the interface, and how people are told of it.
pub(super) fn ending_words(ending: Ending) -> (&'static str, &'static str) {
    match ending {
        Ending::Decided => ("ENDING_DECIDED", "decided"),
        Ending::Needs => ("ENDING_NEEDS", "needs readings"),
        Ending::Blocked => ("ENDING_BLOCKED", "waits for another decision"),
        Ending::DoesNotApply => ("ENDING_DOES_NOT_APPLY", "does not apply"),
        Ending::Contradicted => ("ENDING_CONTRADICTED", "the readings contradict each other"),
        Ending::OutsideRange => ("ENDING_OUTSIDE_RANGE", "beyond a model's range"),
        Ending::Infeasible => ("ENDING_INFEASIBLE", "cannot be made"),
        Ending::Faulted => ("ENDING_FAULTED", "arithmetic without an answer"),
        Ending::Chosen => ("ENDING_CHOSEN", "chosen"),
        Ending::Ordered => ("ENDING_ORDERED", "to be ordered"),
        Ending::LeftOpen => ("ENDING_LEFT_OPEN", "left open"),
        Ending::NoneOnHand => ("ENDING_NONE_ON_HAND", "none on hand"),
    }
}

/// Whether a decision that ends so, as the interface names it, came to a part: then its text names
/// the piece.
pub(super) fn is_choice(ending: &str) -> bool {
    [Ending::Chosen, Ending::Ordered]
        .into_iter()
        .any(|choice| ending_words(choice).0 == ending)
}

const ENDINGS: [Ending; 12] = [
    Ending::Decided,
    Ending::Needs,
    Ending::Blocked,
    Ending::DoesNotApply,
    Ending::Contradicted,
    Ending::OutsideRange,
    Ending::Infeasible,
    Ending::Faulted,
    Ending::Chosen,
    Ending::Ordered,
    Ending::LeftOpen,
    Ending::NoneOnHand,
];

/// What stands for a decision that one of the two does not have.
const NOT_THERE: &str = "not there";

/// A decision of both.
type Pair<'p> = (Option<&'p PastDecision<'p>>, Option<&'p Brief<'p>>);

/// The decisions that come to something else; `reports` gives the reasons, where they are needed.
/// `None` where the record is of another form.
pub fn changed(
    past: &[PastDecision<'_>],
    now: &[Brief<'_>],
    reports: impl FnOnce() -> Vec<DecisionReport>,
) -> Option<Vec<ChangedDecision>> {
    let is_aligned = past.len() == now.len()
        && past.iter().zip(now).all(|(old, new)| {
            old.name == new.name && old.club == new.club.as_deref().unwrap_or("")
        });
    let pairs: Vec<Pair<'_>> = if is_aligned {
        let pairs = past.iter().zip(now);
        pairs
            .filter(|(old, new)| !is_same(old, new))
            .map(|(old, new)| (Some(old), Some(new)))
            .collect()
    } else {
        matched(past, now)
    };
    if pairs.is_empty() {
        return Some(Vec::new());
    }
    let reports = reports();
    pairs
        .into_iter()
        .map(|(old, new)| one(old, new, &reports))
        .collect()
}

/// The pairs that differ, by name and club, in their order.
fn matched<'p>(past: &'p [PastDecision<'_>], now: &'p [Brief<'_>]) -> Vec<Pair<'p>> {
    let mut left: BTreeMap<(&str, &str), &Brief<'_>> = now
        .iter()
        .map(|new| ((new.name, new.club.as_deref().unwrap_or("")), new))
        .collect();
    let mut pairs: Vec<Pair<'p>> = Vec::new();
    for old in past {
        match left.remove(&(old.name, old.club)) {
            Some(new) if is_same(old, new) => {}
            new => pairs.push((Some(old), new)),
        }
    }
    pairs.extend(left.into_values().map(|new| (None, Some(new))));
    pairs
}

fn is_same(old: &PastDecision<'_>, new: &Brief<'_>) -> bool {
    let ending = ending_words(new.ending).0;
    old.ending == ending
        && match (&old.value, &new.value) {
            (Some(old), Some(new)) => {
                // The unit in which a number is shown decides nothing; the piece of a part does.
                old.exact == new.exact && (!is_choice(ending) || old.text == new.text)
            }
            (None, None) => true,
            _ => false,
        }
}

fn one(
    old: Option<&PastDecision<'_>>,
    new: Option<&Brief<'_>>,
    reports: &[DecisionReport],
) -> Option<ChangedDecision> {
    let name = old.map(|old| old.name).or(new.map(|new| new.name))?;
    let club = old.map(|old| old.club);
    let club = club.or(new.map(|new| new.club.as_deref().unwrap_or("")))?;
    let report = reports
        .iter()
        .find(|report| report.name == name && report.club.as_deref().unwrap_or("") == club);
    let rows = report.map(|report| report.steps.iter().filter_map(row).collect());
    Some(ChangedDecision {
        name: name.to_owned(),
        club: club.to_owned(),
        old: Side {
            outcome: old.map_or_else(|| NOT_THERE.to_owned(), old_outcome),
            rows: old.map_or(Some(Vec::new()), PastDecision::rows)?,
        },
        new: Side {
            outcome: new.map_or_else(|| NOT_THERE.to_owned(), new_outcome),
            rows: new.and(rows).unwrap_or_default(),
        },
    })
}

fn old_outcome(old: &PastDecision<'_>) -> String {
    if let Some(value) = &old.value {
        return value.text.to_owned();
    }
    let words = ENDINGS.into_iter().map(ending_words);
    let mut words = words.filter(|(name, _)| *name == old.ending);
    words
        .next()
        .map_or(old.ending, |(_, words)| words)
        .to_owned()
}

fn new_outcome(new: &Brief<'_>) -> String {
    let text = |value: &ShownValue| value.text.clone();
    let words = || ending_words(new.ending).1.to_owned();
    new.value.as_ref().map_or_else(words, text)
}

fn row(step: &StepReport) -> Option<DecidingRow> {
    Some(DecidingRow {
        table: u32::try_from(step.table?).ok()?,
        row: step.row.and_then(|row| u32::try_from(row).ok()),
        text: step.rule.clone(),
        because: step.because.clone(),
    })
}
