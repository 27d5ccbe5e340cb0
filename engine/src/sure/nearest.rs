//! The nearest change of each decision: which single reading, moved by how little, turns it.
//!
//! One reading moves at a time. Looked at are the values of a fixed scan (half spreads of the mean,
//! three spreads to either side) and, for every table with a column that is affine in the reading,
//! the bounds of its rows exactly, with a hair to either side. Where two neighbours differ, the
//! change between them is found by bisection to the grid of the reading (a thousandth of a spread).
//! A change is only told where the decision was evaluated with the reading there and came out
//! otherwise. A decision may turn and turn back between two values of the scan: so *none found
//! within three spreads*, never *none exists*.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Interval, Program, ValueSet};
use loftwright_dsl::quantity::{Rational, Rounding};

use super::affine::AffineForms;
use super::along::{Along, HALF_SPREADS};
use super::outcome::Seen;
use super::places::Moving;
use super::spread::MOST_SPREADS;
use super::uncertain::Uncertain;
use crate::outcome::Place;

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

/// The nearest change of every place along one reading.
pub(crate) fn changes_along(
    along: &mut Along<'_, '_>,
    moving: &mut Moving<'_>,
    number: usize,
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
        found: BTreeMap::new(),
    };
    for is_upward in [true, false] {
        search.side(is_upward, is_wanted);
    }
    search.found
}

/// The finest step that is looked at.
fn step_of(reading: &Uncertain) -> Option<Rational> {
    if reading.is_count() {
        return Some(Rational::ONE);
    }
    reading.step()
}

struct Search<'s, 'v, 'a, 'm> {
    along: &'s mut Along<'v, 'a>,
    moving: &'s mut Moving<'m>,
    number: usize,
    bounds: &'s BTreeSet<Rational>,
    step: Rational,
    found: BTreeMap<Place, Change>,
}

impl Search<'_, '_, '_, '_> {
    fn side(&mut self, is_upward: bool, is_wanted: &dyn Fn(Place) -> bool) {
        let mut values: Vec<Rational> = self.values(is_upward).into_iter().collect();
        if !is_upward {
            values.reverse();
        }
        let mut turned: BTreeSet<Place> = BTreeSet::new();
        let mut before = self.along.reading.value;
        for value in values {
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

    /// The values that are looked at on one side, in order of size.
    fn values(&self, is_upward: bool) -> BTreeSet<Rational> {
        let reading = self.along.reading;
        let side = if is_upward { 1 } else { -1 };
        let scan = (1..=HALF_SPREADS).filter_map(|half| self.along.scan_value(side * half));
        let around = self.bounds.iter().flat_map(|bound| {
            let near = [bound.minus(self.step), Ok(*bound), bound.plus(self.step)];
            near.into_iter().flatten()
        });
        let most = Rational::fraction(MOST_SPREADS * MOST_SPREADS, 1).unwrap_or(Rational::ONE);
        let is_looked_at = |value: &Rational| {
            (*value > reading.value) == is_upward
                && *value != reading.value
                && reading.is_possible(*value)
                && reading
                    .squared_spreads_to(*value)
                    .is_some_and(|squared| squared <= most)
        };
        scan.chain(around).filter(is_looked_at).collect()
    }

    /// The places turn somewhere after `before` and not after `value`.
    fn between(&mut self, before: Rational, value: Rational, places: Vec<Place>) {
        if places.is_empty() {
            return;
        }
        let Some(middle) = self.middle(before, value) else {
            for place in places {
                self.note(place, before, value);
            }
            return;
        };
        let seen = self.along.at(self.moving, middle);
        let (nearer, further): (Vec<Place>, Vec<Place>) = places
            .into_iter()
            .partition(|place| seen.contains_key(place));
        self.between(before, middle, nearer);
        self.between(middle, value, further);
    }

    /// A value on the grid half-way between; `None` where they are next to each other.
    fn middle(&self, before: Rational, value: Rational) -> Option<Rational> {
        let distance = value.minus(before).ok()?;
        if distance.size() <= self.step {
            return None;
        }
        let half = distance.over(Rational::whole(2)).ok()?;
        let half = half.rounded_to(self.step, Rounding::Nearest).ok()?;
        let middle = before.plus(half).ok()?;
        (middle != before && middle != value).then_some(middle)
    }

    fn note(&mut self, place: Place, before: Rational, value: Rational) {
        let Some(seen) = self.along.at(self.moving, value).get(&place).cloned() else {
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
