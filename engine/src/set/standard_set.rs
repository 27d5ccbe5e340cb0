//! `standard_set`: the bag from what the rules plan and what the player keeps.
//!
//! Planned are a driver, the fairways, hybrids, irons and wedges, and a putter, in that order. A
//! club that the player keeps stands where the plan has it. One that the plan does not speak of
//! takes, in the order in which he names them, the planned place of its kind that is still free and
//! whose loft is nearest, within three degrees; a driver or putter whatever the loft. Where there
//! is no such place it is one club more, after the planned ones of its kind. Of two places equally
//! near, the first is taken.
//!
//! A planned club is there even while its loft is not decided; a kept club cannot be told to hold
//! its place then, nor can one whose own loft is not known, except a driver or putter.

use loftwright_dsl::program::Value;
use loftwright_dsl::quantity::Rational;

use crate::evaluate::Club;
use crate::outcome::State;

/// A kept club holds a planned place whose loft is no further away than this.
const MOST_DEGREES_FROM_THE_PLAN: i64 = 3;

/// What the rules plan of one kind.
pub(crate) struct PlannedKind {
    /// The kind's word.
    pub(crate) kind: i32,
    /// Whether a kept club takes a place whatever its loft.
    pub(crate) at_any_loft: bool,
    /// The places in order.
    pub(crate) places: Vec<PlannedClub>,
}

/// One planned club.
pub(crate) struct PlannedClub {
    /// The club in the rules' own group; a driver or putter has none.
    pub(crate) club: Option<Club>,
    /// The loft; `None` where nothing plans it.
    pub(crate) loft: Option<State>,
}

/// A club that the player keeps.
pub(crate) struct KeptClub {
    /// The club in the player's group.
    pub(crate) club: Club,
    /// The kind's word.
    pub(crate) kind: i32,
    /// The loft, as far as it is known.
    pub(crate) loft: State,
}

/// A club of the bag.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BagClub {
    /// The kind's word.
    pub(crate) kind: i32,
    /// The club in the rules' group, where it was planned there.
    pub(crate) planned: Option<Club>,
    /// The loft that is planned; `None` where nothing plans it.
    pub(crate) loft: Option<State>,
    /// The kept club's place in the player's group.
    pub(crate) kept: Option<usize>,
}

/// The bag in its order.
pub(crate) fn standard_set(plan: Vec<PlannedKind>, kept: &[KeptClub]) -> Vec<BagClub> {
    let mut bag = Vec::new();
    for planned in plan {
        let mut clubs: Vec<BagClub> = planned
            .places
            .into_iter()
            .map(|place| BagClub {
                kind: planned.kind,
                planned: place.club,
                loft: place.loft,
                kept: None,
            })
            .collect();
        let of_kind = kept.iter().enumerate();
        let of_kind: Vec<_> = of_kind
            .filter(|(_, kept)| kept.kind == planned.kind)
            .collect();
        let places = clubs.len();
        let mut rest = Vec::new();
        for (index, kept) in of_kind {
            match own_place(kept, &mut clubs) {
                Some(place) => place.kept = Some(index),
                None => rest.push((index, kept)),
            }
        }
        for (index, kept) in rest {
            let planned_places = clubs.get(..places).unwrap_or_default();
            let place = place_for(kept, planned_places, planned.at_any_loft);
            match place.and_then(|place| clubs.get_mut(place)) {
                Some(club) => club.kept = Some(index),
                None => clubs.push(BagClub {
                    kind: planned.kind,
                    planned: None,
                    loft: None,
                    kept: Some(index),
                }),
            }
        }
        bag.append(&mut clubs);
    }
    bag
}

/// The place that the plan has for a kept club already.
fn own_place<'c>(kept: &KeptClub, clubs: &'c mut [BagClub]) -> Option<&'c mut BagClub> {
    clubs
        .iter_mut()
        .find(|club| club.planned == Some(kept.club))
}

/// The free place that a kept club takes.
fn place_for(kept: &KeptClub, places: &[BagClub], at_any_loft: bool) -> Option<usize> {
    let mut free = places
        .iter()
        .enumerate()
        .filter(|(_, place)| place.kept.is_none());
    if at_any_loft {
        return free.next().map(|(place, _)| place);
    }
    let near = free.filter_map(|(index, place)| {
        let distance = distance(&kept.loft, place.loft.as_ref()?)?;
        let is_near = distance <= Rational::whole(MOST_DEGREES_FROM_THE_PLAN);
        is_near.then_some((distance, index))
    });
    near.min().map(|(_, index)| index)
}

fn distance(kept: &State, planned: &State) -> Option<Rational> {
    match (kept, planned) {
        (State::Known(Value::Number(kept)), State::Known(Value::Number(planned))) => {
            kept.minus(*planned).ok().map(Rational::size)
        }
        _ => None,
    }
}

#[cfg(test)]
#[path = "standard_set_tests.rs"]
mod tests;
