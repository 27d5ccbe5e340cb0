//! The oracle: a second evaluator, as plain as it can be.
//!
//! It is written from the language reference and from the page *How an answer comes about* in
//! DEVELOPERS.md, never from the engine. It walks the parsed tree, looks every name up where it
//! stands, enumerates every candidate of a choice, and remembers a node's outcome by its name and
//! club only so that it ends. It shares three things with the engine: the tree, the exact numbers,
//! and the physics of the models, which have tests of their own. The clubs as assembled are given
//! to it, since they are physics too.
//!
//! A test may panic: anything here that the checker should have refused does.
//!
//! Its answer is one [`Outcome`] for each declaration and club; [`Oracle::summary`] writes them
//! down for comparison.

mod aggregate;
mod call;
mod candidate;
mod choose;
mod condition;
mod decision;
mod expression;
mod family;
mod group;
mod identity;
mod member;
mod names;
mod operators;
mod order;
mod person;
mod plan;
mod post;
mod progression;
mod ruleset;
mod scope;
mod standard_set;
mod table;
mod together;
mod value;
mod weigh;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

pub use group::Members;
pub use person::{Fields, Part, Parts, Person, Piece};
pub use ruleset::{Node, Rules};
pub use scope::Scope;
pub use value::{Cause, Outcome, Pick, Place, State, Undecided, Value};

/// Rules, parts, player and day, with what has been found out so far.
pub struct Oracle<'a> {
    rules: &'a Rules,
    parts: &'a Parts,
    person: &'a Person,
    today: i64,
    built: Option<Vec<Fields>>,
    outcomes: RefCell<BTreeMap<Place, Outcome>>,
    groups: RefCell<BTreeMap<String, Result<Rc<Members>, Outcome>>>,
    /// The clubs of a declaration in its order.
    lines: RefCell<BTreeMap<String, Rc<Vec<usize>>>>,
    /// Choices that are made for all their clubs at once.
    wholes: RefCell<BTreeMap<String, Rc<BTreeMap<usize, Outcome>>>>,
}

impl<'a> Oracle<'a> {
    /// An oracle for one player. `built` are the fields of the clubs as assembled, in the order of
    /// the clubs.
    pub fn new(
        rules: &'a Rules,
        parts: &'a Parts,
        person: &'a Person,
        today: i64,
        built: Option<Vec<Fields>>,
    ) -> Self {
        Oracle {
            rules,
            parts,
            person,
            today,
            built,
            outcomes: RefCell::default(),
            groups: RefCell::default(),
            lines: RefCell::default(),
            wholes: RefCell::default(),
        }
    }

    /// The outcome of every node for every club, written down: `wedge_bounce[1]` to
    /// `needs wedge_attack_angle`.
    pub fn summary(&self) -> BTreeMap<String, String> {
        let mut summary = BTreeMap::new();
        for name in self.rules.node_names() {
            for place in self.places(&name) {
                summary.insert(place.to_string(), self.outcome(&place).to_string());
            }
        }
        for group in self.rules.groups.keys() {
            let text = match self.group(group) {
                Ok(members) => format!("{} members", members.list.len()),
                Err(outcome) => outcome.to_string(),
            };
            summary.insert(format!("group {group}"), text);
        }
        summary
    }

    /// The places of a node: one for each club, or one alone.
    fn places(&self, name: &str) -> Vec<Place> {
        let place = |member| Place {
            name: name.to_owned(),
            member,
        };
        let node = self.rules.node(name).unwrap();
        let Some(for_each) = node.for_each() else {
            return vec![place(None)];
        };
        match self.group(&for_each.group.text) {
            Ok(members) => (0..members.list.len())
                .map(|member| place(Some(member)))
                .collect(),
            Err(_) => vec![place(None)],
        }
    }

    /// The outcome of a node for a club, worked out once.
    pub fn outcome(&self, place: &Place) -> Outcome {
        if let Some(known) = self.outcomes.borrow().get(place) {
            return known.clone();
        }
        let outcome = self.work_out(place);
        self.outcomes
            .borrow_mut()
            .insert(place.clone(), outcome.clone());
        outcome
    }

    fn work_out(&self, place: &Place) -> Outcome {
        let node = self.rules.node(&place.name).unwrap();
        if let (Some(for_each), None) = (node.for_each(), place.member) {
            // One entry for the whole group, since nobody knows its clubs.
            return match self.group(&for_each.group.text) {
                Err(Outcome::DoesNotApply) => Outcome::DoesNotApply,
                Err(outcome) => self
                    .state_behind(&group_place(&for_each.group.text), &outcome, false)
                    .into_outcome(),
                Ok(_) => panic!("{place} is asked for without a club"),
            };
        }
        match node {
            Node::Input(input) => self.input(input),
            Node::Let(value) => self.let_value(value, place),
            Node::Decide(decide) => self.decide(decide, place),
            Node::Choose(choose) => self.choose(choose, place),
            Node::Limit(limit) => self.limit(limit, place),
            Node::Caution(caution) => self.caution(caution, place),
        }
    }

    /// A node as a state, seen from a node that uses it: the table of DEVELOPERS.md.
    fn state(&self, place: &Place) -> State {
        let outcome = self.outcome(place);
        let is_let = matches!(
            self.rules.node(&place.name),
            Some(Node::Let(_) | Node::Input(_))
        );
        self.state_behind(place, &outcome, is_let)
    }

    fn state_behind(&self, place: &Place, outcome: &Outcome, is_transparent: bool) -> State {
        match outcome {
            Outcome::Decided(value) => State::Known(value.clone()),
            Outcome::DoesNotApply => State::None,
            Outcome::Chosen(_) | Outcome::Ordered(_) => State::Known(Value::Part),
            Outcome::Needs(causes) => {
                let undecided = Undecided {
                    causes: causes.clone(),
                    ..Undecided::default()
                };
                State::Undecided(if is_transparent {
                    undecided
                } else {
                    undecided.behind(place)
                })
            }
            Outcome::Blocked(undecided) if is_transparent => State::Undecided(undecided.clone()),
            Outcome::Blocked(undecided) => State::Undecided(undecided.behind(place)),
            Outcome::Contradicted(..)
            | Outcome::OutsideRange(_)
            | Outcome::Infeasible
            | Outcome::Faulted
            | Outcome::LeftOpen
            | Outcome::NoneOnHand => {
                State::Undecided(Undecided::cause(Cause::Ended(place.clone())).behind(place))
            }
        }
    }
}

/// A group as a place.
fn group_place(group: &str) -> Place {
    Place {
        name: group.to_owned(),
        member: None,
    }
}
