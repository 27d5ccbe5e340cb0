//! The clubs that the player brings.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Group, GroupId, Members, Program, Record};

use super::MOST_KEPT_CLUBS;
use super::fault::{FaultKind, Faults};
use super::names::{did_you_mean, listed, nearest};
use super::quote::{quoted, shortened};
use super::record::read_record;

/// Reads the clubs of every group `given with the player`. A group that was not sent has no clubs:
/// to bring none and to say nothing of them are the same.
pub(super) fn read_given(
    program: &Program,
    given: &BTreeMap<String, Vec<BTreeMap<String, String>>>,
    faults: &mut Faults,
) -> BTreeMap<GroupId, Vec<Record>> {
    let groups = || {
        program
            .groups
            .entries()
            .filter(|(_, group)| matches!(group.members, Members::GivenWithThePlayer))
    };
    for name in given.keys() {
        if !groups().any(|(_, group)| group.name == *name) {
            let known: Vec<_> = groups().map(|(_, group)| group.name.as_str()).collect();
            let message = not_given(program, name, &known);
            faults.add(FaultKind::UnknownName, shortened(name), name, message);
        }
    }
    groups()
        .map(|(id, group)| {
            let clubs = given.get(&group.name).map_or(&[][..], Vec::as_slice);
            (id, read_clubs(program, group, clubs, faults))
        })
        .collect()
}

fn not_given(program: &Program, name: &str, known: &[&str]) -> String {
    let sent = quoted(name);
    let allowed = match known {
        [] => "the rules take no clubs of the player's".to_owned(),
        _ => format!("clubs are sent for {}", listed(known.iter().copied())),
    };
    if program.groups.iter().any(|group| group.name == *name) {
        return format!("the clubs of {sent} are made by the engine; {allowed}");
    }
    let near = did_you_mean(nearest(name, known.iter().copied()));
    format!("there is no group {sent}; {allowed}{near}")
}

fn read_clubs(
    program: &Program,
    group: &Group,
    clubs: &[BTreeMap<String, String>],
    faults: &mut Faults,
) -> Vec<Record> {
    if clubs.len() > MOST_KEPT_CLUBS {
        let message = format!(
            "{} clubs were sent; at most {MOST_KEPT_CLUBS} are read",
            clubs.len()
        );
        faults.add(FaultKind::TooMany, group.name.as_str(), "", message);
    }
    clubs
        .iter()
        .take(MOST_KEPT_CLUBS)
        .enumerate()
        .map(|(place, club)| {
            let path = format!("{}[{}]", group.name, place + 1);
            read_record(program, &group.fields, club, &path, faults)
        })
        .collect()
}
