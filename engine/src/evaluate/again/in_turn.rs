//! One player after the other, with the same parts: each evaluated from what those before him came
//! to.
//!
//! The first player is evaluated from the start. Another is the first with other readings, with
//! clubs of his own, on another day: the nodes that read these have moved, and what lies below them
//! is remembered or evaluated.

use loftwright_dsl::program::{GroupId, InputId, Members, Node, Program};
use loftwright_dsl::quantity::Date;

use super::AtWork;
use super::memory::Version;
use crate::evaluate::prepare::Evaluator;
use crate::evaluate::state::Evaluation;
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::NoTrace;

/// Players with the same parts, one after the other.
pub(crate) struct InTurn<'a> {
    evaluator: &'a Evaluator<'a>,
    parts: Parts,
    first: Option<First>,
}

/// The player that was evaluated from the start.
struct First {
    player: Player,
    today: Date,
    evaluation: Evaluation,
    at_work: AtWork,
}

/// What decisions and choices came to, and the clubs that they are for: the same for two players
/// where all of these are the same. It is short, and stands for nothing outside its [`InTurn`].
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Told(pub(super) Vec<(usize, Version)>);

impl<'a> InTurn<'a> {
    /// Nobody evaluated yet.
    pub(crate) fn new(evaluator: &'a Evaluator<'a>, parts: Parts) -> Self {
        InTurn {
            evaluator,
            parts,
            first: None,
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

    /// Evaluates a player on a day and has it looked at; `None` stands for what came to so many
    /// different things before that it is not told apart any more.
    pub(crate) fn evaluated<R>(
        &mut self,
        player: &Player,
        today: Date,
        look: impl FnOnce(&Parts, &Evaluation, Option<Told>) -> R,
    ) -> R {
        let (evaluator, parts) = (self.evaluator, &self.parts);
        let first = self.first.get_or_insert_with(|| {
            let evaluation = evaluator.evaluate(parts, player, today, &mut NoTrace);
            First {
                player: player.clone(),
                today,
                at_work: AtWork::of(evaluator, &evaluation),
                evaluation,
            }
        });
        let moved = first.moved(evaluator.program, player, today);
        let world = evaluator.world(parts, player, today);
        let look = |round: &super::Round<'_, '_>| look(parts, round.evaluation(), round.told());
        let base = &first.evaluation;
        first.at_work.once_over(world, base, moved, None, look)
    }
}

impl First {
    /// The nodes that come to something else for another player on another day, whatever they rest
    /// on: what reads the player or the day.
    fn moved(&self, program: &Program, player: &Player, today: Date) -> Vec<Node> {
        let is_another_day = today != self.today;
        let inputs = program.inputs.entries().filter(|(id, input)| {
            (is_another_day && input.filled_by_the_engine)
                || value_of(player, *id) != value_of(&self.player, *id)
        });
        let groups = program.groups.entries().filter(|(id, group)| {
            matches!(group.members, Members::GivenWithThePlayer)
                && clubs_of(player, *id) != clubs_of(&self.player, *id)
        });
        let limits = program.limits.entries();
        let limits = limits.filter(|(_, limit)| is_another_day && limit.in_force.is_some());
        let cautions = program.cautions.entries();
        let cautions = cautions.filter(|(_, caution)| is_another_day && caution.in_force.is_some());
        let moved = inputs.map(|(id, _)| Node::Input(id));
        let moved = moved.chain(groups.map(|(id, _)| Node::Group(id)));
        let moved = moved.chain(limits.map(|(id, _)| Node::Limit(id)));
        moved
            .chain(cautions.map(|(id, _)| Node::Caution(id)))
            .collect()
    }
}

fn value_of(player: &Player, input: InputId) -> Option<&loftwright_dsl::program::Value> {
    player.readings.get(&input).map(|reading| &reading.value)
}

fn clubs_of(player: &Player, group: GroupId) -> &[loftwright_dsl::program::Record] {
    player.given.get(&group).map_or(&[], Vec::as_slice)
}
