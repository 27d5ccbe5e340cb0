//! What a name stands for: a reading, a let, a decision, a field, something of a chosen part.
//!
//! The names were resolved by the checker; what is left is which club is meant. `Same` is the club
//! at hand wherever else it is; `Previous` and `Next` are its neighbours along the bag.

use loftwright_dsl::program::{
    CandidateValue, ChooseId, DecisionId, Expression, ExpressionKind, Group, GroupId, InputId,
    LetId, Member, Members, Node, Program, Value,
};

use super::algebra::{blocked_by, seen_from_outside};
use super::choose::Candidate;
use super::expression::{Asker, At};
use super::state::{Evaluation, PerClub};
use crate::outcome::{Outcome, Place, State};
use crate::trace::TraceSink;

impl<'a, S: TraceSink> Asker<'a, S> {
    /// The value that a name stands for, looked at in its place; `None` where it is not known or
    /// has to be worked out.
    pub(super) fn in_place<'v>(&self, expression: &'v Expression, at: At<'v>) -> Option<&'v Value>
    where
        'a: 'v,
    {
        let evaluation = self.evaluation;
        let program = self.world.program;
        let (node, group, member) = match &expression.kind {
            ExpressionKind::Constant(value) => return Some(value),
            ExpressionKind::Candidate(value) => return at.candidate?.known(*value),
            ExpressionKind::Field {
                group,
                field,
                member,
            } => {
                evaluation.members(*group)?;
                let member = member_of(evaluation, *group, *member, at)?;
                return match evaluation.field_in_place(*group, member, *field)? {
                    (_, _, Some(State::Known(value))) => Some(value),
                    _ => None,
                };
            }
            ExpressionKind::Input(id) => (Node::Input(*id), None, Member::Only),
            ExpressionKind::Let(id, member) => {
                (Node::Let(*id), program.lets[*id].for_each, *member)
            }
            ExpressionKind::Decision(id, member) => {
                let for_each = program.decisions[*id].for_each.as_ref();
                let group = for_each.map(|each| each.group);
                (Node::Decision(*id), group, *member)
            }
            _ => return None,
        };
        match find(evaluation, node, group, member, at)? {
            (_, Outcome::Decided(value)) => Some(value),
            _ => None,
        }
    }

    pub(super) fn of_input(&self, input: InputId) -> State {
        seen(
            self.evaluation,
            Place {
                node: Node::Input(input),
                member: None,
            },
        )
    }

    pub(super) fn of_let(&self, id: LetId, member: Member, at: At<'_>) -> State {
        self.of_node(
            Node::Let(id),
            self.world.program.lets[id].for_each,
            member,
            at,
        )
    }

    pub(super) fn of_decision(&self, id: DecisionId, member: Member, at: At<'_>) -> State {
        let for_each = &self.world.program.decisions[id].for_each;
        self.of_node(
            Node::Decision(id),
            for_each.as_ref().map(|each| each.group),
            member,
            at,
        )
    }

    pub(super) fn of_field(
        &self,
        group: GroupId,
        field: usize,
        member: Member,
        at: At<'_>,
    ) -> State {
        if self.evaluation.members(group).is_none() {
            return State::Undecided(self.evaluation.not_made(group));
        }
        match member_of(self.evaluation, group, member, at) {
            Some(member) => self
                .evaluation
                .field(group, member, field)
                .unwrap_or(State::None),
            None => self.not_there(Some(group), member, at),
        }
    }

    /// What stands for a club that is not in the group: none, or what only the group that joins
    /// the player's own clubs to the planned ones could say.
    fn not_there(&self, group: Option<GroupId>, member: Member, at: At<'_>) -> State {
        let joining = group.and_then(|group| {
            let from = from_where(self.evaluation, member, at)?.0;
            joining_group(self.world.program, from, group)
        });
        match joining {
            Some(joining) if self.evaluation.members(joining).is_none() => {
                State::Undecided(self.evaluation.not_made(joining))
            }
            _ => State::None,
        }
    }

    pub(super) fn of_chosen(
        &self,
        choose: ChooseId,
        value: CandidateValue,
        member: Member,
        at: At<'_>,
    ) -> State {
        let declared = &self.world.program.chooses[choose];
        let node = Node::Choose(choose);
        let group = declared.for_each.as_ref().map(|each| each.group);
        let Some((place, outcome)) = find(self.evaluation, node, group, member, at) else {
            return self.not_there(group, member, at);
        };
        match outcome {
            Outcome::Chosen(chosen) | Outcome::Ordered(chosen) => {
                match (value, Candidate::of_chosen(self.world, declared, chosen)) {
                    (CandidateValue::Let(index), _) => {
                        chosen.lets.get(index).cloned().unwrap_or(State::None)
                    }
                    (value, Some(candidate)) => candidate.state(value),
                    (_, None) => State::None,
                }
            }
            Outcome::DoesNotApply => State::None,
            outcome => State::Undecided(blocked_by(place, outcome)),
        }
    }

    fn of_node(&self, node: Node, group: Option<GroupId>, member: Member, at: At<'_>) -> State {
        match find(self.evaluation, node, group, member, at) {
            Some((place, outcome)) => seen_from_outside(place, outcome),
            None => self.not_there(group, member, at),
        }
    }
}

fn seen(evaluation: &Evaluation, place: Place) -> State {
    evaluation
        .outcome(place)
        .map_or(State::None, |outcome| seen_from_outside(place, outcome))
}

/// The place that is meant and what it came to; `None` where there is no such club.
fn find<'e>(
    evaluation: &'e Evaluation,
    node: Node,
    group: Option<GroupId>,
    member: Member,
    at: At<'_>,
) -> Option<(Place, &'e Outcome)> {
    let outcomes = evaluation.per_club(node)?;
    let place = match (outcomes, group) {
        // One for the bag, or one for a group that is not decided: it stands for every club.
        (PerClub::One(_), _) | (_, None) => Place { node, member: None },
        (_, Some(group)) => Place {
            node,
            member: Some(member_of(evaluation, group, member, at)?),
        },
    };
    outcomes.get(place.member).map(|outcome| (place, outcome))
}

/// The place in `group` of the club that is meant.
#[inline]
fn member_of(evaluation: &Evaluation, group: GroupId, member: Member, at: At<'_>) -> Option<usize> {
    match (member, at.club) {
        // Nearly always.
        (Member::Same, Some((own, place))) if own == group => Some(place),
        _ => other_member_of(evaluation, group, member, at),
    }
}

fn other_member_of(
    evaluation: &Evaluation,
    group: GroupId,
    member: Member,
    at: At<'_>,
) -> Option<usize> {
    match member {
        Member::First => evaluation.members(group)?.first().map(|_| 0),
        Member::Last => evaluation.members(group)?.len().checked_sub(1),
        Member::Same | Member::Only | Member::Previous | Member::Next => {
            let (from, place) = from_where(evaluation, member, at)?;
            evaluation.same_club(from, place, group)
        }
    }
}

/// The club at hand, or its neighbour along the bag: the one that is looked for in another group.
fn from_where(evaluation: &Evaluation, member: Member, at: At<'_>) -> Option<(GroupId, usize)> {
    let beside: fn(usize) -> Option<usize> = match member {
        Member::Same | Member::Only => return at.club,
        Member::Previous => |place| place.checked_sub(1),
        Member::Next => |place| place.checked_add(1),
        Member::First | Member::Last => return None,
    };
    let (from, place) = at.club?;
    let neighbour = match at.along {
        Some(along) => *along.order.get(beside(along.position)?)?,
        None => beside(place)?,
    };
    evaluation.members(from)?.get(neighbour)?;
    Some((from, neighbour))
}

/// The group that says which planned clubs the player's own are, where one of two groups holds
/// planned clubs and the other his own.
fn joining_group(program: &Program, one: GroupId, other: GroupId) -> Option<GroupId> {
    let (one, other) = (widest(program, one), widest(program, other));
    let is_given =
        |group: GroupId| matches!(program.groups[group].members, Members::GivenWithThePlayer);
    if is_given(one) == is_given(other) {
        return None;
    }
    let joins = |group: &Group| match &group.members {
        Members::MadeBy { from, .. } => {
            from.contains(&Node::Group(one)) && from.contains(&Node::Group(other))
        }
        _ => false,
    };
    let mut groups = program.groups.entries();
    groups.find(|(_, group)| joins(group)).map(|(id, _)| id)
}

/// The group of which a group is a part, or a part of a part; its clubs' fields are there.
pub(super) fn widest(program: &Program, group: GroupId) -> GroupId {
    let mut widest = group;
    while let Members::Where { of, .. } = &program.groups[widest].members {
        widest = *of;
    }
    widest
}

/// Adds a club to the fields of a group, which has so many of each.
pub(super) fn add_club(
    width: usize,
    known: impl Iterator<Item = (usize, State)>,
    fields: &mut Vec<Option<State>>,
) {
    let first = fields.len();
    fields.resize(first.saturating_add(width), None);
    for (field, state) in known {
        if let Some(place) = fields.get_mut(first.saturating_add(field)) {
            *place = Some(state);
        }
    }
}
