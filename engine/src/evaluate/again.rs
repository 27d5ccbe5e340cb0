//! What lies below readings that moved, evaluated again; everything else stays as it was.
//!
//! To ask "and if the reading were another?" some hundred times, most nodes need not be looked at:
//! those that do not rest on the reading, and those that rest on it through a node that came out
//! the same. [`Again`] holds an evaluation, moves readings, goes over the program's order and
//! evaluates only nodes of which something they rest on has changed, hands the result to be looked
//! at and puts back what was there. It is the one evaluator that does it, node by node; what comes
//! out is what an evaluation from the start would say.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::dependencies;
use loftwright_dsl::program::{ChooseId, GroupId, InputId, Node, Program, Value};
use loftwright_dsl::quantity::Date;

use super::choose::Stock;
use super::expression::World;
use super::prepare::Evaluator;
use super::run::Run;
use super::state::{AllGroups, Evaluation, PerClub};
use crate::outcome::Outcome;
use crate::parts::Parts;
use crate::player::{Player, Reading};
use crate::trace::{NoTrace, TraceSink};

/// Which nodes rest on which, by their places in the program's order.
#[derive(Clone, Debug)]
struct Graph {
    /// The place of each node.
    places: BTreeMap<Node, usize>,
    /// The places of the nodes that rest directly on the node of a place.
    users: Vec<Vec<usize>>,
}

impl Graph {
    /// The graph of a program.
    fn of(program: &Program) -> Self {
        let places: BTreeMap<Node, usize> = program
            .order
            .iter()
            .enumerate()
            .map(|(place, node)| (*node, place))
            .collect();
        let mut users = vec![Vec::new(); program.order.len()];
        for (node, rests_on) in dependencies(program) {
            let Some(user) = places.get(&node) else {
                continue;
            };
            for below in rests_on.iter().filter_map(|node| places.get(node)) {
                if let Some(users) = users.get_mut(*below) {
                    users.push(*user);
                }
            }
        }
        Graph { places, users }
    }

    /// The nodes that rest on a reading, directly or through others; the reading is one of them.
    fn above(&self, program: &Program, input: InputId) -> BTreeSet<Node> {
        let mut found = BTreeSet::new();
        let mut waiting: Vec<usize> = self.place(Node::Input(input)).into_iter().collect();
        while let Some(place) = waiting.pop() {
            if let Some(node) = program.order.get(place)
                && found.insert(*node)
            {
                waiting.extend(self.users_of(place));
            }
        }
        found
    }

    fn place(&self, node: Node) -> Option<usize> {
        self.places.get(&node).copied()
    }

    fn users_of(&self, place: usize) -> &[usize] {
        self.users.get(place).map_or(&[], Vec::as_slice)
    }
}

/// An evaluation of which readings can be moved.
pub(crate) struct Again<'a> {
    evaluator: &'a Evaluator<'a>,
    parts: &'a Parts,
    today: Date,
    base: &'a Evaluation,
    player: &'a Player,
    /// What is moved and put back; made when it is first asked for.
    at_work: Option<AtWork>,
}

/// The graph, and a player and an evaluation to work on.
struct AtWork {
    graph: Graph,
    player: Player,
    evaluation: Evaluation,
}

/// What came out otherwise than before.
pub(crate) struct Changed {
    /// The nodes whose outcomes changed, in order, with what they were.
    pub(crate) nodes: Vec<(Node, PerClub)>,
    /// The groups as they were, where some were looked at again.
    pub(crate) groups: Option<AllGroups>,
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
        let at_work = self.at_work();
        inputs
            .flat_map(|input| at_work.graph.above(program, input))
            .collect()
    }

    /// Moves readings, evaluates what lies below them, has it looked at, and puts all back.
    pub(crate) fn moved<R>(
        &mut self,
        readings: &[(InputId, Value)],
        look: impl FnOnce(&Evaluation, &Changed) -> R,
    ) -> R {
        let (evaluator, parts, today) = (self.evaluator, self.parts, self.today);
        let at_work = self.at_work();
        let before: Vec<(InputId, Option<Reading>)> = readings
            .iter()
            .map(|(input, value)| (*input, at_work.set(*input, value.clone())))
            .collect();
        let inputs: Vec<InputId> = readings.iter().map(|(input, _)| *input).collect();
        let changed = at_work.evaluate(evaluator, parts, today, &inputs);
        let answer = look(&at_work.evaluation, &changed);
        at_work.restore(changed, before);
        answer
    }

    fn at_work(&mut self) -> &mut AtWork {
        self.at_work.get_or_insert_with(|| AtWork {
            graph: Graph::of(self.evaluator.program),
            player: self.player.clone(),
            evaluation: self.base.clone(),
        })
    }
}

impl AtWork {
    fn set(&mut self, input: InputId, value: Value) -> Option<Reading> {
        let moved = Reading {
            value,
            spread: None,
            shots: 1,
        };
        self.player.readings.insert(input, moved)
    }

    fn evaluate(
        &mut self,
        evaluator: &Evaluator<'_>,
        parts: &Parts,
        today: Date,
        inputs: &[InputId],
    ) -> Changed {
        let world = World {
            program: evaluator.program,
            prepared: evaluator,
            parts,
            player: &self.player,
            today,
        };
        let nothing = Evaluation::new(evaluator.program);
        let evaluation = std::mem::replace(&mut self.evaluation, nothing);
        let mut no_trace = NoTrace;
        let run = Run::over(world, evaluation, &mut no_trace);
        let (evaluation, changed) = run.again(&self.graph, inputs);
        self.evaluation = evaluation;
        changed
    }

    fn restore(&mut self, changed: Changed, readings: Vec<(InputId, Option<Reading>)>) {
        for (node, before) in changed.nodes {
            self.evaluation.set(node, before);
        }
        if let Some(groups) = changed.groups {
            self.evaluation.restore_groups(groups);
        }
        for (input, reading) in readings.into_iter().rev() {
            match reading {
                Some(reading) => self.player.readings.insert(input, reading),
                None => self.player.readings.remove(&input),
            };
        }
    }
}

impl<S: TraceSink> Run<'_, S> {
    /// Goes over the order and evaluates what rests on something that changed.
    fn again(mut self, graph: &Graph, moved: &[InputId]) -> (Evaluation, Changed) {
        let order = &self.world.program.order;
        let mut is_waiting = vec![false; order.len()];
        for input in moved {
            mark(&mut is_waiting, graph.place(Node::Input(*input)).as_slice());
        }
        let mut changed = Changed {
            nodes: Vec::new(),
            groups: None,
        };
        for (place, node) in order.iter().enumerate() {
            let is_waiting_here = is_waiting.get(place).copied().unwrap_or(false);
            let has_changed = match node {
                Node::Group(id) => {
                    self.group_again(*id, place, is_waiting_here, &mut changed.groups)
                }
                _ if is_waiting_here => self.node_again(*node, &mut changed.nodes),
                _ => false,
            };
            if has_changed {
                mark(&mut is_waiting, graph.users_of(place));
            }
        }
        (self.evaluation, changed)
    }

    /// Whether a node came out otherwise.
    fn node_again(&mut self, node: Node, changed: &mut Vec<(Node, PerClub)>) -> bool {
        if let Node::Choose(id) = node {
            self.stock = self.taken_before(id);
        }
        let before = self.evaluation.replace(node, PerClub::Nothing);
        self.node(node);
        if self.evaluation.per_club(node) == Some(&before) {
            return false;
        }
        changed.push((node, before));
        true
    }

    /// Whether a group came out otherwise. The identities of clubs are counted through all groups,
    /// so once one group is looked at again all are; those that rest on nothing that changed get
    /// the same clubs again.
    fn group_again(
        &mut self,
        id: GroupId,
        place: usize,
        is_waiting: bool,
        before: &mut Option<AllGroups>,
    ) -> bool {
        if is_waiting && before.is_none() {
            *before = Some(self.evaluation.begin_groups());
            let earlier = self.world.program.order.iter().take(place);
            for node in earlier.filter(|node| matches!(node, Node::Group(_))) {
                self.node(*node);
            }
        }
        let Some(before) = before else {
            return false;
        };
        self.node(Node::Group(id));
        is_waiting && before.get(id) != self.evaluation.group(id)
    }

    /// What the choices before this one took of the same parts.
    fn taken_before(&self, id: ChooseId) -> Stock {
        let program = self.world.program;
        let mut stock = Stock::default();
        let earlier = program
            .order
            .iter()
            .take_while(|node| **node != Node::Choose(id));
        for node in earlier {
            let Node::Choose(other) = node else {
                continue;
            };
            let other = &program.chooses[*other];
            let Some(count) = other
                .takes
                .filter(|_| other.part == program.chooses[id].part)
            else {
                continue;
            };
            let outcomes = match self.evaluation.per_club(*node) {
                Some(PerClub::One(outcome)) => std::slice::from_ref(outcome),
                Some(PerClub::Each(outcomes)) => outcomes.as_slice(),
                _ => &[],
            };
            for outcome in outcomes {
                if let Outcome::Chosen(chosen) = outcome {
                    stock.take(other.part, chosen.item(), count);
                }
            }
        }
        stock
    }
}

fn mark(marks: &mut [bool], places: &[usize]) {
    for place in places {
        if let Some(mark) = marks.get_mut(*place) {
            *mark = true;
        }
    }
}
