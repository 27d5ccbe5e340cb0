//! One reading moved by itself: a fixed scan to both sides, and whatever else is asked.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Node, Value};
use loftwright_dsl::quantity::Rational;

use super::base::Base;
use super::outcome::Seen;
use super::places::Moving;
use super::uncertain::{PARTS_OF_SPREAD, Uncertain};
use crate::explain::View;
use crate::outcome::Place;

/// The scan looks at so many spreads of the mean to either side.
pub(crate) const SCANNED_SPREADS: i64 = 3;

/// One reading on its way, with what came out otherwise at each value that was asked.
pub(crate) struct Along<'v, 'a> {
    view: &'v View<'a>,
    base: &'v Base,
    pub(crate) reading: &'v Uncertain,
    asked: BTreeMap<Rational, BTreeMap<Place, Seen>>,
    /// The same for some places only.
    asked_for: BTreeMap<Rational, BTreeMap<Place, Seen>>,
}

impl<'v, 'a> Along<'v, 'a> {
    /// Nothing asked yet.
    pub(crate) fn new(view: &'v View<'a>, base: &'v Base, reading: &'v Uncertain) -> Self {
        Along {
            view,
            base,
            reading,
            asked: BTreeMap::new(),
            asked_for: BTreeMap::new(),
        }
    }

    /// The value of the scan so many spreads away; `None` where the input cannot be so.
    pub(crate) fn scan_value(&self, spreads: i64) -> Option<Rational> {
        let value = self.reading.at(spreads * PARTS_OF_SPREAD)?;
        // Reflected at an end, it would stand for a value on the other side of others.
        let is_there = match spreads {
            0 => value == self.reading.value,
            1.. => value > self.reading.value,
            _ => value < self.reading.value,
        };
        is_there.then_some(value)
    }

    /// What comes out otherwise, as far as the sheet shows, with the reading at this value.
    pub(crate) fn at(
        &mut self,
        moving: &mut Moving<'_>,
        value: Rational,
    ) -> &BTreeMap<Place, Seen> {
        let (view, base, input) = (self.view, self.base, self.reading.input);
        self.asked.entry(value).or_insert_with(|| {
            let mut seen = moving.outcomes(base, &[(input, Value::Number(value))], None);
            seen.retain(|place, seen| is_other(view, base, *place, seen));
            seen
        })
    }

    /// As [`Along::at`], for these places only. Where the value was asked before, they are among
    /// those that it was asked for.
    pub(crate) fn at_for(
        &mut self,
        moving: &mut Moving<'_>,
        value: Rational,
        places: &[Place],
    ) -> &BTreeMap<Place, Seen> {
        let (view, base, input) = (self.view, self.base, self.reading.input);
        if let Some(seen) = self.asked.get(&value) {
            return seen;
        }
        self.asked_for.entry(value).or_insert_with(|| {
            let wanted: BTreeSet<Node> = places.iter().map(|place| place.node).collect();
            let moved = [(input, Value::Number(value))];
            let mut seen = moving.outcomes(base, &moved, Some(&wanted));
            seen.retain(|place, seen| places.contains(place) && is_other(view, base, *place, seen));
            seen
        })
    }
}

/// Whether a settled place comes to something else, as far as the sheet shows.
fn is_other(view: &View<'_>, base: &Base, place: Place, seen: &Seen) -> bool {
    !base.is_waiting(place) && !base.is_same(view, place, seen)
}
