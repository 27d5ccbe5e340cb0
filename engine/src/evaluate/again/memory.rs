//! What came out before, so that the same is not worked out twice.
//!
//! Each source has versions: 0 is what the evaluation came to at first, the others are what came
//! out otherwise, each told by its number. What a node comes to follows from the versions of what
//! it looks at; so a node that has met them before is not asked again.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use loftwright_dsl::program::{Group, GroupId, Program};

use crate::evaluate::group::NewGroup;
use crate::evaluate::state::{Club, GroupState, PerClub};
use crate::outcome::{Outcome, State};

/// No source keeps more versions: one that comes out otherwise each time is not worth it.
const MOST_VERSIONS: usize = 48;

/// No node remembers more combinations of what it looks at; with one more it begins anew.
const MOST_KEYS: usize = 4096;

/// The number of a version.
pub(super) type Version = usize;

/// What was there before readings were moved.
pub(super) const BASE: Version = 0;

/// The versions of what a node looks at, in order.
pub(super) type Key = Box<[Version]>;

/// Whether a version is there to stay, so that something can be remembered by it.
pub(super) fn is_kept(version: Version) -> bool {
    version <= MOST_VERSIONS
}

/// Whether all of them are.
pub(super) fn are_kept(versions: &[Version]) -> bool {
    versions.iter().copied().all(is_kept)
}

/// Adds to what is remembered, of which there is never more than the most.
pub(super) fn remember<K: Ord, V>(memory: &mut BTreeMap<K, V>, key: K, value: V) {
    if memory.len() >= MOST_KEYS {
        memory.clear();
    }
    memory.insert(key, value);
}

/// What is remembered of a program's nodes, by their places, and of its groups.
pub(super) struct Memory {
    pub(super) nodes: Vec<NodeMemory>,
    pub(super) groups: Vec<GroupMemory>,
}

/// What is remembered of one node that is no group.
#[derive(Default)]
pub(super) struct NodeMemory {
    /// Which version it comes to.
    pub(super) seen: BTreeMap<Key, Version>,
    pub(super) outcomes: Versions<PerClub>,
}

/// What is remembered of one group.
#[derive(Default)]
pub(super) struct GroupMemory {
    /// What is made of it.
    pub(super) made: BTreeMap<Key, Made>,
    pub(super) clubs: Versions<Clubs>,
    pub(super) fields: Vec<Versions<Vec<Option<State>>>>,
}

/// A group before its clubs have identities.
#[derive(Clone)]
pub(super) struct Made {
    pub(super) group: NewGroup,
    /// The version of each field of its clubs.
    pub(super) fields: Vec<Version>,
}

impl Memory {
    /// Nothing remembered yet.
    pub(super) fn of(program: &Program) -> Self {
        let of_group = |group: &Group| GroupMemory {
            fields: group.fields.iter().map(|_| Versions::default()).collect(),
            ..GroupMemory::default()
        };
        Memory {
            nodes: program
                .order
                .iter()
                .map(|_| NodeMemory::default())
                .collect(),
            groups: program.groups.iter().map(of_group).collect(),
        }
    }
}

/// The versions of a source after the first, which the evaluation has.
pub(super) struct Versions<T> {
    known: Vec<T>,
    /// The versions that are kept by what they are, so that one is found without looking at each.
    in_order: Vec<Version>,
}

impl<T> Default for Versions<T> {
    fn default() -> Self {
        Versions {
            known: Vec::new(),
            in_order: Vec::new(),
        }
    }
}

impl<T> Versions<T> {
    /// The version for which `compare` says that it is the one, or where one more would stand.
    fn find(&self, mut compare: impl FnMut(&T) -> Ordering) -> Result<Version, usize> {
        let found = self.in_order.binary_search_by(|version| {
            let known = self.known.get(version.saturating_sub(1));
            known.map_or(Ordering::Less, &mut compare)
        });
        found.map(|place| self.in_order.get(place).copied().unwrap_or(BASE))
    }

    /// One more, which stands at a place among the others.
    fn add(&mut self, place: usize, value: T) -> Version {
        self.known.push(value);
        let version = self.known.len();
        if is_kept(version) {
            self.in_order.insert(place, version);
        }
        version
    }

    /// A version after the first.
    pub(super) fn get_mut(&mut self, version: Version) -> Option<&mut T> {
        self.known.get_mut(version.checked_sub(1)?)
    }

    /// Forgets what is one too many.
    pub(super) fn forget(&mut self) {
        self.known.truncate(MOST_VERSIONS);
    }
}

impl Versions<PerClub> {
    /// The version that the outcomes of a node are.
    pub(super) fn of_outcomes(&mut self, base: Option<&PerClub>, now: PerClub) -> Version {
        if base == Some(&now) {
            return BASE;
        }
        match self.find(|known| known.cmp(&now)) {
            Ok(version) => version,
            Err(place) => self.add(place, now),
        }
    }
}

/// Which clubs are in a group, and whether it is made at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Clubs {
    outcome: Option<Outcome>,
    clubs: Vec<Club>,
    wider: Option<(GroupId, Vec<usize>)>,
}

impl Versions<Clubs> {
    /// The version that the clubs of a group are.
    pub(super) fn of_clubs(&mut self, base: Option<&GroupState>, now: &GroupState) -> Version {
        let now = (&now.clubs, &now.outcome, &now.wider);
        if base.is_some_and(|base| (&base.clubs, &base.outcome, &base.wider) == now) {
            return BASE;
        }
        match self.find(|known| (&known.clubs, &known.outcome, &known.wider).cmp(&now)) {
            Ok(version) => version,
            Err(place) => {
                let (clubs, outcome, wider) = now;
                let clubs = Clubs {
                    outcome: outcome.clone(),
                    clubs: clubs.clone(),
                    wider: wider.clone(),
                };
                self.add(place, clubs)
            }
        }
    }
}

impl Versions<Vec<Option<State>>> {
    /// The version that a field of a group's clubs is.
    pub(super) fn of_field(
        &mut self,
        field: usize,
        base: Option<&GroupState>,
        now: &GroupState,
    ) -> Version {
        if base.is_some_and(|base| field_of(base, field).eq(field_of(now, field))) {
            return BASE;
        }
        match self.find(|known| known.iter().cmp(field_of(now, field))) {
            Ok(version) => version,
            Err(place) => self.add(place, field_of(now, field).cloned().collect()),
        }
    }
}

/// A field of all clubs of a group.
fn field_of(state: &GroupState, field: usize) -> impl Iterator<Item = &Option<State>> {
    let clubs = state.fields.chunks(state.width.max(1));
    clubs.filter_map(move |club| club.get(field))
}
