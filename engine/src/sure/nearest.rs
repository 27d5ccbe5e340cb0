//! The nearest change of each decision: which single reading, moved by how little, turns it.
//!
//! One reading moves at a time, a spread of its mean after the other, up to three to either side.
//! Where two neighbours differ, the change between them is narrowed down: first by the bounds of
//! tables with a column that is affine in the reading, which are known exactly, with a hair to
//! either side; then by bisection to a hundredth of a spread. All readings together may take so
//! many evaluations for that as the shares take; where they are used up the value further out is
//! told. A change is only told where the decision was evaluated with the reading there and came out
//! otherwise. Only what the 64 plausible sets turn is looked for, and a decision may turn and turn
//! back between two values of the scan: so *none found*, never *none exists*.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Interval, Program, ValueSet};
use loftwright_dsl::quantity::{Rational, Rounding};

use super::affine::AffineForms;
use super::along::{Along, SCANNED_SPREADS};
use super::outcome::Seen;
use super::places::Moving;
use super::uncertain::Uncertain;
use crate::outcome::Place;

/// So many evaluations narrowing down may take for all readings together, and at least so many for
/// each.
const MOST_EVALUATIONS: usize = 64;
const LEAST_EVALUATIONS: usize = 6;

/// A change that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Change {
    /// The place of the reading among the uncertain ones.
    pub(crate) reading: usize,
    /// Where it turns: the bound itself where that is known, else the first value found behind it.
    pub(crate) value: Rational,
    /// How far that is, in spreads of the mean, squared.
    pub(crate) squared: Rational,
    /// What it turns to.
    pub(crate) seen: Seen,
}

/// The bounds of all tables over columns that are affine in the reading, as readings.
pub(crate) fn exact_bounds(
    program: &Program,
    forms: &mut AffineForms<'_>,
    reading: &Uncertain,
) -> BTreeSet<Rational> {
    let mut bounds = BTreeSet::new();
    for decision in program.decisions.iter() {
        for table in decision.tables() {
            for (index, column) in table.columns.iter().enumerate() {
                let Some(line) = forms.slanted(&column.value) else {
                    continue;
                };
                if line.input != reading.input {
                    continue;
                }
                let conditions = table
                    .rows
                    .iter()
                    .filter_map(|row| row.conditions.get(index));
                let ends = conditions.flat_map(|condition| ends_of(&condition.values));
                bounds.extend(ends.filter_map(|end| line.reading_at(end)));
            }
        }
    }
    bounds
}

fn ends_of(values: &ValueSet) -> Vec<Rational> {
    let ValueSet::Intervals(intervals) = values else {
        return Vec::new();
    };
    let ends = |interval: &Interval| [interval.low, interval.high];
    let ends = intervals.iter().flat_map(ends).flatten();
    ends.map(|bound| bound.value).collect()
}

/// The nearest change of every place along one reading: its number among the uncertain ones, and
/// how many of them are looked at.
pub(crate) fn changes_along(
    along: &mut Along<'_, '_>,
    moving: &mut Moving<'_>,
    (number, readings): (usize, usize),
    bounds: &BTreeSet<Rational>,
    is_wanted: &dyn Fn(Place) -> bool,
) -> BTreeMap<Place, Change> {
    let Some(step) = step_of(along.reading) else {
        return BTreeMap::new();
    };
    let mut search = Search {
        along,
        moving,
        number,
        bounds,
        step,
        left: (MOST_EVALUATIONS / readings.max(1)).max(LEAST_EVALUATIONS),
        found: BTreeMap::new(),
    };
    for is_upward in [true, false] {
        search.side(is_upward, is_wanted);
    }
    search.found
}

/// The finest step that is looked at: ten of the grid, a hundredth of a spread.
fn step_of(reading: &Uncertain) -> Option<Rational> {
    if reading.is_count() {
        return Some(Rational::ONE);
    }
    reading.step()?.times(Rational::whole(10)).ok()
}

struct Search<'s, 'v, 'a, 'm> {
    along: &'s mut Along<'v, 'a>,
    moving: &'s mut Moving<'m>,
    number: usize,
    bounds: &'s BTreeSet<Rational>,
    step: Rational,
    /// How many evaluations bisection may still take.
    left: usize,
    found: BTreeMap<Place, Change>,
}

impl Search<'_, '_, '_, '_> {
    fn side(&mut self, is_upward: bool, is_wanted: &dyn Fn(Place) -> bool) {
        let side = if is_upward { 1 } else { -1 };
        let mut turned: BTreeSet<Place> = BTreeSet::new();
        let mut before = self.along.reading.value;
        for spreads in 1..=SCANNED_SPREADS {
            let Some(value) = self.along.scan_value(side * spreads) else {
                continue;
            };
            let seen = self.along.at(self.moving, value);
            let new: Vec<Place> = seen
                .keys()
                .filter(|place| is_wanted(**place) && !turned.contains(place))
                .copied()
                .collect();
            turned.extend(new.iter().copied());
            self.between(before, value, new);
            before = value;
        }
    }

    /// The places turn somewhere after `before` and not after `value`.
    fn between(&mut self, before: Rational, value: Rational, places: Vec<Place>) {
        if places.is_empty() {
            return;
        }
        let middle = self.middle(before, value).filter(|_| self.left > 0);
        let Some(middle) = middle else {
            for place in places {
                self.note(place, before, value);
            }
            return;
        };
        self.left -= 1;
        let seen = self.along.at_for(self.moving, middle, &places);
        let (nearer, further): (Vec<Place>, Vec<Place>) = places
            .into_iter()
            .partition(|place| seen.contains_key(place));
        self.between(before, middle, nearer);
        self.between(middle, value, further);
    }

    /// A value between, at a bound that is known or half-way; `None` where they are next to each
    /// other.
    fn middle(&self, before: Rational, value: Rational) -> Option<Rational> {
        let distance = value.minus(before).ok()?;
        if distance.size() <= self.step {
            return None;
        }
        let (low, high) = (before.min(value), before.max(value));
        let around = self.bounds.iter().flat_map(|bound| {
            let near = [bound.minus(self.step), Ok(*bound), bound.plus(self.step)];
            near.into_iter().flatten()
        });
        let inside = |near: &Rational| low < *near && *near < high;
        let reading = self.along.reading;
        let known: BTreeSet<Rational> = around
            .filter(|near| inside(near) && reading.is_possible(*near))
            .collect();
        if let Some(middle) = known.iter().nth(known.len() / 2) {
            return Some(*middle);
        }
        let half = distance.over(Rational::whole(2)).ok()?;
        let half = half.rounded_to(self.step, Rounding::Nearest).ok()?;
        let middle = before.plus(half).ok()?;
        (middle != before && middle != value).then_some(middle)
    }

    fn note(&mut self, place: Place, before: Rational, value: Rational) {
        let seen = self.along.at_for(self.moving, value, &[place]);
        let Some(seen) = seen.get(&place).cloned() else {
            return;
        };
        // Just past a bound that is known, the bound is what a fitter wants to read.
        let value = if self.bounds.contains(&before) && !self.along.reading.is_count() {
            before
        } else {
            value
        };
        let Some(squared) = self.along.reading.squared_spreads_to(value) else {
            return;
        };
        let change = Change {
            reading: self.number,
            value,
            squared,
            seen,
        };
        let known = self.found.get(&place);
        if known.is_none_or(|known| squared < known.squared) {
            self.found.insert(place, change);
        }
    }
}
