//! What on a shelf has the same in some fields: the families that the clubs of a set could agree on.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use loftwright_dsl::program::{Choose, Value};

use super::{Column, Places, Shelf};

/// Families that would take more words than this are found each time they are asked for.
const MOST_WORDS: usize = 1 << 18;

/// A choice that agrees on more fields under conditions than this has its families found each time.
const MOST_CONDITIONS: usize = 4;

/// The families found beforehand, by their fields.
#[derive(Clone, Debug, Default)]
pub(super) struct Families(BTreeMap<Vec<usize>, Vec<Alike>>);

/// The values of some fields that occur together.
pub(crate) type FamilyValues = Arc<[Value]>;

/// What has the same in some fields.
#[derive(Clone, Debug)]
struct Alike {
    values: FamilyValues,
    places: Places,
}

impl Shelf {
    /// Finds the families that the clubs of a choice could have to agree on, once for all players.
    pub(crate) fn find_families(&mut self, choose: &Choose) {
        for fields in fields_agreed(choose) {
            if self.families.0.contains_key(&fields) {
                continue;
            }
            let found = self.found(&fields);
            let words = Places::words(self.items.len()).saturating_mul(found.len());
            if words <= MOST_WORDS {
                self.families.0.insert(fields, found);
            }
        }
    }

    /// The values of these fields that occur together at some places, in order, each with those of
    /// the places looked for where it stands, if there are any. A place is left out where one of
    /// the fields is not known.
    pub(crate) fn by_values(
        &self,
        places: &Places,
        fields: &[usize],
        looked_for: &Places,
    ) -> Vec<(FamilyValues, Option<Places>)> {
        let families = self.alike_in(fields);
        let there = families.iter().filter(|alike| alike.places.meets(places));
        let worth_a_look = |alike: &Alike| {
            let is_looked_for = alike.places.meets(looked_for);
            is_looked_for.then(|| alike.places.both(looked_for))
        };
        there
            .map(|alike| (Arc::clone(&alike.values), worth_a_look(alike)))
            .collect()
    }

    /// Those of some places that have these values in these fields.
    pub(crate) fn of_values(
        &self,
        places: &Places,
        fields: &[usize],
        values: &[Value],
    ) -> Option<Places> {
        let families = self.alike_in(fields);
        let by_values = |alike: &Alike| alike.values.as_ref().cmp(values);
        let place = families.binary_search_by(by_values).ok()?;
        let alike = families.get(place)?;
        let there = alike.places.meets(places);
        there.then(|| alike.places.both(places))
    }

    fn alike_in(&self, fields: &[usize]) -> Cow<'_, [Alike]> {
        match self.families.0.get(fields) {
            Some(known) => Cow::Borrowed(known),
            None => Cow::Owned(self.found(fields)),
        }
    }

    fn found(&self, fields: &[usize]) -> Vec<Alike> {
        let columns: Option<Vec<&Column>> =
            fields.iter().map(|field| self.column(*field)).collect();
        let mut found = Vec::new();
        if let Some(columns) = columns {
            let mut values = Vec::with_capacity(fields.len());
            part(&self.everything(), &columns, &mut values, &mut found);
        }
        found
    }
}

/// Parts some places by the columns that are left, below the values of those before.
fn part<'c>(
    places: &Places,
    columns: &[&'c Column],
    before: &mut Vec<&'c Value>,
    found: &mut Vec<Alike>,
) {
    let Some((column, others)) = columns.split_first() else {
        return;
    };
    for standing in column.values() {
        let Some(places) = standing.among(places) else {
            continue;
        };
        before.push(standing.value);
        if others.is_empty() {
            let values = before.iter().copied().cloned().collect();
            found.push(Alike { values, places });
        } else {
            part(&places, others, before, found);
        }
        before.pop();
    }
}

/// The fields that the clubs of a choice could have to agree on, as its conditions hold or not.
fn fields_agreed(choose: &Choose) -> Vec<Vec<usize>> {
    let conditions = choose.agrees_on.iter().filter(|on| on.when.is_some());
    if conditions.count() > MOST_CONDITIONS {
        return Vec::new();
    }
    let mut agreed = vec![Vec::new()];
    for on in &choose.agrees_on {
        let mut with = agreed.clone();
        with.iter_mut().for_each(|fields| fields.push(on.field));
        if on.when.is_none() {
            agreed.clear();
        }
        agreed.extend(with);
    }
    agreed.retain(|fields| !fields.is_empty());
    agreed
}
