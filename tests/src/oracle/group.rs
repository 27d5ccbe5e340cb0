//! Groups: their members and their fields.

use std::rc::Rc;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Group, GroupOrigin};

use super::operators::all_known;
use super::standard_set::Planned;
use super::{Fields, Oracle, Outcome, Place, Scope, State, Undecided, Value, group_place};

/// The members of a group, in its own order.
#[derive(Debug, Default)]
pub struct Members {
    /// The members.
    pub list: Vec<Member>,
}

/// One member.
#[derive(Debug)]
pub enum Member {
    /// A club that the player brought, or a numbered one.
    Plain(Fields),
    /// A club of a wider group, by its place there.
    Of(usize),
    /// A club that could be in the set, and which kept club it is.
    Candidate {
        /// Its fields.
        fields: Fields,
        /// The kept club's place in the group it came with.
        kept: Option<usize>,
    },
    /// A club of the plan, by its place among the candidates.
    Planned {
        /// Its fields.
        fields: Fields,
        /// The candidate.
        candidate: usize,
    },
    /// A club of the set, with what it was planned as and which kept club it is.
    Made {
        /// Its fields.
        fields: Fields,
        /// The planned club: group and place; `None` for driver, putter and clubs beside the plan.
        planned: Option<Planned>,
        /// The kept club's place in the group it came with.
        kept: Option<usize>,
    },
}

impl Oracle<'_> {
    /// The members of a group, worked out once; or how it ended.
    pub(super) fn group(&self, name: &str) -> Result<Rc<Members>, Outcome> {
        if let Some(known) = self.groups.borrow().get(name) {
            return known.clone();
        }
        let members = self.make_group(&self.rules.groups[name]).map(Rc::new);
        self.groups
            .borrow_mut()
            .insert(name.to_owned(), members.clone());
        members
    }

    /// The state of a group that is not decided, seen from a node that uses it.
    pub(super) fn group_state(&self, name: &str) -> State {
        match self.group(name) {
            Err(outcome) => self.state_behind(&group_place(name), &outcome, false),
            Ok(_) => panic!("group `{name}` is decided"),
        }
    }

    fn make_group(&self, group: &Group) -> Result<Members, Outcome> {
        let name = &group.name.text;
        let list = match group.origin.as_ref().unwrap() {
            GroupOrigin::GivenWithThePlayer => self.given(group),
            GroupOrigin::AsManyAs(count) => self.numbered(&count.text)?,
            GroupOrigin::Where { of, condition } => {
                let wider = self.group(&of.text);
                let wider = wider.map_err(|_| self.group_state(&of.text).into_outcome())?;
                let mut list = Vec::new();
                let mut merged = Undecided::default();
                let mut is_decided = true;
                for member in 0..wider.list.len() {
                    let scope = Scope {
                        club: Some((of.text.clone(), member)),
                        ..Scope::default()
                    };
                    match self.evaluate(condition, &scope)? {
                        State::Known(Value::Flag(true)) => list.push(Member::Of(member)),
                        State::Known(_) | State::None => {}
                        State::Undecided(undecided) => {
                            is_decided = false;
                            merged.merge(&undecided);
                        }
                    }
                }
                if !is_decided {
                    return Err(State::Undecided(merged).into_outcome());
                }
                list
            }
            GroupOrigin::MadeBy { maker, from } => {
                let from: Vec<&str> = from.iter().map(|name| name.text.as_str()).collect();
                match maker.text.as_str() {
                    "lofts_on_hand" => self.lofts_on_hand(),
                    "make_up" => self.make_up(&from)?,
                    "standard_set" => self.standard_set(&from)?,
                    "assemble" => self.assembled(name)?,
                    other => panic!("no maker `{other}`"),
                }
            }
        };
        Ok(Members { list })
    }

    fn given(&self, group: &Group) -> Vec<Member> {
        let records = self.person.given.get(&group.name.text);
        let read = |record: &std::collections::BTreeMap<String, String>| {
            let fields = group.fields.iter().filter_map(|field| {
                let text = record.get(&field.name.text)?;
                let value = self.rules.read(text, &field.type_reference);
                Some((field.name.text.clone(), State::Known(value)))
            });
            Member::Plain(fields.collect())
        };
        records.into_iter().flatten().map(read).collect()
    }

    fn numbered(&self, count: &str) -> Result<Vec<Member>, Outcome> {
        let place = Place {
            name: count.to_owned(),
            member: None,
        };
        let count = match all_known(&[self.state(&place)]) {
            Ok(values) => super::operators::number(&values[0]),
            // A number that does not apply makes no clubs.
            Err(State::None) => return Ok(Vec::new()),
            Err(state) => return Err(state.into_outcome()),
        };
        let count = count.to_whole().filter(|count| (0..=14).contains(count));
        let count = count.ok_or(Outcome::Faulted)?;
        let club = |number| {
            let number = State::Known(Value::Number(Rational::whole(number)));
            Member::Plain(Fields::from([("number".to_owned(), number)]))
        };
        Ok((1..=count).map(club).collect())
    }

    /// The clubs as they leave the bench: physics, so the fields are given.
    fn assembled(&self, name: &str) -> Result<Vec<Member>, Outcome> {
        let from = match &self.rules.groups[name].origin {
            Some(GroupOrigin::MadeBy { from, .. }) => from[0].text.clone(),
            _ => panic!("`{name}` is not made"),
        };
        if self.group(&from).is_err() {
            return Err(self.group_state(&from).into_outcome());
        }
        let built = self.built.clone().unwrap_or_default();
        let club = |fields| Member::Made {
            fields,
            planned: None,
            kept: None,
        };
        Ok(built.into_iter().map(club).collect())
    }

    /// A field of a member.
    pub(super) fn club_field(&self, group: &str, member: usize, field: &str) -> State {
        let members = self.group(group).unwrap();
        let known = match &members.list[member] {
            Member::Of(wider) => {
                let Some(GroupOrigin::Where { of, .. }) = &self.rules.groups[group].origin else {
                    panic!("`{group}` is no part of a group");
                };
                return self.club_field(&of.text, *wider, field);
            }
            Member::Plain(fields)
            | Member::Candidate { fields, .. }
            | Member::Planned { fields, .. }
            | Member::Made { fields, .. } => fields.get(field).cloned(),
        };
        known.unwrap_or_else(|| Self::unknown_field(group, member, field))
    }
}
