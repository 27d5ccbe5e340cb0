//! The nodes of a program in their order, each for the bag or for the clubs of its group.

use std::rc::Rc;

use loftwright_dsl::program::{Body, Choose, Decision, ForEach, GroupId, Node};

use super::choose::Stock;
use super::expression::{Along, Asker, At, World};
use super::group::{Identity, NewGroup};
use super::progression::Clause;
use super::state::{Club, Evaluation, PerClub};
use crate::outcome::{Outcome, Place};
use crate::trace::{How, TraceSink};

/// One evaluation on its way.
pub(super) struct Run<'a, S> {
    pub(super) world: World<'a>,
    pub(super) evaluation: Evaluation,
    pub(super) stock: Stock,
    sink: &'a mut S,
}

impl<'a, S: TraceSink> Run<'a, S> {
    /// Nothing evaluated yet.
    pub(super) fn new(world: World<'a>, sink: &'a mut S) -> Self {
        Run {
            world,
            evaluation: Evaluation::new(world.program),
            stock: Stock::default(),
            sink,
        }
    }

    /// An evaluation that is there, to be gone over again.
    pub(super) fn over(world: World<'a>, evaluation: Evaluation, sink: &'a mut S) -> Self {
        Run {
            world,
            evaluation,
            stock: Stock::default(),
            sink,
        }
    }

    /// Every node of the program in its order.
    pub(super) fn evaluate(mut self) -> Evaluation {
        self.sink.make_room(self.world.prepared.outcomes());
        for node in &self.world.program.order {
            self.node(*node);
        }
        self.evaluation
    }

    pub(super) fn node(&mut self, node: Node) {
        let program = self.world.program;
        match node {
            Node::Input(id) => {
                self.each(node, None, |asker, _| asker.input(id, &program.inputs[id]));
            }
            Node::Let(id) => {
                let value = &program.lets[id];
                self.each(node, value.for_each, |asker, at| {
                    (asker.let_value(value, at), How::Plain)
                });
            }
            Node::Limit(id) => {
                let asked = (&program.limits[id]).into();
                self.each(node, program.limits[id].for_each, |asker, at| {
                    asker.condition(&asked, at)
                });
            }
            Node::Caution(id) => {
                let asked = (&program.cautions[id]).into();
                self.each(node, program.cautions[id].for_each, |asker, at| {
                    asker.condition(&asked, at)
                });
            }
            Node::Group(id) => self.group(id),
            Node::Decision(id) => self.decision(node, &program.decisions[id]),
            Node::Choose(id) => self.choose(node, &program.chooses[id]),
        }
    }

    /// A node whose clubs do not look at each other.
    fn each(
        &mut self,
        node: Node,
        group: Option<GroupId>,
        mut evaluate: impl FnMut(&mut Asker<'_, S>, At<'_>) -> (Outcome, How),
    ) {
        let Some(group) = group else {
            return self.once(node, evaluate);
        };
        let Some(size) = self.size_or_blocked(node, group) else {
            return;
        };
        let mut outcomes = Vec::with_capacity(size);
        let mut asker = self.asker(node);
        for member in 0..size {
            asker.turn_to(Some(member));
            let (outcome, how) = evaluate(&mut asker, At::club(group, member));
            asker.record(how);
            outcomes.push(outcome);
        }
        self.evaluation.set(node, PerClub::Each(outcomes));
    }

    /// A node for the bag.
    fn once(
        &mut self,
        node: Node,
        evaluate: impl FnOnce(&mut Asker<'_, S>, At<'_>) -> (Outcome, How),
    ) {
        let mut asker = self.asker(node);
        let (outcome, how) = evaluate(&mut asker, At::default());
        asker.record(how);
        self.evaluation.set(node, PerClub::One(outcome));
    }

    fn decision(&mut self, node: Node, decision: &Decision) {
        let Some(each) = &decision.for_each else {
            return self.once(node, |asker, at| asker.decision(decision, None, at));
        };
        let mut clauses: Option<Vec<Clause>> = None;
        self.along(node, each, |asker, at| {
            let clause = match (&decision.body, at) {
                (
                    Body::Progression(progression),
                    At {
                        club: Some((group, member)),
                        ..
                    },
                ) => {
                    let order = at.along.map_or(&[][..], |along| along.order);
                    let clauses = clauses
                        .get_or_insert_with(|| asker.clauses(decision, progression, group, order));
                    clauses.get(member).copied()
                }
                _ => None,
            };
            asker.decision(decision, clause, at)
        });
    }

    fn choose(&mut self, node: Node, choose: &Choose) {
        let mut stock = std::mem::take(&mut self.stock);
        let sieves = Rc::default();
        match &choose.for_each {
            None => self.once(node, |asker, at| {
                asker.choose(choose, &sieves, at, &mut stock)
            }),
            Some(each) if choose.together || !choose.agrees_on.is_empty() => {
                self.choose_for_all(node, choose, each, &mut stock);
            }
            Some(each) => self.along(node, each, |asker, at| {
                asker.choose(choose, &sieves, at, &mut stock)
            }),
        }
        self.stock = stock;
    }

    /// A choice whose clubs are looked at all at once.
    fn choose_for_all(&mut self, node: Node, choose: &Choose, each: &ForEach, stock: &mut Stock) {
        let Some(size) = self.size_or_blocked(node, each.group) else {
            return;
        };
        let mut outcomes: Vec<Option<Outcome>> = std::iter::repeat_n(None, size).collect();
        let mut asker = self.asker(node);
        let order = asker.order_along(each, size);
        let chosen = asker.choose_for_all(choose, each.group, &order, stock);
        for (member, (outcome, how)) in order.iter().copied().zip(chosen) {
            asker.turn_to(Some(member));
            asker.record(how);
            if let Some(place) = outcomes.get_mut(member) {
                *place = Some(outcome);
            }
        }
        let outcomes = outcomes.into_iter().flatten().collect();
        self.evaluation.set(node, PerClub::Each(outcomes));
    }

    /// A node whose clubs are evaluated in the stated order, each after the one before.
    fn along(
        &mut self,
        node: Node,
        each: &ForEach,
        mut evaluate: impl FnMut(&mut Asker<'_, S>, At<'_>) -> (Outcome, How),
    ) {
        let Some(size) = self.size_or_blocked(node, each.group) else {
            return;
        };
        if each.order.is_none() {
            return self.one_by_one(node, each.group, size, evaluate);
        }
        let mut outcomes: Vec<Option<Outcome>> = std::iter::repeat_n(None, size).collect();
        let mut asker = self.asker(node);
        let order = asker.order_along(each, size);
        let mut before: Option<usize> = None;
        for (position, member) in order.iter().copied().enumerate() {
            asker.turn_to(Some(member));
            let previous = before.and_then(|member| {
                let outcome = outcomes.get(member)?.as_ref()?;
                Some((
                    Place {
                        node,
                        member: Some(member),
                    },
                    outcome,
                ))
            });
            let at = At {
                club: Some((each.group, member)),
                along: Some(Along {
                    order: &order,
                    position,
                }),
                previous,
                candidate: None,
            };
            let (outcome, how) = evaluate(&mut asker, at);
            asker.record(how);
            if let Some(place) = outcomes.get_mut(member) {
                *place = Some(outcome);
            }
            before = Some(member);
        }
        let outcomes = outcomes.into_iter().flatten().collect();
        self.evaluation.set(node, PerClub::Each(outcomes));
    }

    /// A node whose clubs are evaluated in the group's own order, each after the one before.
    fn one_by_one(
        &mut self,
        node: Node,
        group: GroupId,
        size: usize,
        mut evaluate: impl FnMut(&mut Asker<'_, S>, At<'_>) -> (Outcome, How),
    ) {
        let mut outcomes: Vec<Outcome> = Vec::with_capacity(size);
        let mut asker = self.asker(node);
        let order: Vec<usize> = (0..size).collect();
        for member in 0..size {
            asker.turn_to(Some(member));
            let before = member.checked_sub(1);
            let previous = before.and_then(|before| {
                let place = Place {
                    node,
                    member: Some(before),
                };
                Some((place, outcomes.get(before)?))
            });
            let at = At {
                club: Some((group, member)),
                along: Some(Along {
                    order: &order,
                    position: member,
                }),
                previous,
                candidate: None,
            };
            let (outcome, how) = evaluate(&mut asker, at);
            asker.record(how);
            outcomes.push(outcome);
        }
        self.evaluation.set(node, PerClub::Each(outcomes));
    }

    /// How many clubs a node is for; where the group is not decided, the node's one outcome is
    /// that.
    fn size_or_blocked(&mut self, node: Node, group: GroupId) -> Option<usize> {
        let size = self.evaluation.members(group).map(<[Club]>::len);
        if size.is_none() {
            let outcome = Outcome::Blocked(self.evaluation.not_made(group));
            self.asker(node).record(How::Plain);
            self.evaluation.set(node, PerClub::One(outcome));
        }
        size
    }

    fn group(&mut self, id: GroupId) {
        let made = self.make_group(id);
        self.place_group(id, made);
    }

    /// What a group is made of.
    pub(super) fn make_group(&mut self, id: GroupId) -> NewGroup {
        let program = self.world.program;
        let mut asker = self.asker(Node::Group(id));
        let mut made = asker.group(id, &program.groups[id]);
        let how = match made.state.outcome {
            Some(Outcome::Decided(_)) if let Some(plan) = made.plan.take() => How::Plan(plan),
            Some(Outcome::Decided(_)) => How::Members(id, made.identities.len()),
            _ => How::Plain,
        };
        if made.state.outcome.is_some() {
            asker.record(how);
        }
        made
    }

    /// Puts a group in place: its clubs get their identities.
    pub(super) fn place_group(&mut self, id: GroupId, made: NewGroup) {
        let mut state = made.state;
        for identity in made.identities {
            state.clubs.push(match identity {
                Identity::New => self.evaluation.new_club(),
                Identity::Same(club) => club,
                Identity::Both(club, other) => {
                    self.evaluation.unite(club, other);
                    club
                }
            });
        }
        self.evaluation.set_group(id, state);
    }

    fn asker(&mut self, node: Node) -> Asker<'_, S> {
        let place = Place { node, member: None };
        Asker::new(self.world, &self.evaluation, self.sink, place)
    }
}
