//! What a replay comes to, as messages.

use loftwright_proto::v1 as pb;

use crate::replay::compared::{ChangedDecision, Side};
use crate::replay::past::DecidingRow;
use crate::replay::summary::{Summary, Why};
use crate::replay::{NotComparable, Replayed};
use crate::rpc::refusal::Refusal;

/// The most decisions of a summary.
const MOST_DECISIONS: usize = 200;
/// The most row changes of a summary.
const MOST_ROWS: usize = 500;

/// A recommendation that was evaluated again.
pub(crate) fn record(reference: pb::RecordReference, replayed: &Replayed) -> pb::ReplayedRecord {
    let mut message = pb::ReplayedRecord {
        record: Some(reference),
        ..pb::ReplayedRecord::default()
    };
    let outcome = match replayed {
        Replayed::Same => pb::ReplayOutcome::Same,
        Replayed::Changed(changed) => {
            message.changed = changed.iter().map(decision).collect();
            pb::ReplayOutcome::Changed
        }
        Replayed::NotComparable(why) => {
            message.not_comparable = reason(why.into()).into();
            message.why = why_text(why);
            pb::ReplayOutcome::NotComparable
        }
    };
    message.outcome = outcome.into();
    message
}

fn why_text(why: &NotComparable) -> String {
    why.to_string()
}

fn reason(why: Why) -> pb::NotComparable {
    match why {
        Why::Erased => pb::NotComparable::Erased,
        Why::Semantics => pb::NotComparable::Semantics,
        Why::Parts => pb::NotComparable::Parts,
        Why::Readings => pb::NotComparable::Readings,
        Why::Damaged => pb::NotComparable::Damaged,
    }
}

fn decision(changed: &ChangedDecision) -> pb::ReplayedDecision {
    pb::ReplayedDecision {
        name: changed.name.clone(),
        club: changed.club.clone(),
        old: Some(side(&changed.old)),
        new: Some(side(&changed.new)),
    }
}

fn side(side: &Side) -> pb::ReplayedSide {
    pb::ReplayedSide {
        outcome: side.outcome.clone(),
        rows: side.rows.iter().map(row).collect(),
    }
}

fn row(row: &DecidingRow) -> pb::DecidingRow {
    pb::DecidingRow {
        table: row.table,
        row: row.row,
        text: row.text.clone(),
        because: row.because.clone(),
    }
}

/// The places of the records that a summary names.
pub(crate) fn examples(counts: &Summary) -> Vec<u64> {
    let decisions = counts.decisions().into_iter().take(MOST_DECISIONS);
    decisions.map(|change| change.example).collect()
}

/// The end of a replay; `reference` names the record at a place.
pub(crate) fn summary(
    counts: &Summary,
    reference: impl Fn(u64) -> Result<pb::RecordReference, Refusal>,
) -> Result<pb::ReplaySummary, Refusal> {
    let mut decisions = Vec::new();
    for change in counts.decisions().into_iter().take(MOST_DECISIONS) {
        let (old, new) = change.most_frequent;
        decisions.push(pb::DecisionChangeCount {
            name: change.name,
            recommendations: change.recommendations,
            old,
            new,
            example: Some(reference(change.example)?),
        });
    }
    let rows = counts.rows().into_iter().take(MOST_ROWS);
    let reasons = counts.not_comparable.iter();
    Ok(pb::ReplaySummary {
        same: counts.same,
        changed: counts.changed,
        not_comparable: counts.not_comparable.values().sum(),
        reasons: reasons
            .map(|(why, count)| pb::NotComparableCount {
                reason: reason(*why).into(),
                count: *count,
            })
            .collect(),
        decisions,
        rows: rows
            .map(|(change, count)| pb::RowChangeCount {
                decision: change.decision,
                old: change.old.as_ref().map(row),
                new: change.new.as_ref().map(row),
                count,
            })
            .collect(),
    })
}
