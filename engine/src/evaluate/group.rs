//! Groups: how many clubs, which ones, and what is known of each.

use loftwright_dsl::program::{Expression, Group, GroupId, Members, Node, Value};
use loftwright_dsl::quantity::Rational;

use super::algebra::{Ended, merge, outcome_of};
use super::expression::{Asker, At};
use super::state::{Club, GroupState};
use crate::contract::Maker;
use crate::outcome::{Fault, Infeasible, Outcome, State, Undecided};
use crate::trace::{PlanTrace, TraceSink};

/// No count makes more clubs of one kind than may be carried.
const MOST_CLUBS_OF_A_GROUP: i64 = 14;

/// Which club a member of a new group is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Identity {
    /// One that was not there before.
    New,
    /// One of another group.
    Same(Club),
    /// One of another group, and the second is the same from here on.
    Both(Club, Club),
}

/// A group on its way: its members' identities, and the rest of its state.
#[derive(Clone)]
pub(super) struct NewGroup {
    pub(super) identities: Vec<Identity>,
    pub(super) state: GroupState,
    /// How a plan was found.
    pub(super) plan: Option<Box<PlanTrace>>,
}

impl NewGroup {
    /// Whether it makes one club of two.
    pub(super) fn unites(&self) -> bool {
        let mut identities = self.identities.iter();
        identities.any(|identity| matches!(identity, Identity::Both(..)))
    }

    /// A group that is not there, and why.
    pub(super) fn without_clubs(outcome: Outcome) -> Self {
        NewGroup {
            identities: Vec::new(),
            state: GroupState {
                outcome: Some(outcome),
                ..GroupState::default()
            },
            plan: None,
        }
    }

    /// A group with these clubs and their fields, club after club.
    pub(super) fn made(
        identities: Vec<Identity>,
        fields: Vec<Option<State>>,
        width: usize,
    ) -> Self {
        let outcome = Some(size(identities.len()));
        NewGroup {
            identities,
            state: GroupState {
                outcome,
                fields: fields.into(),
                width,
                ..GroupState::default()
            },
            plan: None,
        }
    }
}

fn size(clubs: usize) -> Outcome {
    let count = i64::try_from(clubs).unwrap_or(i64::MAX);
    Outcome::Decided(Value::Number(Rational::whole(count)))
}

impl<S: TraceSink> Asker<'_, S> {
    pub(super) fn group(&mut self, id: GroupId, group: &Group) -> NewGroup {
        match &group.members {
            Members::GivenWithThePlayer => self.given(id, group),
            Members::AsManyAs(count) => match self.as_many_as(group, count) {
                Ok(made) => made,
                Err(ended) => NewGroup::without_clubs(ended.into()),
            },
            Members::Where { of, condition } => match self.part_of(*of, condition) {
                Ok(made) => made,
                Err(ended) => NewGroup::without_clubs(ended.into()),
            },
            Members::MadeBy { .. } => match self.world.prepared.maker(id) {
                Some(Ok(Maker::LoftsOnHand(names))) => self.make_candidates(id, names),
                Some(Ok(Maker::MakeUp(names))) => self.make_plan(names),
                Some(Ok(Maker::StandardSet(names))) => self.make_standard_set(names),
                Some(Ok(Maker::Assemble(names))) => self.make_assembled(id, names),
                Some(Err(missing)) => {
                    NewGroup::without_clubs(Outcome::Infeasible(Infeasible(missing.to_string())))
                }
                None => NewGroup::without_clubs(Ended::not_checked().into()),
            },
        }
    }

    fn given(&self, id: GroupId, group: &Group) -> NewGroup {
        let records = self
            .world
            .player
            .given
            .get(&id)
            .map_or(&[][..], Vec::as_slice);
        let width = group.fields.len();
        let mut fields = Vec::with_capacity(records.len().saturating_mul(width));
        for record in records {
            let known = |field: usize| record.get(field)?.clone().map(State::Known);
            fields.extend((0..width).map(known));
        }
        NewGroup::made(vec![Identity::New; records.len()], fields, width)
    }

    fn as_many_as(&mut self, group: &Group, count: &Expression) -> Result<NewGroup, Ended> {
        let count = match self.ask(count, At::default())? {
            State::Known(value) => value,
            open => return Ok(NewGroup::without_clubs(outcome_of(open))),
        };
        let whole = count.number().and_then(Rational::to_whole);
        let clubs = whole
            .filter(|count| (0..=MOST_CLUBS_OF_A_GROUP).contains(count))
            .ok_or(Ended::Faulted(Fault::NotANumberOfClubs))?;
        let mut fields = Vec::new();
        let mut identities = Vec::new();
        for number in 1..=clubs {
            identities.push(Identity::New);
            fields.extend(group.fields.iter().map(|declared| {
                let number = State::Known(Value::Number(Rational::whole(number)));
                (declared.name == "number").then_some(number)
            }));
        }
        Ok(NewGroup::made(identities, fields, group.fields.len()))
    }

    fn part_of(&mut self, of: GroupId, condition: &Expression) -> Result<NewGroup, Ended> {
        let Some(clubs) = self.evaluation.members(of) else {
            let blocked = self.evaluation.not_made(of);
            return Ok(NewGroup::without_clubs(Outcome::Blocked(blocked)));
        };
        let mut undecided: Option<Box<Undecided>> = None;
        let mut identities = Vec::new();
        let mut places = Vec::new();
        for (member, club) in clubs.iter().enumerate() {
            match self.ask(condition, At::club(of, member))? {
                State::Known(Value::Flag(true)) => {
                    identities.push(Identity::Same(*club));
                    places.push(member);
                }
                State::Known(_) | State::None => {}
                State::Undecided(more) => merge(undecided.get_or_insert_default(), *more),
            }
        }
        if let Some(undecided) = undecided {
            return Ok(NewGroup::without_clubs(outcome_of(State::Undecided(
                undecided,
            ))));
        }
        let mut made = NewGroup::made(identities, Vec::new(), 0);
        made.state.wider = Some((of, places));
        Ok(made)
    }

    /// The state of a node of the contract for a club of a group.
    pub(super) fn read(&self, node: Node, club: Option<(GroupId, usize)>) -> State {
        let at = At {
            club,
            ..At::default()
        };
        match node {
            Node::Input(id) => self.of_input(id),
            Node::Let(id) => self.of_let(id, loftwright_dsl::program::Member::Same, at),
            Node::Decision(id) => self.of_decision(id, loftwright_dsl::program::Member::Same, at),
            Node::Group(_) | Node::Choose(_) | Node::Limit(_) | Node::Caution(_) => State::None,
        }
    }
}
