//! How a node of the program moves with the readings of a range, club by club.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Choose, Expression, GroupId, Members, Node, Order, Program};
use loftwright_dsl::quantity::{Date, Rational};

use super::expressions::Here;
use super::motion::{Line, Motion, Piece};
use crate::evaluate::Evaluation;
use crate::explain::expressions_of_choose;
use crate::outcome::{Outcome, Place};
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::{CompactTrace, Entry};

/// Follows values over one piece of a range, from one evaluation inside it.
pub(super) struct Follower<'a> {
    pub(super) program: &'a Program,
    pub(super) parts: &'a Parts,
    pub(super) player: &'a Player,
    pub(super) today: Date,
    pub(super) evaluation: &'a Evaluation,
    /// The readings that move and the cuts found so far.
    pub(super) piece: Piece,
    pub(super) trace: &'a CompactTrace,
    entries: BTreeMap<Place, &'a Entry>,
    /// The places before each along the bag.
    before: BTreeMap<Place, Place>,
    places: BTreeMap<Place, Motion>,
    groups: BTreeMap<GroupId, Motion>,
}

impl<'a> Follower<'a> {
    pub(super) fn new(
        program: &'a Program,
        parts: &'a Parts,
        (player, today): (&'a Player, Date),
        (evaluation, trace): (&'a Evaluation, &'a CompactTrace),
        piece: Piece,
    ) -> Self {
        let entries = trace.entries.iter().map(|entry| (entry.place, entry));
        let pairs = trace.entries.iter().zip(trace.entries.iter().skip(1));
        let before = pairs
            .filter(|(one, next)| one.place.node == next.place.node)
            .map(|(one, next)| (next.place, one.place));
        Follower {
            program,
            parts,
            player,
            today,
            evaluation,
            piece,
            trace,
            entries: entries.collect(),
            before: before.collect(),
            places: BTreeMap::new(),
            groups: BTreeMap::new(),
        }
    }

    /// How every club of a node moves: the first that is not still stands for all.
    pub(super) fn node(&mut self, node: Node) -> Vec<Motion> {
        let mut motions: Vec<Motion> = self
            .program
            .group_of(node)
            .map(|group| self.group(group))
            .into_iter()
            .collect();
        let places: Vec<Place> = self.places_of(node);
        motions.extend(
            places
                .into_iter()
                .map(|place| self.place(place.node, place.member)),
        );
        motions
    }

    fn places_of(&self, node: Node) -> Vec<Place> {
        let first = Place { node, member: None };
        self.entries
            .range(first..)
            .map(|(place, _)| *place)
            .take_while(|place| place.node == node)
            .collect()
    }

    /// How one place moves.
    pub(super) fn place(&mut self, node: Node, member: Option<usize>) -> Motion {
        let place = Place { node, member };
        if let Some(known) = self.places.get(&place) {
            return known.clone();
        }
        let here = Here {
            club: self.program.group_of(node).zip(member),
            previous: self.before.get(&place).copied(),
        };
        let program = self.program;
        let motion = match node {
            Node::Input(id) => self.input(id),
            Node::Let(id) => match program.lets[id].constant {
                Some(_) => Motion::Still,
                None => self.expression(&program.lets[id].value, here),
            },
            Node::Group(id) => self.group(id),
            Node::Decision(id) => {
                let entry = self.entries.get(&place).copied();
                self.decision(&program.decisions[id], entry, here)
            }
            Node::Choose(id) => self.choose(&program.chooses[id], here),
            Node::Limit(id) => {
                let limit = &program.limits[id];
                let days = limit.in_force.is_some();
                self.condition(&limit.condition, limit.only_when.as_ref(), days, here)
            }
            Node::Caution(id) => {
                let caution = &program.cautions[id];
                let days = caution.in_force.is_some();
                self.condition(&caution.condition, caution.only_when.as_ref(), days, here)
            }
        };
        self.places.insert(place, motion.clone());
        motion
    }

    fn input(&mut self, id: loftwright_dsl::program::InputId) -> Motion {
        let asked = self.program.inputs[id].only_when.as_ref();
        let condition = self.still_together(asked, Here::default());
        let place = Place {
            node: Node::Input(id),
            member: None,
        };
        let is_there = matches!(self.evaluation.outcome(place), Some(Outcome::Decided(_)));
        if condition == Motion::Still && is_there && self.piece.open.contains_key(&id) {
            return Motion::Line(Line {
                input: id,
                slope: Rational::ONE,
                offset: Rational::ZERO,
            });
        }
        condition
    }

    fn condition(
        &mut self,
        condition: &Expression,
        only_when: Option<&Expression>,
        has_days: bool,
        here: Here,
    ) -> Motion {
        let moves_the_day = |input: &loftwright_dsl::program::InputId| {
            self.program.inputs[*input].filled_by_the_engine
        };
        if has_days && self.piece.open.keys().any(moves_the_day) {
            return Motion::Lost("the days on which it is in force".to_owned());
        }
        match self.still_together(only_when, here) {
            Motion::Still => self.expression(condition, here),
            other => other,
        }
    }

    /// How the clubs of a group come about, their fields included.
    pub(super) fn group(&mut self, id: GroupId) -> Motion {
        if let Some(known) = self.groups.get(&id) {
            return known.clone();
        }
        let program = self.program;
        let name = &program.groups[id].name;
        let motion = match &program.groups[id].members {
            Members::GivenWithThePlayer => Motion::Still,
            Members::AsManyAs(count) => self.expression(count, Here::default()),
            Members::MadeBy { from, .. } => {
                let mut together = Motion::Still;
                for motion in from.iter().flat_map(|node| self.node(*node)) {
                    if together == Motion::Still {
                        together = motion;
                    }
                }
                together
            }
            Members::Where { of, condition } => match self.group(*of) {
                Motion::Still => self.for_each_club(*of, condition),
                other => other,
            },
        };
        let motion = motion.or_lost(|| format!("how the group `{name}` is made"));
        self.groups.insert(id, motion.clone());
        motion
    }

    fn for_each_club(&mut self, group: GroupId, expression: &Expression) -> Motion {
        let size = self.evaluation.members(group).map_or(0, <[_]>::len);
        for member in 0..size {
            let here = Here {
                club: Some((group, member)),
                previous: None,
            };
            let motion = self.still_together([expression], here);
            if motion != Motion::Still {
                return motion;
            }
        }
        Motion::Still
    }

    /// The order along the bag.
    pub(super) fn order(&mut self, group: GroupId, order: Option<&Order>) -> Motion {
        match order {
            None => Motion::Still,
            Some(order) => self
                .for_each_club(group, &order.key)
                .or_lost(|| "the order along the bag".to_owned()),
        }
    }

    /// A choice is still where all that it looks at is; how parts compete is not followed.
    fn choose(&mut self, choose: &Choose, here: Here) -> Motion {
        let mut together = Motion::Still;
        for after in &choose.after {
            for motion in self.node(Node::Choose(*after)) {
                if together == Motion::Still {
                    together = motion;
                }
            }
        }
        if together == Motion::Still
            && let Some(each) = &choose.for_each
        {
            together = self.order(each.group, each.order.as_ref());
        }
        if together == Motion::Still {
            together = self.still_together(expressions_of_choose(choose), here);
        }
        match together {
            Motion::Still => Motion::Still,
            _ => Motion::Lost(format!("the choice of parts `{}`", choose.name)),
        }
    }
}
