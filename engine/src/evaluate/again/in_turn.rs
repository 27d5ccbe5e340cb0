//! One player after the other, with the same parts: each evaluated from what those before him came
//! to.
//!
//! The first player is evaluated from the start. Another is the first with other readings, with
//! clubs of his own, on another day: the nodes that read these have moved, and what lies below them
//! is remembered or evaluated.

use std::collections::BTreeMap;

use loftwright_dsl::program::{GroupId, InputId, Members, Node, Program};
use loftwright_dsl::quantity::Date;

use super::AtWork;
use super::ahead::Ahead;
use super::memory::{Version, remember};
use super::sources::Sources;
use crate::evaluate::prepare::Evaluator;
use crate::evaluate::state::Evaluation;
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::NoTrace;

/// Players with the same parts, one after the other, and what was told of each.
pub(crate) struct InTurn<'a, T> {
    evaluator: &'a Evaluator<'a>,
    parts: Parts,
    first: Option<First<T>>,
    told: BTreeMap<Told, T>,
}

/// The player that was evaluated from the start.
struct First<T> {
    player: Player,
    today: Date,
    evaluation: Evaluation,
    at_work: AtWork,
    moving: Moving,
    ahead: Ahead<T>,
}

/// What reads the player or the day, with its place in the order.
struct Moving {
    inputs: Vec<(InputId, usize)>,
    /// Those that the engine fills, by the day.
    filled: Vec<usize>,
    given: Vec<(GroupId, usize)>,
    /// Limits and cautions that are not in force on every day.
    dated: Vec<usize>,
}

/// What decisions and choices came to, and the clubs that they are for: the same for two players
/// where all of these are the same. It is short, and stands for nothing outside its [`InTurn`].
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Told(pub(super) Vec<(usize, Version)>);

impl<'a, T: Clone> InTurn<'a, T> {
    /// Nobody evaluated yet.
    pub(crate) fn new(evaluator: &'a Evaluator<'a>, parts: Parts) -> Self {
        InTurn {
            evaluator,
            parts,
            first: None,
            told: BTreeMap::new(),
        }
    }

    /// The evaluator.
    pub(crate) fn evaluator(&self) -> &'a Evaluator<'a> {
        self.evaluator
    }

    /// The parts.
    pub(crate) fn parts(&self) -> &Parts {
        &self.parts
    }

    /// Evaluates a player on a day as far as need be, and has told what came of it, where nobody
    /// before came to the same. What is told must rest on nothing else than on what decisions and
    /// choices came to.
    pub(crate) fn told(
        &mut self,
        player: &Player,
        today: Date,
        tell: impl FnOnce(&Parts, &Evaluation) -> T,
    ) -> T {
        let (evaluator, parts, told) = (self.evaluator, &self.parts, &mut self.told);
        let first = self.first.get_or_insert_with(|| {
            let evaluation = evaluator.evaluate(parts, player, today, &mut NoTrace);
            let at_work = AtWork::of(evaluator, &evaluation);
            First {
                player: player.clone(),
                today,
                moving: Moving::of(evaluator.program, &at_work.sources),
                ahead: Ahead::of(evaluator.program, &at_work.sources),
                at_work,
                evaluation,
            }
        });
        let moved = first.moved(player, today);
        let world = evaluator.world(parts, player, today);
        let (base, ahead) = (&first.evaluation, &mut first.ahead);
        first.at_work.round(world, base, None, |round| {
            let from_ahead = round.ask_ahead(&moved, ahead);
            if let Some(known) = from_ahead.as_ref().and_then(|key| ahead.known(key)) {
                return known.clone();
            }
            round.go(&moved);
            // It came to so many different things before that it is not told apart any more.
            let Some(came_to) = round.told() else {
                return tell(parts, round.evaluation());
            };
            let answer = told.get(&came_to).cloned().unwrap_or_else(|| {
                let answer = tell(parts, round.evaluation());
                remember(told, came_to, answer.clone());
                answer
            });
            if let Some(from_ahead) = from_ahead {
                ahead.remember(from_ahead, answer.clone());
            }
            answer
        })
    }
}

impl Moving {
    fn of(program: &Program, sources: &Sources) -> Self {
        let place = |node| sources.place(node);
        let inputs = || program.inputs.entries();
        let filled = inputs().filter(|(_, input)| input.filled_by_the_engine);
        let given = program.groups.entries();
        let given = given.filter(|(_, group)| matches!(group.members, Members::GivenWithThePlayer));
        let limits = program.limits.entries();
        let limits = limits.filter(|(_, limit)| limit.in_force.is_some());
        let limits = limits.filter_map(|(id, _)| place(Node::Limit(id)));
        let cautions = program.cautions.entries();
        let cautions = cautions.filter(|(_, caution)| caution.in_force.is_some());
        let cautions = cautions.filter_map(|(id, _)| place(Node::Caution(id)));
        Moving {
            inputs: inputs()
                .filter_map(|(id, _)| Some((id, place(Node::Input(id))?)))
                .collect(),
            filled: filled
                .filter_map(|(id, _)| place(Node::Input(id)))
                .collect(),
            given: given
                .filter_map(|(id, _)| Some((id, place(Node::Group(id))?)))
                .collect(),
            dated: limits.chain(cautions).collect(),
        }
    }
}

impl<T> First<T> {
    /// The places of the nodes that come to something else for another player on another day,
    /// whatever they rest on: what reads the player or the day.
    fn moved(&self, player: &Player, today: Date) -> Vec<usize> {
        let inputs = self.moving.inputs.iter();
        let inputs = inputs.filter(|(id, _)| value_of(player, *id) != value_of(&self.player, *id));
        let given = self.moving.given.iter();
        let given = given.filter(|(id, _)| clubs_of(player, *id) != clubs_of(&self.player, *id));
        let mut moved: Vec<usize> = inputs.map(|(_, place)| *place).collect();
        moved.extend(given.map(|(_, place)| *place));
        if today != self.today {
            moved.extend(&self.moving.filled);
            moved.extend(&self.moving.dated);
        }
        moved
    }
}

fn value_of(player: &Player, input: InputId) -> Option<&loftwright_dsl::program::Value> {
    player.readings.get(&input).map(|reading| &reading.value)
}

fn clubs_of(player: &Player, group: GroupId) -> &[loftwright_dsl::program::Record] {
    player.given.get(&group).map_or(&[], Vec::as_slice)
}
