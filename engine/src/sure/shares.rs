//! How many of the 64 plausible sets of readings give the same outcome, and which comes next.
//!
//! All uncertain readings move at once: point i of the set gives each reading its own deviation
//! ([`super::points`]), and readings of one strike a part of it in common ([`super::strikes`]).

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{InputId, Node, Value};
use loftwright_dsl::quantity::Rational;

use super::base::Base;
use super::outcome::Seen;
use super::places::Moving;
use super::points::{POINTS, deviation};
use super::strikes::{Strikes, shared};
use super::uncertain::Uncertain;
use super::workers::answered;
use crate::explain::View;
use crate::outcome::Place;

/// A number that takes more values than this among the 64 moves with the readings rather than
/// turning at some of them: it is told by its range.
const MOST_VALUES: usize = 12;

/// How sure one decision or choice of one club is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Share {
    /// How many of the 64 give the outcome that was given.
    pub(crate) same: usize,
    /// The most frequent of the others, as a person reads it, and how many give it; of equals the
    /// first in order of value.
    pub(crate) runner_up: Option<(String, usize)>,
    /// The lowest and the highest of the 64 numbers, where they differ as shown.
    pub(crate) range: Option<(String, String)>,
    /// Whether it moves with the readings, so that neither a share nor a runner-up says much.
    pub(crate) moves: bool,
}

/// The 64 plausible sets of readings: one value for each uncertain reading.
pub(crate) fn plausible(uncertain: &[Uncertain], strikes: &Strikes) -> Vec<Vec<(InputId, Value)>> {
    let set = |point: usize| {
        let moved = uncertain.iter().enumerate().map(|(column, reading)| {
            let own = deviation(point, column);
            let all = match strikes.of(reading.input) {
                Some(strike) => shared(own, deviation(point, uncertain.len() + strike)),
                None => own,
            };
            let value = reading.at(all).unwrap_or(reading.value);
            (reading.input, Value::Number(value))
        });
        moved.collect()
    };
    (0..POINTS).map(set).collect()
}

/// The share of every decision and choice that rests on one of the readings and is settled.
pub(crate) fn shares(
    view: &View<'_>,
    base: &Base,
    above: &BTreeSet<Node>,
    moving: &mut [Moving<'_>],
    plausible: &[Vec<(InputId, Value)>],
) -> BTreeMap<Place, Share> {
    let outcomes = answered(moving, plausible, |moving, readings| {
        moving.outcomes(base, readings, None)
    });
    let mut counts: BTreeMap<Place, BTreeMap<Seen, usize>> = BTreeMap::new();
    for outcomes in outcomes {
        for (place, seen) in outcomes {
            *counts.entry(place).or_default().entry(seen).or_default() += 1;
        }
    }
    let settled = base
        .settled()
        .filter(|(place, _)| above.contains(&place.node));
    settled
        .map(|(place, seen)| {
            let others = counts.remove(&place).unwrap_or_default();
            (place, share(view, base, place, seen, &others))
        })
        .collect()
}

fn share(
    view: &View<'_>,
    base: &Base,
    place: Place,
    given: &Seen,
    counts: &BTreeMap<Seen, usize>,
) -> Share {
    let mut others: Vec<(String, usize)> = Vec::new();
    let mut changed = 0;
    for (seen, count) in counts {
        if base.is_same(view, place, seen) {
            continue;
        }
        changed += count;
        let text = seen.text(view, place);
        match others.iter_mut().find(|(known, _)| *known == text) {
            Some((_, known)) => *known += count,
            None => others.push((text, *count)),
        }
    }
    let values = others.len() + 1;
    let moves = given.number().is_some() && values > MOST_VALUES;
    // Of equals the first: a stable comparison that only a larger count wins.
    let runner_up = others
        .into_iter()
        .reduce(|best, other| if other.1 > best.1 { other } else { best });
    Share {
        same: POINTS.saturating_sub(changed),
        runner_up: runner_up.filter(|_| !moves),
        range: range(view, place, given, counts, changed),
        moves,
    }
}

/// The lowest and the highest number of the 64.
fn range(
    view: &View<'_>,
    place: Place,
    given: &Seen,
    counts: &BTreeMap<Seen, usize>,
    changed: usize,
) -> Option<(String, String)> {
    let is_given = changed < POINTS;
    let numbers: BTreeSet<Rational> = counts
        .keys()
        .filter_map(Seen::number)
        .chain(given.number().filter(|_| is_given))
        .collect();
    let text = |number: &Rational| Seen::Value(Value::Number(*number)).text(view, place);
    given.number()?;
    let (low, high) = (text(numbers.first()?), text(numbers.last()?));
    (low != high).then_some((low, high))
}
