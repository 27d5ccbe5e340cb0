//! The clubs of the groups: how many, which of two groups are the same, what is known of them.

use std::collections::BTreeSet;

use loftwright_dsl::program::{Expression, Field, GroupId, Members, Node, Program};

use super::reads::Reads;
use super::view::View;
use crate::evaluate::{Evaluation, Evaluator};
use crate::outcome::{Outcome, Place, State};

/// The groups of one evaluation.
pub(crate) struct Groups<'a> {
    program: &'a Program,
    evaluator: Evaluator<'a>,
    evaluation: &'a Evaluation,
    /// The group of what could be in the set, and the group of the plan.
    pub(crate) candidate: Option<GroupId>,
    pub(crate) plan: Option<GroupId>,
    /// The group of all clubs, where the program has it.
    pub(crate) club: Option<GroupId>,
    /// The group of the clubs as they leave the bench.
    pub(crate) built: Option<GroupId>,
    /// What the answer's fixed fields are read from.
    pub(crate) reads: Reads,
}

impl<'a> Groups<'a> {
    /// Looks at the groups of an evaluation.
    pub(crate) fn new(program: &'a Program, evaluation: &'a Evaluation) -> Self {
        let named = |name: &str| {
            let mut entries = program.groups.entries();
            entries
                .find(|(_, group)| group.name == name)
                .map(|(id, _)| id)
        };
        Groups {
            program,
            evaluator: Evaluator::new(program),
            evaluation,
            candidate: named("candidate"),
            plan: named("planned"),
            club: named("club"),
            built: named("built"),
            reads: Reads::of(program),
        }
    }

    /// How many clubs the group has; `None` where it is not decided.
    pub(crate) fn size(&self, group: GroupId) -> Option<usize> {
        self.evaluation.members(group).map(<[_]>::len)
    }

    /// The place of a club of one group in another; `None` where it is not in it.
    pub(crate) fn same_club(&self, from: GroupId, member: usize, to: GroupId) -> Option<usize> {
        self.evaluation.same_club(from, member, to)
    }

    /// The candidates that the plan does not have. There are many, and nothing is built of them.
    pub(crate) fn left_out_of_the_plan(&self) -> BTreeSet<(GroupId, usize)> {
        let (Some(candidate), Some(plan)) = (self.candidate, self.plan) else {
            return BTreeSet::new();
        };
        if self.size(plan).is_none() {
            return BTreeSet::new();
        }
        (0..self.size(candidate).unwrap_or(0))
            .filter(|member| self.same_club(candidate, *member, plan).is_none())
            .map(|member| (candidate, member))
            .collect()
    }

    /// What the maker of a group says of a club that it could not work out.
    pub(crate) fn note(&self, group: GroupId, member: usize) -> Option<&'a str> {
        self.evaluation.note(group, member)
    }

    /// The group that has the fields of a group: a part of a group has those of the wider one.
    fn with_fields(&self, group: GroupId) -> GroupId {
        match self.program.groups[group].members {
            Members::Where { of, .. } => self.with_fields(of),
            _ => group,
        }
    }

    /// A field of a club by name, with what it is.
    pub(crate) fn field_named(
        &self,
        group: GroupId,
        member: usize,
        name: &str,
    ) -> Option<(&'a Field, State)> {
        let owner = self.with_fields(group);
        let index = self.program.groups[owner].field_index(name)?;
        let field = self.program.groups[owner].fields.get(index)?;
        Some((field, self.evaluation.field(group, member, index)?))
    }

    /// The name of a field.
    pub(crate) fn field_name(&self, group: GroupId, field: usize) -> &'a str {
        let owner = self.with_fields(group);
        let fields = &self.program.groups[owner].fields;
        fields
            .get(field)
            .map_or("a field", |field| field.name.as_str())
    }

    /// What a place came to.
    pub(crate) fn outcome(&self, place: Place) -> Option<&'a Outcome> {
        self.evaluation.outcome(place)
    }

    /// The places of a node, in the order in which they were evaluated.
    pub(crate) fn places_of(&self, view: &View<'_>, node: Node) -> Vec<Place> {
        let (parts, player, today) = (view.parts, view.player, view.today);
        self.evaluator
            .places_of(self.evaluation, parts, player, today, node)
    }

    /// How a place is seen by what uses it.
    pub(crate) fn state(&self, place: Place) -> Option<State> {
        self.evaluation.state(place)
    }

    /// What an expression of a declaration is for the club of a place, along the group's own order.
    pub(crate) fn state_at(&self, view: &View<'_>, place: Place, expression: &Expression) -> State {
        let club = view.group_of(place.node).zip(place.member);
        self.evaluator.state_at(
            self.evaluation,
            view.parts,
            view.player,
            view.today,
            expression,
            club,
        )
    }
}
