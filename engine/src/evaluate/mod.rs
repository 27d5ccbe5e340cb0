//! The evaluator: a program, parts, a player and a day become an outcome for every node and club.
//!
//! The nodes of the program are evaluated once each, in the program's order, which puts every node
//! after what it rests on. A node for each of a group is evaluated for its clubs in the stated
//! order along the bag. Everything on the way to a decision is exact; the models alone compute with
//! floats, and their answers are rounded to exact numbers before anything is decided by them.
//!
//! | module | what it does |
//! | --- | --- |
//! | [`state`] | holds the outcomes, the groups and their clubs |
//! | `expression`, `operators`, `reference`, `aggregate`, `models` | the state of an expression |
//! | `run` | the nodes in order, each for the bag or for its clubs |
//! | `rows` | where a row is matched |
//! | `decision`, `steps`, `progression` | a decision's value; its steps; along the bag |
//! | `group` | the clubs of a group |
//! | `make_candidates`, `make_plan`, `make_bag`, `make_built` | the makers at work |
//! | `lofts` | the lofts on hand, worked out with the shelves |
//! | `choose` | a part for a club: candidates, needs, preferences, the ladder |
//! | `node` | readings, lets, limits and cautions |
//! | `algebra` | how outcomes become states and back, how causes merge |
//! | `again` | what lies below readings that moved, and nothing else, evaluated once more |
//! | `budget` | the step budget |
//! | [`prepare`] | what is looked up by name once for a program |
//!
//! The trace is a by-product: the evaluator is generic over where it goes, and with
//! [`crate::trace::NoTrace`] nothing is gathered for it. The outcomes are the same. Models that are
//! asked while candidates are tried are not recorded one by one, only again for the candidate that
//! is taken.

pub(crate) mod again;
mod aggregate;
mod algebra;
mod budget;
pub(crate) mod choose;
mod decision;
mod expression;
mod group;
pub(crate) mod lofts;
mod make_bag;
mod make_built;
mod make_candidates;
mod make_plan;
mod models;
mod node;
mod operators;
pub mod prepare;
mod progression;
mod reference;
mod rows;
mod run;
pub mod state;
mod steps;

use loftwright_dsl::program::{Expression, GroupId, Node, Program};
use loftwright_dsl::quantity::Date;

use self::expression::{Asker, At, World};
pub use self::prepare::Evaluator;
use self::run::Run;
use self::state::PerClub;
pub use self::state::{Club, Evaluation};
use crate::outcome::{Place, State};
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::{NoTrace, TraceSink};

/// Evaluates a program once. To evaluate it many times, keep an [`Evaluator`].
pub fn evaluate<S: TraceSink>(
    program: &Program,
    parts: &Parts,
    player: &Player,
    today: Date,
    sink: &mut S,
) -> Evaluation {
    Evaluator::new(program).evaluate(parts, player, today, sink)
}

impl Evaluator<'_> {
    /// What one evaluation stands on; no flight is remembered from another.
    fn world<'a>(&'a self, parts: &'a Parts, player: &'a Player, today: Date) -> World<'a> {
        World {
            program: self.program,
            prepared: self,
            parts,
            player,
            today,
            flown: None,
        }
    }

    /// Every node of the program for this player, on this day, with these parts.
    pub fn evaluate<S: TraceSink>(
        &self,
        parts: &Parts,
        player: &Player,
        today: Date,
        sink: &mut S,
    ) -> Evaluation {
        Run::new(self.world(parts, player, today), sink).evaluate()
    }

    /// The places of a node of an evaluation, in the order in which they were evaluated.
    pub(crate) fn places_of(
        &self,
        evaluation: &Evaluation,
        parts: &Parts,
        player: &Player,
        today: Date,
        node: Node,
    ) -> Vec<Place> {
        let for_each = match node {
            Node::Decision(id) => self.program.decisions[id].for_each.as_ref(),
            Node::Choose(id) => self.program.chooses[id].for_each.as_ref(),
            _ => None,
        };
        let place = |member| Place { node, member };
        match (evaluation.per_club(node), for_each) {
            (None | Some(PerClub::Nothing), _) => Vec::new(),
            (Some(PerClub::One(_)), _) => vec![place(None)],
            (Some(PerClub::Each(outcomes)), Some(each)) if each.order.is_some() => {
                let world = self.world(parts, player, today);
                let mut no_trace = NoTrace;
                let mut asker = Asker::new(world, evaluation, &mut no_trace, place(None));
                let order = asker.order_along(each, outcomes.len()).into_iter();
                order.map(|member| place(Some(member))).collect()
            }
            (Some(PerClub::Each(outcomes)), _) => {
                let members = (0..outcomes.len()).map(Some);
                members.map(place).collect()
            }
        }
    }

    /// As [`Evaluation::evaluate_at`], of an evaluation of this evaluator's program.
    pub(crate) fn state_at(
        &self,
        evaluation: &Evaluation,
        parts: &Parts,
        player: &Player,
        today: Date,
        expression: &Expression,
        club: Option<(GroupId, usize)>,
    ) -> State {
        let world = self.world(parts, player, today);
        let Some(node) = self.program.order.last() else {
            return State::None;
        };
        // The place is only named in the trace of models, and none is kept.
        let place = Place {
            node: *node,
            member: None,
        };
        let at = At {
            club,
            ..At::default()
        };
        let answer = Asker::new(world, evaluation, &mut NoTrace, place).ask(expression, at);
        answer.unwrap_or_else(|_| State::Undecided(Box::default()))
    }
}

impl Evaluation {
    /// The state of an expression for a club (a group and a place in it) after the fact, for the
    /// `{values}` of texts. The order along the bag is the group's own. An expression that ends in
    /// a fault is undecided without a cause.
    pub fn evaluate_at(
        &self,
        program: &Program,
        parts: &Parts,
        player: &Player,
        today: Date,
        expression: &Expression,
        club: Option<(GroupId, usize)>,
    ) -> State {
        let evaluator = Evaluator::new(program);
        evaluator.state_at(self, parts, player, today, expression, club)
    }
}
