//! What a decision rests on beyond what the literature covers.
//!
//! A model that was asked within its range, but for more than its source has measured, answers and
//! says so in the trace. Here that is brought to the decision or choice that looked at the answer,
//! itself or through lets. Other decisions are not looked through: they say it themselves.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Expression, ExpressionKind, LetId, Member, Node};

use super::expressions;
use super::leaves::children;
use super::view::View;
use super::words::quoted;
use crate::model::BeyondLiterature;
use crate::outcome::Place;
use crate::trace::ModelCall;

/// The calls of an evaluation that said so, by who asked.
pub(crate) struct Beyond<'a> {
    calls: BTreeMap<Place, Vec<(&'a ModelCall, BeyondLiterature)>>,
    /// By node: the lets that it looks at, each with whether for the club at hand alone. Worked out
    /// where there is a call to be found.
    uses: BTreeMap<Node, BTreeMap<LetId, bool>>,
}

impl<'a> Beyond<'a> {
    /// Looks through a trace.
    pub(crate) fn of(view: &View<'a>) -> Self {
        let mut calls: BTreeMap<Place, Vec<_>> = BTreeMap::new();
        for call in &view.trace.models {
            if let Some(beyond) = call.beyond {
                calls.entry(call.place).or_default().push((call, beyond));
            }
        }
        let mut uses = BTreeMap::new();
        if !calls.is_empty() {
            let nodes = view.program.order.iter();
            uses.extend(nodes.map(|node| (*node, uses_in(view, *node))));
        }
        Beyond { calls, uses }
    }

    /// A sentence for each model and each of its quantities that the decision or choice rests on,
    /// in the order of declaration of the lets between; none for most.
    pub(crate) fn sentences(&self, view: &View<'_>, place: Place) -> Vec<String> {
        if self.calls.is_empty() {
            return Vec::new();
        }
        let mut found = Vec::new();
        let mut seen = BTreeSet::new();
        let mut places = vec![place];
        places.extend(self.lets_behind(view, place));
        for (call, beyond) in places
            .iter()
            .filter_map(|place| self.calls.get(place))
            .flatten()
        {
            if seen.insert((call.model, beyond.quantity)) {
                let model = &view.program.models[call.model].name;
                found.push(format!(
                    "{} rests on more than was measured: {beyond}",
                    quoted(model)
                ));
            }
        }
        found
    }

    /// The lets that a node looks at, at the clubs at which it does: for another club of the group,
    /// or over all of them, every club.
    fn lets_behind(&self, view: &View<'_>, place: Place) -> BTreeSet<Place> {
        let mut found = BTreeSet::new();
        let mut open = vec![place];
        while let Some(place) = open.pop() {
            for (id, at_hand_only) in self.uses.get(&place.node).into_iter().flatten() {
                let node = Node::Let(*id);
                let groups = (view.group_of(place.node), place.member, view.group_of(node));
                let club = match groups {
                    (Some(from), Some(member), Some(to)) if *at_hand_only => {
                        view.groups.same_club(from, member, to)
                    }
                    _ => None,
                };
                let entries = view.evaluated_for(node).map(|entry| entry.place);
                for other in entries.filter(|other| club.is_none() || other.member == club) {
                    if found.insert(other) {
                        open.push(other);
                    }
                }
            }
        }
        found
    }
}

/// The lets that a node looks at.
fn uses_in(view: &View<'_>, node: Node) -> BTreeMap<LetId, bool> {
    let mut uses = BTreeMap::new();
    for expression in expressions_of(view, node) {
        uses_of(expression, true, &mut uses);
    }
    uses
}

fn expressions_of<'a>(view: &View<'a>, node: Node) -> Vec<&'a Expression> {
    match node {
        Node::Let(id) => vec![&view.program.lets[id].value],
        Node::Decision(id) => expressions::of_decision(&view.program.decisions[id]),
        Node::Choose(id) => expressions::of_choose(&view.program.chooses[id]),
        Node::Input(_) | Node::Group(_) | Node::Limit(_) | Node::Caution(_) => Vec::new(),
    }
}

/// The lets in an expression, each with whether it is looked at for the club at hand alone.
fn uses_of(expression: &Expression, at_hand_only: bool, found: &mut BTreeMap<LetId, bool>) {
    match &expression.kind {
        ExpressionKind::Let(id, member) => {
            let at_hand = at_hand_only && matches!(member, Member::Same | Member::Only);
            let known = found.entry(*id).or_insert(at_hand);
            *known = *known && at_hand;
        }
        ExpressionKind::Aggregate(aggregate) => {
            if let Some(inner) = expressions::of_aggregate(aggregate) {
                uses_of(inner, false, found);
            }
        }
        _ => children(expression, &mut |child| {
            uses_of(child, at_hand_only, found);
        }),
    }
}
