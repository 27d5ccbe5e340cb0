//! Which nodes are asked before the others, so that of these mostly none need be asked.
//!
//! Players differ in numbers, which a few nodes turn into one of a few things: a speed into a flex.
//! Nodes that look at what comes to many things are asked *ahead* of the others; where they come to
//! what they came to for a player before, so does all that rests on them, and none of it is gone
//! over. A node is asked ahead only where nothing that it looks at is left for later.
//!
//! What those asked ahead come to, as far as something that is left looks at it or it is told,
//! stands for the rest, as long as the same nodes are asked ahead: which are left follows from it,
//! and then what each of these comes to.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Node, Program};

use super::Told;
use super::memory::{Version, remember};
use super::sources::Sources;
use crate::places::Places;

/// A source that comes to more things than so many has those asked ahead that look at it.
const FEW_VERSIONS: Version = 8;

/// The nodes that are asked ahead, and what the rest came to.
pub(super) struct Ahead<T> {
    /// The inputs, and what was found to look at much.
    places: BTreeSet<usize>,
    /// The places that nothing looks at and nothing is told of.
    ends: Places,
    /// Those that are told.
    told: Places,
    /// The places that look at each place.
    users: Vec<Places>,
    /// Each place with those that rest on it, directly or through others.
    above: Vec<Places>,
    /// What is left for later where a place comes to something else.
    left: Vec<Places>,
    /// The places that were found to come to many things.
    many: Places,
    known: BTreeMap<Told, T>,
}

impl<T> Ahead<T> {
    /// The inputs alone are asked ahead.
    pub(super) fn of(program: &Program, sources: &Sources) -> Self {
        let count = program.order.len();
        let nodes = || program.order.iter().enumerate();
        let mut users = vec![Places::none(count); count];
        for (source, place) in sources.owners().iter().enumerate() {
            if let Some(users) = users.get_mut(*place) {
                for user in sources.users_of(source) {
                    users.add(*user);
                }
            }
        }
        let (mut told, mut ends) = (Places::none(count), Places::none(count));
        for source in sources.told() {
            told.add(*source);
        }
        let nothing = Places::none(count);
        for (place, users) in users.iter().enumerate() {
            if *users == nothing && !told.has(place) {
                ends.add(place);
            }
        }
        let inputs = nodes().filter(|(_, node)| matches!(node, Node::Input(_)));
        let mut ahead = Ahead {
            places: inputs.map(|(place, _)| place).collect(),
            ends,
            told,
            above: above(&users),
            users,
            left: Vec::new(),
            many: nothing,
            known: BTreeMap::new(),
        };
        ahead.lay_out();
        ahead
    }

    /// Works out what is left for later.
    fn lay_out(&mut self) {
        let count = self.users.len();
        let left = |users: &Places| {
            let mut left = Places::none(count);
            for (user, above) in self.above.iter().enumerate() {
                if users.has(user) && !self.places.contains(&user) {
                    left.join(above);
                }
            }
            left
        };
        self.left = self.users.iter().map(left).collect();
    }

    /// The places that are asked ahead, in order.
    pub(super) fn places(&self) -> impl Iterator<Item = usize> {
        self.places.iter().copied()
    }

    /// Whether a place has to be asked for what is told, and is not asked ahead.
    pub(super) fn is_beside(&self, place: usize) -> bool {
        !self.places.contains(&place) && !self.ends.has(place)
    }

    /// What is left for later where these places come to something else by themselves: those that
    /// are not asked ahead, and all that rests on them.
    pub(super) fn left_at_first(&self, moved: &[usize]) -> Places {
        let mut left = Places::none(self.users.len());
        for place in moved.iter().filter(|place| !self.places.contains(place)) {
            if let Some(above) = self.above.get(*place) {
                left.join(above);
            }
        }
        left
    }

    /// What is left for later where a place comes to something else.
    pub(super) fn left_by(&self, place: usize) -> Option<&Places> {
        self.left.get(place)
    }

    /// Whether what a place comes to matters where these are left.
    pub(super) fn matters(&self, place: usize, left: &Places) -> bool {
        let users = self.users.get(place);
        self.told.has(place) || users.is_some_and(|users| users.meets(left))
    }

    /// From here on those are asked ahead that look at places which came to many things; whether
    /// there is one more.
    pub(super) fn learn(&mut self, program: &Program, came_to: &[(usize, Version)]) -> bool {
        let before = self.places.len();
        for (place, version) in came_to {
            if *version <= FEW_VERSIONS || self.many.has(*place) {
                continue;
            }
            self.many.add(*place);
            let nodes = program.order.iter().enumerate();
            let nodes = nodes.filter(|(_, node)| !matches!(node, Node::Group(_)));
            if let Some(users) = self.users.get(*place) {
                let users = nodes.map(|(user, _)| user).filter(|user| users.has(*user));
                self.places.extend(users);
            }
        }
        let is_more = self.places.len() > before;
        if is_more {
            self.known.clear();
            self.lay_out();
        }
        is_more
    }

    /// What was told where those asked ahead came to this.
    pub(super) fn known(&self, came_to: &Told) -> Option<&T> {
        self.known.get(came_to)
    }

    /// What was told where those asked ahead came to this.
    pub(super) fn remember(&mut self, came_to: Told, told: T) {
        remember(&mut self.known, came_to, told);
    }
}

/// Each place with those that rest on it, directly or through others.
fn above(users: &[Places]) -> Vec<Places> {
    let count = users.len();
    let mut above = vec![Places::none(count); count];
    for (place, users) in users.iter().enumerate().rev() {
        // Whatever looks at a place stands after it in the order.
        let mut all = Places::none(count);
        all.add(place);
        for (user, above) in above.iter().enumerate() {
            if users.has(user) {
                all.join(above);
            }
        }
        if let Some(above) = above.get_mut(place) {
            *above = all;
        }
    }
    above
}
