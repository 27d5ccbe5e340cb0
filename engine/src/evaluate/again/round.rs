//! One round over the program's order: what looks at something that changed is remembered or
//! evaluated.

use loftwright_dsl::program::{ChooseId, GroupId, Node};

use super::ahead::Ahead;
use super::memory::{BASE, Key, Made, Memory, Version, are_kept, is_kept, remember};
use super::sources::{Sources, taking_before};
use super::{Changed, Told};
use crate::evaluate::choose::Stock;
use crate::evaluate::run::Run;
use crate::evaluate::state::{AllGroups, Evaluation, GroupState, PerClub};
use crate::outcome::Outcome;
use crate::places::Places;
use crate::trace::NoTrace;

/// A round on its way.
pub(super) struct Round<'r, 'a> {
    run: Run<'a, NoTrace>,
    sources: &'r Sources,
    memory: &'r mut Memory,
    base: &'a Evaluation,
    /// The nodes that are wanted, by their places; all where there is none.
    is_wanted: Option<Vec<bool>>,
    /// The version that each source is in.
    versions: Vec<Version>,
    /// The nodes that look at something that changed, by their places.
    is_waiting: Vec<bool>,
    /// The nodes that were asked ahead, by their places.
    is_done: Places,
    /// The places of the nodes whose outcomes have taken the place of those before.
    exchanged: Vec<(usize, Node)>,
    /// The groups as they were, where some were looked at again.
    groups_before: Option<AllGroups>,
}

impl<'r, 'a> Round<'r, 'a> {
    /// `base` is what the evaluation came to at first, which the run goes over.
    pub(super) fn new(
        run: Run<'a, NoTrace>,
        sources: &'r Sources,
        memory: &'r mut Memory,
        base: &'a Evaluation,
        is_wanted: Option<Vec<bool>>,
    ) -> Self {
        Round {
            is_wanted,
            versions: vec![BASE; sources.count()],
            is_waiting: vec![false; run.world.program.order.len()],
            is_done: Places::default(),
            exchanged: Vec::new(),
            groups_before: None,
            run,
            sources,
            memory,
            base,
        }
    }

    pub(super) fn evaluation(&self) -> &Evaluation {
        &self.run.evaluation
    }

    /// Asks the nodes that are asked ahead and can be. What all that is told comes to follows from
    /// what is handed back; `None` where it does not. The nodes of these places come to something
    /// else by themselves.
    pub(super) fn ask_ahead<T>(&mut self, moved: &[usize], ahead: &mut Ahead<T>) -> Option<Told> {
        let program = self.run.world.program;
        let mut follows = !moved.iter().any(|place| ahead.is_beside(*place));
        let mut left = ahead.left_at_first(moved);
        self.is_done = Places::none(program.order.len());
        let mut others: Vec<(usize, Version)> = Vec::new();
        for place in ahead.places() {
            let has_moved = moved.contains(&place);
            if !has_moved && self.is_waiting.get(place) != Some(&true) {
                continue;
            }
            if left.has(place) {
                follows &= !has_moved;
                continue;
            }
            if let Some(node) = program.order.get(place) {
                self.node(*node, place, has_moved);
            }
            self.is_done.add(place);
            let version = self.version(place);
            if version != BASE {
                others.push((place, version));
                if let Some(more) = ahead.left_by(place) {
                    left.join(more);
                }
            }
        }
        if ahead.learn(program, &others) {
            return None;
        }
        others.retain(|(place, _)| ahead.matters(*place, &left));
        let mut versions = others.iter().map(|(_, version)| *version);
        (follows && versions.all(is_kept)).then_some(Told(others))
    }

    /// Goes over the order; the nodes of these places come to something else by themselves.
    pub(super) fn go(&mut self, moved: &[usize]) {
        let order = &self.run.world.program.order;
        for (place, node) in order.iter().enumerate() {
            if self.is_done.has(place) {
                continue;
            }
            if !self.is_wanted(place) {
                self.leave(*node);
                continue;
            }
            let has_moved = moved.contains(&place);
            if !has_moved && self.is_waiting.get(place) != Some(&true) {
                if let (Node::Group(id), Some(_)) = (node, &self.groups_before) {
                    self.group(*id, place, false);
                }
                continue;
            }
            match node {
                Node::Group(id) => self.group(*id, place, has_moved),
                _ => self.node(*node, place, has_moved),
            }
        }
    }

    /// What came out otherwise.
    pub(super) fn changed(&self) -> Changed {
        Changed {
            nodes: self.exchanged.iter().map(|(_, node)| *node).collect(),
            are_clubs_new: {
                let mut telling = self.sources.telling_clubs_apart().iter();
                telling.any(|source| self.version(*source) != BASE)
            },
        }
    }

    /// What was told comes to, by the versions that are not those of the base; `None` where one of
    /// them is not kept.
    pub(super) fn told(&self) -> Option<Told> {
        let told = self.sources.told().iter();
        let others = told
            .map(|source| (*source, self.version(*source)))
            .filter(|(_, version)| *version != BASE);
        let others: Vec<(usize, Version)> = others.collect();
        let mut versions = others.iter().map(|(_, version)| *version);
        versions.all(is_kept).then_some(Told(others))
    }

    fn is_wanted(&self, place: usize) -> bool {
        let wanted = self.is_wanted.as_ref();
        wanted.is_none_or(|wanted| wanted.get(place) == Some(&true))
    }

    /// A node that is not wanted stays what it was.
    fn leave(&mut self, node: Node) {
        if let (Node::Group(id), Some(before)) = (node, &self.groups_before)
            && let Some(state) = before.get(id)
        {
            self.run.evaluation.set_group(id, state.clone());
        }
    }

    /// Puts back what was there, and hands back the evaluation.
    pub(super) fn put_back(mut self) -> Evaluation {
        for (place, node) in &self.exchanged {
            let version = self.versions.get(*place).copied().unwrap_or(BASE);
            if let Some(memory) = self.memory.nodes.get_mut(*place) {
                if let Some(outcomes) = memory.outcomes.get_mut(version) {
                    self.run.evaluation.exchange(*node, outcomes);
                }
                memory.outcomes.forget();
            }
        }
        if let Some(groups) = self.groups_before {
            self.run.evaluation.restore_groups(groups);
            for group in &mut self.memory.groups {
                group.clubs.forget();
                for field in &mut group.fields {
                    field.forget();
                }
            }
        }
        self.run.evaluation
    }

    /// The versions of what the node of a place looks at.
    fn key(&self, place: usize) -> Key {
        let read = self.sources.read_at(place).iter();
        read.map(|source| self.version(*source)).collect()
    }

    fn version(&self, source: usize) -> Version {
        self.versions.get(source).copied().unwrap_or(BASE)
    }

    /// Notes the version of a source.
    fn note(&mut self, source: usize, version: Version) {
        if let Some(known) = self.versions.get_mut(source) {
            *known = version;
        }
        if version != BASE {
            for user in self.sources.users_of(source) {
                if let Some(is_waiting) = self.is_waiting.get_mut(*user) {
                    *is_waiting = true;
                }
            }
        }
    }

    /// A node that looks at something that changed, or one that has moved.
    fn node(&mut self, node: Node, place: usize, has_moved: bool) {
        let key = (!has_moved).then(|| self.key(place));
        if let Some(key) = &key
            && key.iter().all(|version| *version == BASE)
        {
            return;
        }
        let key = key.filter(|key| are_kept(key));
        let memory = self.memory.nodes.get(place);
        let known = key.as_ref().zip(memory);
        let known = known.and_then(|(key, memory)| memory.seen.get(key).copied());
        let version = known.unwrap_or_else(|| {
            let version = self.evaluate(node, place);
            if let Some(key) = key
                && is_kept(version)
                && let Some(memory) = self.memory.nodes.get_mut(place)
            {
                remember(&mut memory.seen, key, version);
            }
            version
        });
        if let Some(memory) = self.memory.nodes.get_mut(place)
            && let Some(outcomes) = memory.outcomes.get_mut(version)
        {
            self.run.evaluation.exchange(node, outcomes);
            self.exchanged.push((place, node));
        }
        self.note(place, version);
    }

    /// Evaluates a node; what it comes to is remembered, and what was there before is there again.
    fn evaluate(&mut self, node: Node, place: usize) -> Version {
        if let Node::Choose(id) = node {
            self.run.stock = self.taken_before(id);
        }
        let before = self.run.evaluation.replace(node, PerClub::Nothing);
        self.run.node(node);
        let after = self.run.evaluation.replace(node, before);
        let before = self.run.evaluation.per_club(node);
        let memory = self.memory.nodes.get_mut(place);
        memory.map_or(BASE, |memory| memory.outcomes.of_outcomes(before, after))
    }

    /// A group. The identities of clubs are counted through all groups, so once one group is looked
    /// at again all are; those that look at nothing that changed get the same clubs again.
    fn group(&mut self, id: GroupId, place: usize, has_moved: bool) {
        if self.groups_before.is_none() {
            if !has_moved && self.key(place).iter().all(|version| *version == BASE) {
                return;
            }
            self.groups_before = Some(self.run.evaluation.begin_groups());
            let order = &self.run.world.program.order;
            for (earlier, node) in order.iter().enumerate().take(place) {
                match node {
                    Node::Group(id) if self.is_wanted(earlier) => self.make(*id, earlier, false),
                    _ => self.leave(*node),
                }
            }
        }
        self.make(id, place, has_moved);
    }

    fn make(&mut self, id: GroupId, place: usize, has_moved: bool) {
        let key = self.key(place);
        let can_be_remembered = !has_moved && are_kept(&key);
        let known = self.memory.groups.get(id.index());
        let known = known.filter(|_| can_be_remembered);
        let known = known.and_then(|memory| memory.made.get(&key).cloned());
        let made = known.unwrap_or_else(|| {
            let group = self.run.make_group(id);
            let fields = self.versions_of_fields(id, &group.state);
            let made = Made { group, fields };
            if can_be_remembered
                && are_kept(&made.fields)
                && let Some(memory) = self.memory.groups.get_mut(id.index())
            {
                remember(&mut memory.made, key, made.clone());
            }
            made
        });
        let are_united = made.group.unites();
        self.run.place_group(id, made.group);
        for (field, version) in made.fields.into_iter().enumerate() {
            if let Some(source) = self.sources.field(id, field) {
                self.note(source, version);
            }
        }
        if are_united {
            // Clubs of groups before have become others.
            for group in self.run.world.program.groups.ids() {
                self.note_clubs(group);
            }
        } else {
            self.note_clubs(id);
        }
    }

    /// The versions that the fields of a group are which is made anew.
    fn versions_of_fields(&mut self, id: GroupId, now: &GroupState) -> Vec<Version> {
        let base = self.base.group(id);
        let memory = self.memory.groups.get_mut(id.index());
        let fields = memory.map_or(&mut [][..], |memory| &mut memory.fields);
        let fields = fields.iter_mut().enumerate();
        fields
            .map(|(field, versions)| versions.of_field(field, base, now))
            .collect()
    }

    fn note_clubs(&mut self, id: GroupId) {
        let (base, now) = (self.base.group(id), self.run.evaluation.group(id));
        let memory = self.memory.groups.get_mut(id.index());
        if let (Some(memory), Some(now)) = (memory, now)
            && now.outcome.is_some()
            && let Some(source) = self.sources.place(Node::Group(id))
        {
            let version = memory.clubs.of_clubs(base, now);
            self.note(source, version);
        }
    }

    /// What the choices before this one took of the same parts.
    fn taken_before(&self, id: ChooseId) -> Stock {
        let program = self.run.world.program;
        let mut stock = Stock::default();
        for other in taking_before(program, id) {
            let outcomes = match self.run.evaluation.per_club(Node::Choose(other)) {
                Some(PerClub::One(outcome)) => std::slice::from_ref(outcome),
                Some(PerClub::Each(outcomes)) => outcomes.as_slice(),
                _ => &[],
            };
            let other = &program.chooses[other];
            for outcome in outcomes {
                if let (Outcome::Chosen(chosen), Some(count)) = (outcome, other.takes) {
                    stock.take(other.part, chosen.item(), count);
                }
            }
        }
        stock
    }
}
