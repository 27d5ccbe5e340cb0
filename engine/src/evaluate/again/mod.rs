//! What lies below readings that moved, evaluated again; everything else stays as it was.
//!
//! To ask "and if the reading were another?" some hundred times, most nodes need not be looked at:
//! those that do not rest on the reading, those that rest on it through something that came out the
//! same, and those that look at nothing that they have not looked at before. [`Again`] holds an
//! evaluation, moves readings, goes over the program's order and evaluates only nodes that are
//! left, hands the result to be looked at and puts back what was there. It is the one evaluator
//! that does it, node by node; what comes out is what an evaluation from the start would say.
//! [`InTurn`] does the same for many players: another player is the first one with other readings.
//!
//! | module | what it does |
//! | --- | --- |
//! | `sources` | what can change by itself, and which node looks at what |
//! | `memory` | what nodes came to before |
//! | `round` | once over the program's order |
//! | `in_turn` | one player after the other |
//! | `ahead` | which nodes are asked before the others, and what the others came to then |

mod ahead;
mod in_turn;
mod memory;
mod round;
mod sources;

use std::collections::BTreeSet;

use loftwright_dsl::program::{InputId, Node, Value};
use loftwright_dsl::quantity::Date;

pub(crate) use self::in_turn::InTurn;
use self::in_turn::Told;
use self::memory::Memory;
use self::round::Round;
use self::sources::Sources;
use super::expression::World;
use super::models::Flown;
use super::prepare::Evaluator;
use super::run::Run;
use super::state::Evaluation;
use crate::parts::Parts;
use crate::player::{Player, Reading};
use crate::trace::NoTrace;

/// An evaluation of which readings can be moved.
pub(crate) struct Again<'a> {
    evaluator: &'a Evaluator<'a>,
    parts: &'a Parts,
    today: Date,
    base: &'a Evaluation,
    player: &'a Player,
    /// Made when it is first asked for.
    at_work: Option<(Player, AtWork)>,
}

/// An evaluation to work on, and what is remembered of it.
struct AtWork {
    sources: Sources,
    memory: Memory,
    flown: Flown,
    evaluation: Evaluation,
}

/// What came out otherwise than before.
pub(crate) struct Changed {
    /// The nodes whose outcomes changed, in order.
    pub(crate) nodes: Vec<Node>,
    /// Whether a group has other clubs, or clubs of other kinds or numbers.
    pub(crate) are_clubs_new: bool,
}

impl<'a> Again<'a> {
    /// `base` is the evaluation of this player, with these parts on this day.
    pub(crate) fn new(
        evaluator: &'a Evaluator<'a>,
        parts: &'a Parts,
        player: &'a Player,
        today: Date,
        base: &'a Evaluation,
    ) -> Self {
        Again {
            evaluator,
            parts,
            today,
            base,
            player,
            at_work: None,
        }
    }

    /// The evaluation as it was made.
    pub(crate) fn base(&self) -> &'a Evaluation {
        self.base
    }

    /// The nodes that rest on one of the readings, directly or through others.
    pub(crate) fn above(&mut self, inputs: impl Iterator<Item = InputId>) -> BTreeSet<Node> {
        let program = self.evaluator.program;
        let (_, at_work) = self.at_work();
        inputs
            .flat_map(|input| at_work.sources.above(program, input))
            .collect()
    }

    /// Moves readings, evaluates what lies below them, has it looked at, and puts all back. Where
    /// only some nodes are wanted, others are not evaluated and may stay what they were.
    pub(crate) fn moved<R>(
        &mut self,
        readings: &[(InputId, Value)],
        wanted: Option<&BTreeSet<Node>>,
        look: impl FnOnce(&Evaluation, &Changed) -> R,
    ) -> R {
        let (evaluator, parts, today, base) = (self.evaluator, self.parts, self.today, self.base);
        let (player, at_work) = self.at_work();
        let before: Vec<(InputId, Option<Reading>)> = readings
            .iter()
            .map(|(input, value)| (*input, set(player, *input, value.clone())))
            .collect();
        let inputs = readings.iter().map(|(input, _)| Node::Input(*input));
        let inputs = inputs.filter_map(|input| at_work.sources.place(input));
        let inputs: Vec<usize> = inputs.collect();
        let world = evaluator.world(parts, player, today);
        let answer = at_work.round(world, base, wanted, |round| {
            round.go(&inputs);
            look(round.evaluation(), &round.changed())
        });
        restore(player, before);
        answer
    }

    fn at_work(&mut self) -> &mut (Player, AtWork) {
        self.at_work
            .get_or_insert_with(|| (self.player.clone(), AtWork::of(self.evaluator, self.base)))
    }
}

impl AtWork {
    fn of(evaluator: &Evaluator<'_>, base: &Evaluation) -> Self {
        AtWork {
            sources: Sources::of(evaluator),
            memory: Memory::of(evaluator.program),
            flown: Flown::default(),
            evaluation: base.clone(),
        }
    }

    /// A round, after which what was there is put back.
    fn round<R>(
        &mut self,
        world: World<'_>,
        base: &Evaluation,
        wanted: Option<&BTreeSet<Node>>,
        go: impl FnOnce(&mut Round<'_, '_>) -> R,
    ) -> R {
        let world = World {
            flown: Some(&self.flown),
            ..world
        };
        let is_wanted = wanted.map(|nodes| self.sources.below(nodes));
        let evaluation = std::mem::take(&mut self.evaluation);
        let mut no_trace = NoTrace;
        let mut round = Round::new(
            Run::over(world, evaluation, &mut no_trace),
            &self.sources,
            &mut self.memory,
            base,
            is_wanted,
        );
        let answer = go(&mut round);
        self.evaluation = round.put_back();
        answer
    }
}

fn set(player: &mut Player, input: InputId, value: Value) -> Option<Reading> {
    let moved = Reading {
        value,
        spread: None,
        shots: 1,
    };
    player.readings.insert(input, moved)
}

fn restore(player: &mut Player, readings: Vec<(InputId, Option<Reading>)>) {
    for (input, reading) in readings.into_iter().rev() {
        match reading {
            Some(reading) => player.readings.insert(input, reading),
            None => player.readings.remove(&input),
        };
    }
}
