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
use crate::trace::{CompactTrace, How};

/// A node for a club, or for none: what it came to, and how.
pub(crate) struct Evaluated<'a> {
    /// Which.
    pub(crate) place: Place,
    /// What it came to.
    pub(crate) outcome: &'a Outcome,
    /// How.
    pub(crate) how: &'a How,
}

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
    /// What was asked on the way.
    pub(crate) trace: &'a CompactTrace,
    /// The clubs of the groups.
    pub(crate) groups: Groups<'a>,
    /// Every node for every club, in the order of evaluation.
    evaluated: Vec<Evaluated<'a>>,
    /// Where each stands there.
    places: BTreeMap<Place, usize>,
    /// By node, in the order of evaluation.
    of_nodes: BTreeMap<Node, Vec<usize>>,
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
        let evaluated = trace.entries.iter().filter_map(|entry| {
            Some(Evaluated {
                place: entry.place,
                outcome: evaluation.outcome(entry.place)?,
                how: &entry.how,
            })
        });
        let evaluated: Vec<Evaluated<'_>> = evaluated.collect();
        let mut places = BTreeMap::new();
        let mut of_nodes: BTreeMap<Node, Vec<usize>> = BTreeMap::new();
        for (index, it) in evaluated.iter().enumerate() {
            places.insert(it.place, index);
            of_nodes.entry(it.place.node).or_default().push(index);
        }
        let groups = Groups::new(program, evaluation);
        let mut view = View {
            program,
            parts,
            player,
            today,
            trace,
            groups,
            evaluated,
            places,
            of_nodes,
            names: ClubNames::default(),
        };
        view.names = ClubNames::of(&view);
        view
    }

    /// What a node came to for a club, and how.
    pub(crate) fn at(&self, place: Place) -> Option<&Evaluated<'a>> {
        self.evaluated.get(*self.places.get(&place)?)
    }

    /// Every node for every club, in the order of evaluation.
    pub(crate) fn evaluated(&self) -> &[Evaluated<'a>] {
        &self.evaluated
    }

    /// What a node came to for a club.
    pub(crate) fn outcome(&self, place: Place) -> Option<&'a Outcome> {
        self.groups.outcome(place)
    }

    /// A node for every club, in the order of evaluation.
    pub(crate) fn evaluated_for(&self, node: Node) -> impl Iterator<Item = &Evaluated<'a>> {
        let places = self.of_nodes.get(&node).into_iter().flatten();
        places.filter_map(|index| self.evaluated.get(*index))
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
