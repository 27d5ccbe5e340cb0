//! What an evaluation came to: an outcome for every node and club, and the clubs of every group.
//!
//! Outcomes lie in arrays by the node's index in the program and by the club's place in its group's
//! own order. A node that is not for each of a group has one outcome; so has a node for each of a
//! group that is not decided itself.
//!
//! Every club has an identity of its own. Groups that share clubs (`wood` is a part of `club`,
//! `club` is made from `iron` and `kept`) hold the same identities, so that "the same club in
//! another group" is a search through at most a few entries.

use std::sync::Arc;

use loftwright_dsl::arena::Id;
use loftwright_dsl::program::{GroupId, Node, Program};

use super::algebra;
use crate::outcome::{Cause, Outcome, Place, State, Undecided};

/// A club's identity within one evaluation; the same in every group that the club is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Club(pub(crate) u32);

/// The outcomes of one node.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum PerClub {
    /// Not evaluated (yet).
    #[default]
    Nothing,
    /// One for the bag, or for a group that is not decided.
    One(Outcome),
    /// One for each club, in the group's own order.
    Each(Vec<Outcome>),
}

impl PerClub {
    pub(crate) fn get(&self, member: Option<usize>) -> Option<&Outcome> {
        match (self, member) {
            (PerClub::One(outcome), None) => Some(outcome),
            (PerClub::Each(outcomes), Some(member)) => outcomes.get(member),
            _ => None,
        }
    }
}

/// A group that was evaluated.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct GroupState {
    /// Decided with the number of clubs, or why not; `None` before it is evaluated.
    pub(crate) outcome: Option<Outcome>,
    /// Its clubs in its own order.
    pub(crate) clubs: Vec<Club>,
    /// The fields of all clubs, club after club; empty where the fields are a wider group's. What
    /// nobody knows is not there: why not is only put into words where somebody asks.
    pub(crate) fields: Arc<Vec<Option<State>>>,
    /// The number of fields of a club.
    pub(crate) width: usize,
    /// The wider group, where the group is a part of one, and the places of its clubs there.
    pub(crate) wider: Option<(GroupId, Vec<usize>)>,
    /// What a maker says where it could not work a club out, by club.
    pub(crate) notes: Vec<Option<String>>,
}

/// What every node came to.
#[derive(Clone, Debug, Default)]
pub struct Evaluation {
    inputs: Vec<PerClub>,
    lets: Vec<PerClub>,
    decisions: Vec<PerClub>,
    chooses: Vec<PerClub>,
    limits: Vec<PerClub>,
    cautions: Vec<PerClub>,
    groups: Vec<GroupState>,
    clubs: u32,
}

/// All groups of an evaluation with the count of their clubs.
#[derive(Clone, Debug)]
pub(crate) struct AllGroups {
    groups: Vec<GroupState>,
    clubs: u32,
}

impl AllGroups {
    /// One group as it was.
    pub(crate) fn get(&self, group: GroupId) -> Option<&GroupState> {
        self.groups.get(group.index())
    }
}

fn nothing(count: usize) -> Vec<PerClub> {
    std::iter::repeat_n(PerClub::Nothing, count).collect()
}

impl Evaluation {
    pub(crate) fn new(program: &Program) -> Self {
        Evaluation {
            inputs: nothing(program.inputs.len()),
            lets: nothing(program.lets.len()),
            decisions: nothing(program.decisions.len()),
            chooses: nothing(program.chooses.len()),
            limits: nothing(program.limits.len()),
            cautions: nothing(program.cautions.len()),
            groups: program
                .groups
                .iter()
                .map(|_| GroupState::default())
                .collect(),
            clubs: 0,
        }
    }

    /// The outcome of a node for a club of its group, or (`member: None`) for the bag and for
    /// groups that are not decided. A group that is decided comes to the number of its clubs.
    pub fn outcome(&self, place: Place) -> Option<&Outcome> {
        match place.node {
            Node::Group(group) if place.member.is_none() => self.group(group)?.outcome.as_ref(),
            node => self.per_club(node)?.get(place.member),
        }
    }

    /// How a place is seen by what uses it; `None` where it was not evaluated, and for a part that
    /// was chosen, which has fields but no value.
    pub fn state(&self, place: Place) -> Option<State> {
        match self.outcome(place)? {
            Outcome::Chosen(_) | Outcome::Ordered(_) => None,
            outcome => Some(algebra::seen_from_outside(place, outcome)),
        }
    }

    /// How many outcomes a node has, and whether they are one for each club.
    pub fn outcomes(&self, node: Node) -> Vec<(Place, &Outcome)> {
        if matches!(node, Node::Group(_)) {
            let place = Place { node, member: None };
            return self
                .outcome(place)
                .map(|outcome| (place, outcome))
                .into_iter()
                .collect();
        }
        match self.per_club(node) {
            Some(PerClub::One(outcome)) => vec![(Place { node, member: None }, outcome)],
            Some(PerClub::Each(outcomes)) => {
                let place = |member| Place {
                    node,
                    member: Some(member),
                };
                let entries = outcomes.iter().enumerate();
                entries
                    .map(|(member, outcome)| (place(member), outcome))
                    .collect()
            }
            _ => Vec::new(),
        }
    }

    /// The clubs of a group in its own order; `None` where the group is not decided. A group whose
    /// number does not apply has no clubs.
    pub fn members(&self, group: GroupId) -> Option<&[Club]> {
        let state = self.group(group)?;
        match state.outcome {
            Some(Outcome::Decided(_) | Outcome::DoesNotApply) => Some(&state.clubs),
            _ => None,
        }
    }

    /// The place of a club of one group in another; `None` where it is not in it.
    pub fn same_club(&self, from: GroupId, member: usize, to: GroupId) -> Option<usize> {
        if from == to {
            return Some(member);
        }
        let club = self.group(from)?.clubs.get(member)?;
        self.group(to)?.clubs.iter().position(|known| known == club)
    }

    /// A field of a club. The group may be a part of the wider group that has the field.
    pub fn field(&self, group: GroupId, member: usize, field: usize) -> Option<State> {
        let (group, member, known) = self.field_in_place(group, member, field)?;
        let not_known = || {
            algebra::not_known(Cause::ClubField {
                group,
                member,
                field,
            })
        };
        Some(known.map_or_else(not_known, State::clone))
    }

    /// As [`Evaluation::field`], to be looked at only; with the group whose field it is, and the
    /// club's place there.
    pub(crate) fn field_in_place(
        &self,
        group: GroupId,
        member: usize,
        field: usize,
    ) -> Option<(GroupId, usize, Option<&State>)> {
        let state = self.group(group)?;
        if let Some((wider, places)) = &state.wider {
            return self.field_in_place(*wider, *places.get(member)?, field);
        }
        if field >= state.width {
            return None;
        }
        let index = member.checked_mul(state.width)?.checked_add(field)?;
        Some((group, member, state.fields.get(index)?.as_ref()))
    }

    /// What the maker of a group says about a club that it could not work out, such as a shaft that
    /// is too short.
    pub fn note(&self, group: GroupId, member: usize) -> Option<&str> {
        self.group(group)?.notes.get(member)?.as_deref()
    }

    /// Why the clubs of a group are not there, as everything over the group sees it.
    pub(crate) fn not_made(&self, group: GroupId) -> Box<Undecided> {
        let place = Place {
            node: Node::Group(group),
            member: None,
        };
        match self.group(group).and_then(|state| state.outcome.as_ref()) {
            Some(outcome) => algebra::blocked_by(place, outcome),
            None => algebra::undecided_for(place, Cause::Ended(place)),
        }
    }

    /// How many clubs there are in all groups together.
    pub(crate) fn club_count(&self) -> usize {
        self.groups.iter().map(|group| group.clubs.len()).sum()
    }

    pub(crate) fn group(&self, group: GroupId) -> Option<&GroupState> {
        self.groups.get(group.index())
    }

    pub(crate) fn set_group(&mut self, group: GroupId, state: GroupState) {
        if let Some(place) = self.groups.get_mut(group.index()) {
            *place = state;
        }
    }

    /// A club that was not there before.
    pub(crate) fn new_club(&mut self) -> Club {
        let club = Club(self.clubs);
        self.clubs = self.clubs.saturating_add(1);
        club
    }

    /// From here on `other` is the same club as `club`, in every group.
    pub(crate) fn unite(&mut self, club: Club, other: Club) {
        for group in &mut self.groups {
            for known in group.clubs.iter_mut().filter(|known| **known == other) {
                *known = club;
            }
        }
    }

    pub(crate) fn per_club(&self, node: Node) -> Option<&PerClub> {
        match node {
            Node::Input(id) => at(&self.inputs, id),
            Node::Let(id) => at(&self.lets, id),
            Node::Decision(id) => at(&self.decisions, id),
            Node::Choose(id) => at(&self.chooses, id),
            Node::Limit(id) => at(&self.limits, id),
            Node::Caution(id) => at(&self.cautions, id),
            Node::Group(_) => None,
        }
    }

    /// Begins the groups anew, so that their clubs get the same identities again; hands back what
    /// they were.
    pub(crate) fn begin_groups(&mut self) -> AllGroups {
        let new = self.groups.iter().map(|_| GroupState::default()).collect();
        AllGroups {
            groups: std::mem::replace(&mut self.groups, new),
            clubs: std::mem::take(&mut self.clubs),
        }
    }

    /// Brings back the groups as they were.
    pub(crate) fn restore_groups(&mut self, all: AllGroups) {
        self.groups = all.groups;
        self.clubs = all.clubs;
    }

    /// Puts a node's outcomes in place and hands back those before.
    pub(crate) fn replace(&mut self, node: Node, outcomes: PerClub) -> PerClub {
        self.slot(node)
            .map_or(PerClub::Nothing, |place| std::mem::replace(place, outcomes))
    }

    /// Exchanges a node's outcomes for others.
    pub(crate) fn exchange(&mut self, node: Node, outcomes: &mut PerClub) {
        if let Some(place) = self.slot(node) {
            std::mem::swap(place, outcomes);
        }
    }

    pub(crate) fn set(&mut self, node: Node, outcomes: PerClub) {
        if let Some(place) = self.slot(node) {
            *place = outcomes;
        }
    }

    fn slot(&mut self, node: Node) -> Option<&mut PerClub> {
        let (list, index) = match node {
            Node::Input(id) => (&mut self.inputs, id.index()),
            Node::Let(id) => (&mut self.lets, id.index()),
            Node::Decision(id) => (&mut self.decisions, id.index()),
            Node::Choose(id) => (&mut self.chooses, id.index()),
            Node::Limit(id) => (&mut self.limits, id.index()),
            Node::Caution(id) => (&mut self.cautions, id.index()),
            Node::Group(_) => return None,
        };
        list.get_mut(index)
    }
}

fn at<T>(list: &[PerClub], id: Id<T>) -> Option<&PerClub> {
    list.get(id.index())
}
