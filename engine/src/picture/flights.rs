//! The flights that the carries of the clubs rest on.
//!
//! A club's flight is the first call of a model of flight in the trace that some declaration made
//! for that club: what the model made of it, before any rule set it against measured carries.

use loftwright_dsl::program::Value;

use super::ClubFlight;
use crate::explain::View;
use crate::model::catalogue;
use crate::model::flight::path;
use crate::trace::ModelCall;

/// The flights of the clubs of the bag that have one, in the order of the bag.
pub(super) fn flights(view: &View<'_>) -> Vec<ClubFlight> {
    let Some(bag) = view.groups.club else {
        return Vec::new();
    };
    let size = view.groups.size(bag).unwrap_or_default();
    let flight = |club: usize| {
        let is_of_club = |call: &&ModelCall| {
            let group = view.group_of(call.place.node);
            let member = group.zip(call.place.member);
            member.is_some_and(|(group, member)| {
                view.groups.same_club(group, member, bag) == Some(club)
            })
        };
        let mut calls = view.trace.models.iter().filter(is_of_club);
        let points = calls.find_map(|call| points_of(view, call))?;
        Some(ClubFlight {
            club: view.club_name(bag, club),
            points,
        })
    };
    (0..size).filter_map(flight).collect()
}

fn points_of(view: &View<'_>, call: &ModelCall) -> Option<Vec<crate::model::flight::PathPoint>> {
    let name = &view.program.models[call.model].name;
    let figures: Option<Vec<f64>> = call
        .arguments
        .iter()
        .map(Value::number)
        .map(|number| number.map(|number| number.to_f64()))
        .collect();
    let (launch, conditions) = catalogue::launched(name, &figures?)?;
    path(&launch, &conditions).ok()
}
