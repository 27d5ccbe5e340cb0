//! What the trace keeps of the candidates that were not taken.

use std::cmp::Ordering;

use loftwright_dsl::program::ExpressionKind;
use loftwright_dsl::quantity::Rational;

use super::candidate::Candidate;
use super::needs::Line;
use super::prefers::Scores;
use crate::evaluate::algebra::number;
use crate::evaluate::expression::{Asker, At};
use crate::evaluate::operators;
use crate::outcome::State;
use crate::trace::{FailedGroup, RunnerUp, Selection, TraceSink};

/// How many of the others are kept, best first.
const MOST_RUNNERS_UP: usize = 5;

impl<S: TraceSink> Asker<'_, S> {
    /// Notes a candidate that failed a line first.
    pub(super) fn note_failed(
        &mut self,
        line: &Line<'_>,
        candidate: &Candidate<'_>,
        at: At<'_>,
        selection: &mut Selection,
    ) {
        let miss = self.miss(
            line,
            At {
                candidate: Some(candidate),
                ..at
            },
        );
        let nearest = miss.map(|miss| (candidate.part, candidate.piece, candidate.setting, miss));
        let groups = &mut selection.failed;
        let place = match groups.binary_search_by_key(&line.index, |group| group.needs) {
            Ok(place) => place,
            Err(place) => {
                let new = FailedGroup {
                    needs: line.index,
                    count: 0,
                    nearest: None,
                };
                groups.insert(place, new);
                place
            }
        };
        let Some(group) = groups.get_mut(place) else {
            return;
        };
        group.count += 1;
        let is_nearer = match (&nearest, &group.nearest) {
            (Some(new), Some(known)) => new.3 < known.3,
            (new, known) => new.is_some() && known.is_none(),
        };
        if is_nearer {
            group.nearest = nearest;
        }
    }

    /// By how much a line is missed, where it compares numbers.
    fn miss(&mut self, line: &Line<'_>, at: At<'_>) -> Option<Rational> {
        let (left, right, tolerance) = match &line.needs.condition.kind {
            ExpressionKind::Within {
                subject,
                tolerance,
                of,
            } => (subject, of, Some(tolerance)),
            ExpressionKind::Order { left, right, .. } => (left, right, None),
            ExpressionKind::Is {
                negated: false,
                left,
                right,
            } => (left, right, None),
            _ => return None,
        };
        if !left.value_type.is_numeric() {
            return None;
        }
        let (State::Known(at_hand), State::Known(wanted)) =
            (self.ask(left, at).ok()?, self.ask(right, at).ok()?)
        else {
            return None;
        };
        let distance = operators::difference(left.value_type, &at_hand, &wanted)
            .ok()?
            .size();
        let Some(tolerance) = tolerance else {
            return Some(distance);
        };
        match self.ask(tolerance, at).ok()? {
            State::Known(tolerance) => distance.minus(number(&tolerance).ok()?).ok(),
            _ => None,
        }
    }
}

/// Notes the scores of the candidate that is taken and the best of the others, in this order.
pub(super) fn note_scores(
    candidates: &[Candidate<'_>],
    scores: &Scores,
    taken: usize,
    order: impl Fn(&usize, &usize) -> Ordering,
    selection: &mut Selection,
) {
    selection.scores = scores
        .lines
        .iter()
        .map(|line| line.as_ref().and_then(|line| line.get(taken).copied()))
        .collect();
    note_others(candidates, scores, Some(taken), order, selection);
}

/// Notes the best of the candidates that are not taken, in this order.
pub(super) fn note_others(
    candidates: &[Candidate<'_>],
    scores: &Scores,
    taken: Option<usize>,
    order: impl Fn(&usize, &usize) -> Ordering,
    selection: &mut Selection,
) {
    let mut others: Vec<usize> = (0..candidates.len())
        .filter(|index| Some(*index) != taken)
        .collect();
    others.sort_by(order);
    let runner_up = |index: usize| {
        let candidate = candidates.get(index)?;
        Some(RunnerUp {
            part: candidate.part,
            piece: candidate.piece,
            setting: candidate.setting,
            total: *scores.totals.get(index)?,
            taken_for: None,
        })
    };
    selection.runners_up = others
        .into_iter()
        .take(MOST_RUNNERS_UP)
        .filter_map(runner_up)
        .collect();
}
