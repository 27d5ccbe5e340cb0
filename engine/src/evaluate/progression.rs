//! Along the bag: the order of the clubs, and who takes `first`, `next`, `last` or `kept`.
//!
//! A club whose key is not decided or does not apply comes after the others; ties stay in the
//! group's own order. `previous` is what the club before came to in the whole order, kept clubs
//! included.

use loftwright_dsl::program::{
    Decision, ForEach, GroupId, Member, NextStep, Order, Progression, Value,
};

use super::algebra::Ended;
use super::decision::Deciding;
use super::expression::{Asker, At, of_previous};
use super::operators;
use crate::outcome::State;
use crate::trace::{GivesWhich, TraceSink};

/// Which clause of a progression a club takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Clause {
    Kept,
    First,
    Next,
    Last,
    /// Whether the player keeps it is not known.
    NotKnown,
}

impl<S: TraceSink> Asker<'_, S> {
    /// The places of the clubs in the stated order; without one, in the group's own.
    pub(super) fn order_along(&mut self, for_each: &ForEach, size: usize) -> Vec<usize> {
        let Some(order) = &for_each.order else {
            return (0..size).collect();
        };
        let mut keys: Vec<(usize, Option<Value>)> = Vec::with_capacity(size);
        for member in 0..size {
            self.turn_to(Some(member));
            keys.push((member, self.key(order, for_each.group, member)));
        }
        // A stable sort, so that ties keep the group's own order.
        keys.sort_by(|(_, left), (_, right)| match (left, right) {
            (Some(left), Some(right)) if order.largest_first => operators::compare(right, left),
            (Some(left), Some(right)) => operators::compare(left, right),
            (left, right) => left.is_none().cmp(&right.is_none()),
        });
        keys.into_iter().map(|(member, _)| member).collect()
    }

    fn key(&mut self, order: &Order, group: GroupId, member: usize) -> Option<Value> {
        match self.ask(&order.key, At::club(group, member)) {
            Ok(State::Known(value)) => Some(value),
            _ => None,
        }
    }

    /// Which clause each club takes, by its place in the group; `order` is the order along the bag.
    pub(super) fn clauses(
        &mut self,
        decision: &Decision,
        progression: &Progression,
        group: GroupId,
        order: &[usize],
    ) -> Vec<Clause> {
        let mut clauses = vec![Clause::Next; order.len()];
        let mut set = |member: usize, clause| {
            if let Some(place) = clauses.get_mut(member) {
                *place = clause;
            }
        };
        let mut built = Vec::with_capacity(order.len());
        for member in order {
            match progression
                .kept
                .as_ref()
                .map(|_| self.is_kept(decision, group, *member))
            {
                None | Some(State::None | State::Known(Value::Flag(false))) => built.push(*member),
                Some(State::Known(_)) => set(*member, Clause::Kept),
                Some(State::Undecided(_)) => set(*member, Clause::NotKnown),
            }
        }
        if let (Some(last), Some(_)) = (built.last(), &progression.last) {
            set(*last, Clause::Last);
        }
        if let Some(first) = built.first() {
            set(*first, Clause::First);
        }
        clauses
    }

    /// Whether the player keeps the club: the field `is_kept` of the group or of the bag.
    fn is_kept(&self, decision: &Decision, group: GroupId, member: usize) -> State {
        match self.world.prepared.kept_field(decision) {
            Some((of, field)) => self.of_field(of, field, Member::Same, At::club(group, member)),
            None => State::None,
        }
    }

    /// What the club's clause gives; without a clause for it, the decision does not apply.
    pub(super) fn decide_along(
        &mut self,
        decision: &Decision,
        progression: &Progression,
        clause: Clause,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<(), Ended> {
        match clause {
            Clause::NotKnown => {
                deciding.value = at.club.map_or(State::None, |(group, member)| {
                    self.is_kept(decision, group, member)
                });
            }
            Clause::Kept => {
                let kept = progression.kept.as_ref().ok_or_else(Ended::not_checked)?;
                self.by_gives(GivesWhich::Kept, kept, at, deciding)?;
            }
            Clause::First => {
                self.by_gives(GivesWhich::First, &progression.first, at, deciding)?;
            }
            Clause::Last => {
                let last = progression.last.as_ref().ok_or_else(Ended::not_checked)?;
                self.by_gives(GivesWhich::Last, last, at, deciding)?;
            }
            Clause::Next => match &progression.next {
                Some(NextStep::Gives(next)) => {
                    self.by_gives(GivesWhich::Next, next, at, deciding)?;
                }
                Some(NextStep::Table(table)) => {
                    // Rows may build on the club before: `keeps`, `adds`, `moves`.
                    deciding.value = of_previous(at);
                    self.by_table(table, at, deciding)?;
                }
                None => deciding.value = State::None,
            },
        }
        Ok(())
    }
}
