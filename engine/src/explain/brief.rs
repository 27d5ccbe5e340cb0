//! What every decision and choice came to, without the reasons: what is held against another
//! evaluation of the same player.
//!
//! Of many players, one after the other, most come to what some player before them came to: then it
//! need not be told again ([`Briefings`]).

use std::collections::BTreeMap;

use loftwright_dsl::program::{Node, Program};
use loftwright_dsl::quantity::Date;

use super::decisions::{self, ending_of, value_at};
use super::view::View;
use crate::evaluate::again::InTurn;
use crate::evaluate::{Evaluation, Evaluator};
use crate::outcome::Place;
use crate::parts::Parts;
use crate::player::Player;
use crate::recommendation::{DecisionReport, Ending, ShownValue};
use crate::trace::CompactTrace;

/// What one decision or choice came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brief<'a> {
    /// Its name in the ruleset.
    pub name: &'a str,
    /// The club, where it is decided for each.
    pub club: Option<String>,
    /// How it ended.
    pub ending: Ending,
    /// The value, or the part's code.
    pub value: Option<ShownValue>,
}

/// One evaluation, and what it is told from.
pub struct Briefing<'a> {
    program: &'a Program,
    parts: &'a Parts,
    player: &'a Player,
    today: Date,
    evaluation: Evaluation,
    trace: CompactTrace,
}

impl<'a> Briefing<'a> {
    /// Evaluates.
    pub fn of(
        evaluator: &Evaluator<'a>,
        parts: &'a Parts,
        player: &'a Player,
        today: Date,
    ) -> Self {
        let mut trace = CompactTrace::default();
        let evaluation = evaluator.evaluate(parts, player, today, &mut trace);
        Briefing {
            program: evaluator.program(),
            parts,
            player,
            today,
            evaluation,
            trace,
        }
    }

    fn view(&self) -> View<'_> {
        View::new(
            self.program,
            self.parts,
            self.player,
            self.today,
            &self.evaluation,
            &self.trace,
        )
    }

    /// What every decision and choice came to, as far as a recommendation tells it, in its order.
    pub fn briefs(&self) -> Vec<Brief<'a>> {
        briefs(self.program, &self.view())
    }

    /// The same with the reasons, without how sure each is.
    pub fn reports(&self) -> Vec<DecisionReport> {
        decisions::reports(&self.view(), BTreeMap::new())
    }
}

/// Of the trace of a view nothing is looked at.
fn briefs<'a>(program: &'a Program, view: &View<'_>) -> Vec<Brief<'a>> {
    let told = decisions::told(view);
    let nodes = program.order.iter().copied();
    let nodes = nodes.filter(|node| matches!(node, Node::Decision(_) | Node::Choose(_)));
    let places = nodes.flat_map(|node| view.groups.places_of(view, node));
    let brief = |place: Place| {
        let outcome = view.outcome(place)?;
        Some(Brief {
            name: program.name_of(place.node),
            club: view.club_of(place),
            ending: ending_of(outcome),
            value: value_at(view, place, outcome),
        })
    };
    places
        .filter(|place| told(place))
        .filter_map(brief)
        .collect()
}

/// What the decisions of players come to, one player after the other, with the same parts: for each
/// what is told of his [`Brief`]s.
pub struct Briefings<'a, T> {
    in_turn: InTurn<'a, T>,
    tell: fn(&[Brief<'_>]) -> T,
}

impl<'a, T: Clone> Briefings<'a, T> {
    /// Nobody evaluated yet. What is told must not rest on the order of the clubs of a decision:
    /// that of a player before may be told.
    pub fn new(evaluator: &'a Evaluator<'a>, parts: Parts, tell: fn(&[Brief<'_>]) -> T) -> Self {
        Briefings {
            in_turn: InTurn::new(evaluator, parts),
            tell,
        }
    }

    /// What is told of a player on a day.
    pub fn told(&mut self, player: &Player, today: Date) -> T {
        let (program, tell) = (self.in_turn.evaluator().program(), self.tell);
        self.in_turn.told(player, today, |parts, evaluation| {
            let no_trace = CompactTrace::default();
            let view = View::new(program, parts, player, today, evaluation, &no_trace);
            tell(&briefs(program, &view))
        })
    }

    /// The player by himself, evaluated from the start.
    pub fn from_the_start<'b>(&'b self, player: &'b Player, today: Date) -> Briefing<'b> {
        Briefing::of(
            self.in_turn.evaluator(),
            self.in_turn.parts(),
            player,
            today,
        )
    }
}
