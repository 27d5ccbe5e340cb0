//! What each node looks at, laid out so that what changed can be told by number.
//!
//! A *source* is what can change by itself: the outcomes of a node, the clubs of a group, one field
//! of a group's clubs. A node that looks at a group's lofts does not mind its carries.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{Reads, reads};
use loftwright_dsl::program::{ChooseId, GroupId, InputId, Members, Node, Program};

use crate::contract::Maker;
use crate::evaluate::prepare::Evaluator;
use crate::evaluate::reference::widest;

/// The sources of a program, and which nodes look at which.
#[derive(Clone, Debug)]
pub(super) struct Sources {
    /// The place of each node in the program's order. It is the number of the source too: a node's
    /// outcomes, a group's clubs.
    places: BTreeMap<Node, usize>,
    /// The number of the first field of each group; the others follow.
    fields: Vec<usize>,
    /// How many there are.
    count: usize,
    /// What the node of each place looks at, in order.
    reads: Vec<Vec<usize>>,
    /// The places of the nodes that look at each source.
    users: Vec<Vec<usize>>,
    /// The places of the nodes that rest directly on the node of a place, whatever of it they look
    /// at.
    resting: Vec<Vec<usize>>,
    /// The place of the node that each source belongs to.
    owners: Vec<usize>,
    /// Which clubs are in the groups, and the kinds and numbers of these.
    telling_clubs_apart: Vec<usize>,
    /// Decisions and choices, and the clubs that they are for.
    told: Vec<usize>,
}

impl Sources {
    pub(super) fn of(evaluator: &Evaluator<'_>) -> Self {
        let program = evaluator.program;
        let order = program.order.iter().enumerate();
        let places: BTreeMap<Node, usize> = order.map(|(place, node)| (*node, place)).collect();
        let mut owners: Vec<usize> = (0..program.order.len()).collect();
        let mut fields = Vec::with_capacity(program.groups.len());
        for (id, group) in program.groups.entries() {
            fields.push(owners.len());
            let place = places.get(&Node::Group(id)).copied().unwrap_or(0);
            owners.extend(group.fields.iter().map(|_| place));
        }
        let mut sources = Sources {
            places,
            fields,
            count: owners.len(),
            reads: vec![Vec::new(); program.order.len()],
            users: vec![Vec::new(); owners.len()],
            resting: vec![Vec::new(); program.order.len()],
            owners,
            telling_clubs_apart: Vec::new(),
            told: Vec::new(),
        };
        sources.told = sources.all_told(program);
        sources.telling_clubs_apart = sources.all_telling_clubs_apart(program);
        for (node, reads) in reads(program) {
            if let Some(place) = sources.place(node) {
                let below: Vec<usize> = sources.places_of(&reads.nodes).collect();
                for below in below {
                    if let Some(resting) = sources.resting.get_mut(below) {
                        resting.push(place);
                    }
                }
                sources.add(place, sources.looked_at(evaluator, node, &reads));
            }
        }
        sources
    }

    fn places_of<'n>(
        &self,
        nodes: impl IntoIterator<Item = &'n Node>,
    ) -> impl Iterator<Item = usize> {
        nodes.into_iter().filter_map(|node| self.place(*node))
    }

    fn add(&mut self, place: usize, read: BTreeSet<usize>) {
        for source in &read {
            if let Some(users) = self.users.get_mut(*source) {
                users.push(place);
            }
        }
        if let Some(reads) = self.reads.get_mut(place) {
            *reads = read.into_iter().collect();
        }
    }

    /// The sources that a node looks at.
    fn looked_at(&self, evaluator: &Evaluator<'_>, node: Node, reads: &Reads) -> BTreeSet<usize> {
        let program = evaluator.program;
        let clubs_of = reads.clubs_of.iter().map(|group| Node::Group(*group));
        let nodes = reads.nodes.iter().copied().chain(clubs_of);
        let mut found: BTreeSet<usize> = nodes.filter_map(|node| self.place(node)).collect();
        let fields = reads.fields.iter();
        found.extend(fields.filter_map(|(group, field)| self.field(*group, *field)));
        match node {
            Node::Group(id) => {
                let from = reads.nodes.iter().filter_map(|node| match node {
                    Node::Group(group) => Some(*group),
                    _ => None,
                });
                found.extend(self.looked_at_by_maker(evaluator, id, from));
            }
            Node::Decision(id) => {
                let kept = evaluator.kept_field(&program.decisions[id]);
                found.extend(kept.and_then(|(group, field)| self.field(group, field)));
            }
            Node::Choose(id) => {
                // What these took is not there any more.
                let before = taking_before(program, id).map(Node::Choose);
                found.extend(before.filter_map(|node| self.place(node)));
            }
            _ => {}
        }
        found
    }

    /// The fields of other groups that the maker of a group looks at.
    fn looked_at_by_maker(
        &self,
        evaluator: &Evaluator<'_>,
        made: GroupId,
        from: impl Iterator<Item = GroupId>,
    ) -> Vec<usize> {
        let program = evaluator.program;
        if let Some(Ok(Maker::Assemble(names))) = evaluator.maker(made) {
            let fields = names.club_fields().into_iter();
            return fields
                .filter_map(|field| self.field(names.club, field))
                .collect();
        }
        if !matches!(program.groups[made].members, Members::MadeBy { .. }) {
            return Vec::new();
        }
        let all = from.flat_map(|group| {
            let owner = widest(program, group);
            (0..program.groups[owner].fields.len()).map(move |field| (owner, field))
        });
        all.filter_map(|(group, field)| self.field(group, field))
            .collect()
    }

    fn all_telling_clubs_apart(&self, program: &Program) -> Vec<usize> {
        let mut found = Vec::new();
        for (id, group) in program.groups.entries() {
            found.extend(self.place(Node::Group(id)));
            for name in ["kind", "number"] {
                let field = group.field_index(name);
                found.extend(field.and_then(|field| self.field(id, field)));
            }
        }
        found
    }

    fn all_told(&self, program: &Program) -> Vec<usize> {
        let is_told = |source: &usize| {
            let owner = self.owners.get(*source);
            let node = owner.and_then(|place| program.order.get(*place));
            let told = |node| matches!(node, Node::Decision(_) | Node::Choose(_) | Node::Group(_));
            node.copied().is_some_and(told)
        };
        (0..self.count).filter(is_told).collect()
    }

    /// What decisions and choices come to, and all of the clubs that they are for.
    pub(super) fn told(&self) -> &[usize] {
        &self.told
    }

    pub(super) fn telling_clubs_apart(&self) -> &[usize] {
        &self.telling_clubs_apart
    }

    pub(super) fn count(&self) -> usize {
        self.count
    }

    pub(super) fn place(&self, node: Node) -> Option<usize> {
        self.places.get(&node).copied()
    }

    /// The number of a field of a group that has fields of its own.
    pub(super) fn field(&self, group: GroupId, field: usize) -> Option<usize> {
        Some(self.fields.get(group.index())? + field)
    }

    /// The place of the node that each source belongs to, by the sources' numbers.
    pub(super) fn owners(&self) -> &[usize] {
        &self.owners
    }

    pub(super) fn users_of(&self, source: usize) -> &[usize] {
        self.users.get(source).map_or(&[], Vec::as_slice)
    }

    pub(super) fn read_at(&self, place: usize) -> &[usize] {
        self.reads.get(place).map_or(&[], Vec::as_slice)
    }

    /// The nodes that rest on a reading, directly or through others; the reading is one of them.
    pub(super) fn above(&self, program: &Program, input: InputId) -> BTreeSet<Node> {
        let mut found = BTreeSet::new();
        let mut waiting: Vec<usize> = self.place(Node::Input(input)).into_iter().collect();
        while let Some(place) = waiting.pop() {
            let Some(node) = program.order.get(place) else {
                continue;
            };
            if !found.insert(*node) {
                continue;
            }
            waiting.extend(self.resting.get(place).into_iter().flatten());
        }
        found
    }

    /// For each place whether one of these nodes rests on it, or is it.
    pub(super) fn below(&self, nodes: &BTreeSet<Node>) -> Vec<bool> {
        let mut found = vec![false; self.reads.len()];
        let mut waiting: Vec<usize> = nodes.iter().filter_map(|node| self.place(*node)).collect();
        while let Some(place) = waiting.pop() {
            if let Some(is_found) = found.get_mut(place)
                && !std::mem::replace(is_found, true)
            {
                let read = self.read_at(place).iter();
                waiting.extend(read.filter_map(|source| self.owners.get(*source)));
            }
        }
        found
    }
}

/// The choices before this one that take of the same parts, in order.
pub(super) fn taking_before(
    program: &Program,
    id: ChooseId,
) -> impl Iterator<Item = ChooseId> + '_ {
    let before = program
        .order
        .iter()
        .take_while(move |node| **node != Node::Choose(id));
    before.filter_map(move |node| match node {
        Node::Choose(other)
            if program.chooses[*other].takes.is_some()
                && program.chooses[*other].part == program.chooses[id].part =>
        {
            Some(*other)
        }
        _ => None,
    })
}
