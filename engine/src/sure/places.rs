//! What decisions and choices come to when readings move, club by club.
//!
//! A moved reading may change the set itself. A club is then the one of the same kind and number,
//! or, where the group does not number its clubs, the one that stands as far down among those of
//! its kind; a club that the moved readings do not have is *not in the bag*.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{GroupId, InputId, Members, Node, Program, Value};

use super::base::Base;
use super::outcome::Seen;
use crate::evaluate::Evaluation;
use crate::evaluate::again::{Again, Changed};
use crate::evaluate::state::PerClub;
use crate::outcome::{Outcome, Place, State};

/// What makes a club the same in another set: its kind, its number, and how many of the same stand
/// before it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    kind: Option<Value>,
    number: Option<Value>,
    before: usize,
}

/// The evaluation that was made, with readings that can be moved.
pub(crate) struct Moving<'a> {
    program: &'a Program,
    again: Again<'a>,
    /// The clubs of each group as they were; made when clubs first may have moved.
    keys: Option<BTreeMap<GroupId, Vec<Key>>>,
}

impl<'a> Moving<'a> {
    /// Over an evaluation.
    pub(crate) fn new(program: &'a Program, again: Again<'a>) -> Self {
        Moving {
            program,
            again,
            keys: None,
        }
    }

    /// The nodes that rest on one of the readings.
    pub(crate) fn above(&mut self, inputs: impl Iterator<Item = InputId>) -> BTreeSet<Node> {
        self.again.above(inputs)
    }

    /// What the decisions and choices come to that come out otherwise with these readings, of those
    /// that are told; where only some are wanted, of these at least.
    pub(crate) fn outcomes(
        &mut self,
        told: &Base,
        readings: &[(InputId, Value)],
        wanted: Option<&BTreeSet<Node>>,
    ) -> BTreeMap<Place, Seen> {
        let (program, base, keys) = (self.program, self.again.base(), &mut self.keys);
        self.again.moved(readings, wanted, |evaluation, changed| {
            let looking = Looking {
                evaluation,
                told,
                places: if changed.are_clubs_new {
                    let keys = keys.get_or_insert_with(|| keys_of_all(program, base));
                    places_now(program, keys, evaluation)
                } else {
                    BTreeMap::new()
                },
            };
            let mut seen = BTreeMap::new();
            for node in &changed.nodes {
                if matches!(node, Node::Decision(_) | Node::Choose(_))
                    && let Some(before) = base.per_club(*node)
                {
                    looking.see(program, *node, before, &mut seen);
                }
            }
            // Where clubs stand elsewhere, a node that came out the same, place by place, did not
            // for the clubs.
            for node in looking.moved_nodes(program) {
                if !changed.nodes.contains(&node)
                    && let Some(same) = evaluation.per_club(node)
                {
                    looking.see(program, node, same, &mut seen);
                }
            }
            seen
        })
    }

    /// What one place comes to with these readings, where it comes out otherwise.
    pub(crate) fn outcome(
        &mut self,
        readings: &[(InputId, Value)],
        place: Place,
    ) -> Option<Outcome> {
        let wanted = BTreeSet::from([place.node]);
        let look = |evaluation: &Evaluation, _: &Changed| evaluation.outcome(place).cloned();
        self.again.moved(readings, Some(&wanted), look)
    }
}

/// An evaluation with moved readings, and where the clubs are in it.
struct Looking<'e> {
    evaluation: &'e Evaluation,
    told: &'e Base,
    /// For each group whose clubs are not where they were: where each of them is now.
    places: BTreeMap<GroupId, Vec<Option<usize>>>,
}

impl Looking<'_> {
    /// The decisions and choices for each club of a group whose clubs are elsewhere.
    fn moved_nodes(&self, program: &Program) -> Vec<Node> {
        if self.places.is_empty() {
            return Vec::new();
        }
        let is_moved = |node: &&Node| {
            let group = program.group_of(**node);
            matches!(node, Node::Decision(_) | Node::Choose(_))
                && group.is_some_and(|group| self.places.contains_key(&group))
        };
        program.order.iter().filter(is_moved).copied().collect()
    }

    /// Notes what a node comes to for the clubs for which that is not what it was.
    fn see(
        &self,
        program: &Program,
        node: Node,
        before: &PerClub,
        seen: &mut BTreeMap<Place, Seen>,
    ) {
        let mut note = |member: Option<usize>, outcome: &dyn Fn() -> Seen| {
            let place = Place { node, member };
            if self.told.is_told(place) {
                seen.insert(place, outcome());
            }
        };
        match (before, self.evaluation.per_club(node)) {
            (PerClub::One(_), Some(PerClub::One(outcome))) => note(None, &|| Seen::of(outcome)),
            (PerClub::One(_), Some(PerClub::Each(outcomes))) => {
                note(None, &|| Seen::of_all(outcomes))
            }
            (PerClub::Each(before), Some(PerClub::One(outcome))) => {
                for member in 0..before.len() {
                    note(Some(member), &|| Seen::of(outcome));
                }
            }
            (PerClub::Each(before), Some(PerClub::Each(after))) => {
                let places = program
                    .group_of(node)
                    .and_then(|group| self.places.get(&group));
                for (member, outcome) in before.iter().enumerate() {
                    let there = match places {
                        Some(places) => places.get(member).copied().flatten(),
                        None => Some(member),
                    };
                    match there.and_then(|there| after.get(there)) {
                        Some(after) if after == outcome => {}
                        Some(after) => note(Some(member), &|| Seen::of(after)),
                        None => note(Some(member), &|| Seen::NotInTheBag),
                    }
                }
            }
            _ => {}
        }
    }
}

/// Where the clubs are now of each group whose clubs are not where they were.
fn places_now(
    program: &Program,
    keys: &BTreeMap<GroupId, Vec<Key>>,
    evaluation: &Evaluation,
) -> BTreeMap<GroupId, Vec<Option<usize>>> {
    let of_group = |(group, before): (&GroupId, &Vec<Key>)| {
        let now = keys_of(program, evaluation, *group);
        let there = |key: &Key| now.iter().position(|other| other == key);
        (*before != now).then(|| (*group, before.iter().map(there).collect()))
    };
    keys.iter().filter_map(of_group).collect()
}

fn keys_of_all(program: &Program, evaluation: &Evaluation) -> BTreeMap<GroupId, Vec<Key>> {
    let groups = program.groups.ids();
    groups
        .map(|group| (group, keys_of(program, evaluation, group)))
        .collect()
}

fn keys_of(program: &Program, evaluation: &Evaluation, group: GroupId) -> Vec<Key> {
    let clubs = evaluation.members(group).map_or(0, <[_]>::len);
    let owner = with_fields(program, group);
    let field = |name: &str| program.groups[owner].field_index(name);
    let (kind, number) = (field("kind"), field("number"));
    let mut counts: BTreeMap<(Option<Value>, Option<Value>), usize> = BTreeMap::new();
    let known = |member: usize, field: Option<usize>| match evaluation.field(group, member, field?)
    {
        Some(State::Known(value)) => Some(value),
        _ => None,
    };
    let mut keys = Vec::with_capacity(clubs);
    for member in 0..clubs {
        let (kind, number) = (known(member, kind), known(member, number));
        let count = counts.entry((kind.clone(), number.clone())).or_default();
        keys.push(Key {
            kind,
            number,
            before: *count,
        });
        *count += 1;
    }
    keys
}

/// The group that has the fields of a group: a part of a group has those of the wider one.
fn with_fields(program: &Program, group: GroupId) -> GroupId {
    match program.groups[group].members {
        Members::Where { of, .. } => with_fields(program, of),
        _ => group,
    }
}
