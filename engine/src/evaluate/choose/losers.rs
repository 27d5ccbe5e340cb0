//! What the trace keeps of the candidates that were not taken.

use std::cmp::Ordering;

use loftwright_dsl::program::ExpressionKind;
use loftwright_dsl::quantity::Rational;

use super::candidate::Candidate;
use super::first::first_in_order;
use super::needs::Line;
use super::on_shelf::OnShelf;
use super::settled::Nearer;
use super::sieve::{Asked, Sieve};
use crate::evaluate::algebra::number;
use crate::evaluate::expression::{Asker, At};
use crate::evaluate::operators;
use crate::outcome::State;
use crate::places::Places;
use crate::shelf::{Column, Spot, Standing};
use crate::trace::{FailedGroup, RunnerUp, Selection, TraceSink};

/// How many of the others are kept, best first.
const MOST_RUNNERS_UP: usize = 5;

/// The part's index, the piece's, the setting's, and by how much it misses a line.
type Miss = (usize, Option<usize>, Option<usize>, Rational);

/// Notes those at these places that fail at a whole shelf, by the line that each fails first.
pub(super) fn note_failed_on_shelf(
    on_shelf: OnShelf<'_>,
    sieve: &Sieve<'_>,
    lines: &[Line<'_>],
    places: &Places,
    selection: &mut Selection,
) {
    for (line, answered) in lines.iter().zip(&sieve.answered) {
        let failed = answered.failed.both(places);
        if failed.is_empty() {
            continue;
        }
        let value = line.of_shelf.as_ref().map(|of_shelf| of_shelf.value);
        let column = value.and_then(|value| on_shelf.column(value));
        let misses = answered.asked.iter().filter_map(|asked| {
            let is_here = |place| failed.has(place) && asked.places.has(place);
            let (miss, place) = nearest(asked, column?, is_here)?;
            let Spot { item, setting } = on_shelf.shelf.spot(place)?;
            Some((item.part, item.piece, setting, miss))
        });
        let nearest = misses.min_by_key(|miss| in_order(*miss));
        count_failed(line, failed.count(), nearest, selection);
    }
}

/// The nearest miss of a line that compares numbers, with its place, the first of several.
fn nearest(
    asked: &Asked<'_>,
    column: &Column,
    failed: impl Fn(usize) -> bool,
) -> Option<(Rational, usize)> {
    let aim = asked.settled.aim.as_ref()?;
    let first = |standing: Standing<'_>| {
        let place = standing.places.iter().find(|place| failed(**place))?;
        Some((aim.miss(standing.value)?, *place))
    };
    // On either side the misses only grow.
    let (mut below, mut above) = column.failing(asked.passing.as_ref()?);
    let nearest = [below.find_map(first), above.find_map(first)];
    nearest.into_iter().flatten().min()
}

/// The nearest miss comes first; of several, the first candidate.
fn in_order((part, piece, setting, miss): Miss) -> impl Ord {
    (miss, part, piece, setting)
}

/// Counts so many that fail a line first.
fn count_failed(line: &Line<'_>, count: usize, nearest: Option<Miss>, selection: &mut Selection) {
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
    group.count += count;
    let is_nearer = match (nearest, group.nearest) {
        (Some(new), Some(known)) => in_order(new) < in_order(known),
        (new, known) => new.is_some() && known.is_none(),
    };
    if is_nearer {
        group.nearest = nearest;
    }
}

impl<S: TraceSink> Asker<'_, S> {
    /// Notes a candidate that failed a line first, of those that come in order; `nearer` is kept
    /// from one to the next that fails the line.
    pub(super) fn note_failed(
        &mut self,
        line: &Line<'_>,
        candidate: &Candidate<'_>,
        nearer: &mut Option<Nearer>,
        at: At<'_>,
        selection: &mut Selection,
    ) {
        let settled = line.settled.as_ref();
        let known =
            settled.and_then(|settled| Some((settled, self.known_of(candidate, settled.value)?)));
        let miss = match known {
            Some((_, value)) if nearer.as_ref().is_some_and(|nearer| !nearer.has(value)) => None,
            Some((settled, value)) => settled.aim.as_ref().and_then(|aim| {
                *nearer = aim.nearer_than(value);
                aim.miss(value)
            }),
            None => self.miss(
                line,
                At {
                    candidate: Some(candidate),
                    ..at
                },
            ),
        };
        let nearest = miss.map(|miss| (candidate.part, candidate.piece, candidate.setting, miss));
        count_failed(line, 1, nearest, selection);
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

/// Notes the best of the candidates that are not taken, in this order.
pub(super) fn note_others(
    candidates: &[Candidate<'_>],
    totals: &[Rational],
    taken: Option<usize>,
    order: impl Fn(&usize, &usize) -> Ordering,
    selection: &mut Selection,
) {
    let others = (0..candidates.len()).filter(|index| Some(*index) != taken);
    let others = first_in_order(others, MOST_RUNNERS_UP, order);
    let runner_up = |index: usize| {
        let candidate = candidates.get(index)?;
        Some(RunnerUp {
            part: candidate.part,
            piece: candidate.piece,
            setting: candidate.setting,
            total: *totals.get(index)?,
            taken_for: None,
        })
    };
    selection.runners_up = others.into_iter().filter_map(runner_up).collect();
}
