//! What was decided, to compare with what would have been.

use std::collections::BTreeMap;

use loftwright_dsl::program::Node;

use super::outcome::Seen;
use crate::explain::View;
use crate::outcome::Place;

/// The outcomes that were given, of decisions and choices.
pub(crate) struct Base {
    outcomes: BTreeMap<Place, (Seen, String)>,
    /// The places in the order of evaluation.
    order: Vec<Place>,
}

impl Base {
    /// Those of an evaluation.
    pub(crate) fn of(view: &View<'_>) -> Self {
        let mut base = Base {
            outcomes: BTreeMap::new(),
            order: Vec::new(),
        };
        let left_out = view.groups.left_out_of_the_plan();
        let is_told = |place: &Place| match (view.group_of(place.node), place.member) {
            (Some(group), Some(member)) => !left_out.contains(&(group, member)),
            _ => true,
        };
        let entries = view.evaluated().iter();
        for entry in entries.filter(|entry| is_told(&entry.place)) {
            if matches!(entry.place.node, Node::Decision(_) | Node::Choose(_)) {
                let seen = Seen::of(entry.outcome);
                let text = seen.text(view, entry.place);
                base.outcomes.insert(entry.place, (seen, text));
                base.order.push(entry.place);
            }
        }
        base
    }

    /// Whether the sheet tells of a place; of candidates that the plan left out it does not.
    pub(crate) fn is_told(&self, place: Place) -> bool {
        self.outcomes.contains_key(&place)
    }

    /// What is settled, in the order of evaluation.
    pub(crate) fn settled(&self) -> impl Iterator<Item = (Place, &Seen)> {
        let known = |place: &Place| Some((*place, &self.outcomes.get(place)?.0));
        let known = self.order.iter().filter_map(known);
        known.filter(|(_, seen)| !seen.is_waiting())
    }

    /// Whether a place waits for readings.
    pub(crate) fn is_waiting(&self, place: Place) -> bool {
        let found = self.outcomes.get(&place);
        found.is_some_and(|(seen, _)| seen.is_waiting())
    }

    /// Whether an outcome is the one that was given, as far as the sheet shows: of candidates that
    /// the plan left out it shows nothing.
    pub(crate) fn is_same(&self, view: &View<'_>, place: Place, seen: &Seen) -> bool {
        self.outcomes.get(&place).is_none_or(|(given, text)| {
            given == seen
                || (given.number().is_some()
                    && seen.number().is_some()
                    && *text == seen.text(view, place))
        })
    }
}
