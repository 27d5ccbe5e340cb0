//! Everything an explanation looks at, in one place: the program, what was evaluated, and which
//! club of which group is meant.

use std::collections::BTreeMap;

use loftwright_dsl::program::{GroupId, Node, Program};
use loftwright_dsl::quantity::Date;

use super::groups::Groups;
use super::names::ClubNames;
use super::words::{listed, quoted};
use crate::evaluate::Evaluation;
use crate::outcome::{Outcome, Place};
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::{CompactTrace, Entry};

/// One evaluation with all that it was made from.
pub(crate) struct View<'a> {
    /// The rules.
    pub(crate) program: &'a Program,
    /// Catalogue and stock.
    pub(crate) parts: &'a Parts,
    /// The player.
    pub(crate) player: &'a Player,
    /// The day of the answer.
    pub(crate) today: Date,
    /// What each node came to, and how, in the order of evaluation.
    pub(crate) trace: &'a CompactTrace,
    /// The clubs of the groups.
    pub(crate) groups: Groups<'a>,
    entries: BTreeMap<Place, &'a Entry>,
    /// By node, in the order of evaluation.
    of_nodes: BTreeMap<Node, Vec<&'a Entry>>,
    names: ClubNames,
}

impl<'a> View<'a> {
    /// Looks at an evaluation and its trace.
    pub(crate) fn new(
        program: &'a Program,
        parts: &'a Parts,
        player: &'a Player,
        today: Date,
        evaluation: &'a Evaluation,
        trace: &'a CompactTrace,
    ) -> Self {
        let entries = trace
            .entries
            .iter()
            .map(|entry| (entry.place, entry))
            .collect();
        let mut of_nodes: BTreeMap<Node, Vec<&Entry>> = BTreeMap::new();
        for entry in &trace.entries {
            of_nodes.entry(entry.place.node).or_default().push(entry);
        }
        let groups = Groups::new(program, evaluation);
        let mut view = View {
            program,
            parts,
            player,
            today,
            trace,
            groups,
            entries,
            of_nodes,
            names: ClubNames::default(),
        };
        view.names = ClubNames::of(&view);
        view
    }

    /// What a node came to for a club, and how.
    pub(crate) fn entry(&self, place: Place) -> Option<&'a Entry> {
        self.entries.get(&place).copied()
    }

    /// What a node came to for a club.
    pub(crate) fn outcome(&self, place: Place) -> Option<&'a Outcome> {
        self.groups.outcome(place)
    }

    /// Every club of a node with its outcome, in the order of evaluation.
    pub(crate) fn entries_of(&self, node: Node) -> impl Iterator<Item = &'a Entry> {
        self.of_nodes.get(&node).into_iter().flatten().copied()
    }

    /// The group a node is evaluated for.
    pub(crate) fn group_of(&self, node: Node) -> Option<GroupId> {
        self.program.group_of(node)
    }

    /// The name of a node's declaration.
    pub(crate) fn name_of(&self, node: Node) -> &'a str {
        self.program.name_of(node)
    }

    /// What the bench calls a club of a group: `7 iron`, `kept 2`.
    pub(crate) fn club_name(&self, group: GroupId, member: usize) -> String {
        self.names.of_member(self, group, member)
    }

    /// What the bench calls the club that a place speaks of.
    pub(crate) fn club_of(&self, place: Place) -> Option<String> {
        let group = self.group_of(place.node)?;
        Some(self.club_name(group, place.member?))
    }

    /// ``the group `wedge` ``, ``the reading `height` ``, or the name of anything else.
    pub(crate) fn node_text(&self, node: Node) -> String {
        let name = quoted(self.name_of(node));
        match node {
            Node::Group(_) => format!("the group {name}"),
            _ => name,
        }
    }

    /// Places in words: clubs of one node together, nodes of the same clubs together, such as
    /// `club_length` and `club_grip` of the 7 iron and the 8 iron.
    pub(crate) fn places_text<'p>(&self, places: impl Iterator<Item = &'p Place>) -> Vec<String> {
        let mut clubs_of_nodes: BTreeMap<Node, Vec<String>> = BTreeMap::new();
        for place in places {
            let clubs = clubs_of_nodes.entry(place.node).or_default();
            clubs.extend(self.club_of(*place).map(|club| format!("the {club}")));
        }
        let mut together: Vec<(Vec<String>, Vec<String>)> = Vec::new();
        for (node, clubs) in clubs_of_nodes {
            let name = self.node_text(node);
            let same = together
                .iter_mut()
                .find(|(known, _)| !clubs.is_empty() && *known == clubs);
            match same {
                Some((_, names)) => names.push(name),
                None => together.push((clubs, vec![name])),
            }
        }
        let text = |(clubs, names): (Vec<String>, Vec<String>)| match clubs.as_slice() {
            [] => listed(&names),
            clubs => format!("{} of {}", listed(&names), listed(clubs)),
        };
        together.into_iter().map(text).collect()
    }
}
