//! How sure: shares, the nearest change, the next reading.

use loftwright_engine::recommendation::{
    NearestChange, NextReading, OutcomeCount, OutcomeRange, ReadingState, SettlesBetween, Sureness,
};
use loftwright_proto::v1 as pb;

pub(super) fn sureness(sureness: &Sureness) -> pb::Sureness {
    pb::Sureness {
        same: count(sureness.same),
        of: count(sureness.of),
        runner_up: sureness.runner_up.as_ref().map(outcome_count),
        range: sureness.range.as_ref().map(range),
        moves_with_readings: sureness.moves,
        nearest_change: sureness.nearest_change.as_ref().map(nearest_change),
    }
}

fn outcome_count(counted: &OutcomeCount) -> pb::OutcomeCount {
    pb::OutcomeCount {
        outcome: counted.text.clone(),
        count: count(counted.count),
    }
}

fn range(range: &OutcomeRange) -> pb::OutcomeRange {
    pb::OutcomeRange {
        lowest: range.lowest.clone(),
        highest: range.highest.clone(),
    }
}

fn nearest_change(change: &NearestChange) -> pb::NearestChange {
    pb::NearestChange {
        input: change.input.clone(),
        reading: change.reading.clone(),
        distance_in_spreads: change.spreads.clone(),
        outcome: change.outcome.clone(),
    }
}

pub(super) fn next_reading(next: &NextReading) -> pb::NextReading {
    let state = match next.state {
        ReadingState::Missing => pb::ReadingState::Missing,
        ReadingState::Assumed => pb::ReadingState::Assumed,
        ReadingState::Uncertain => pb::ReadingState::Uncertain,
    };
    pb::NextReading {
        input: next.input.clone(),
        question: next.ask.clone(),
        state: state.into(),
        decisions: next.decisions.clone(),
        outcomes: count(next.outcomes),
        settles: next
            .settles
            .map(|SettlesBetween { least, most }| pb::SettledCount {
                least: count(least),
                most: count(most),
            }),
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
