//! A report for every decision and choice, in the order of evaluation.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Node, Origin, Source};

use super::beyond::Beyond;
use super::part_build::code_value;
use super::value::shown_value;
use super::view::{Evaluated, View};
use super::{selection, sentence, steps};
use crate::outcome::{Cause, Outcome, Place};
use crate::recommendation::{DecisionReport, Ending, ShownValue, Sureness};
use crate::trace::How;

/// Every decision and choice with its reasons, and how sure it is where that is known.
pub(crate) fn reports(
    view: &View<'_>,
    mut sureness: BTreeMap<Place, Sureness>,
) -> Vec<DecisionReport> {
    let beyond = Beyond::of(view);
    let is_told = told(view);
    let entries = view.evaluated().iter();
    let reports = entries
        .filter(|entry| is_told(&entry.place))
        .filter_map(|entry| {
            let mut report = report(view, &beyond, entry)?;
            report.sureness = sureness.remove(&entry.place);
            Some(report)
        });
    reports.collect()
}

/// Which places an answer tells of: not those of the candidates that the plan does not have.
pub(super) fn told<'v>(view: &'v View<'_>) -> impl Fn(&Place) -> bool + 'v {
    let left_out = view.groups.left_out_of_the_plan();
    move |place| match (view.group_of(place.node), place.member) {
        (Some(group), Some(member)) => !left_out.contains(&(group, member)),
        _ => true,
    }
}

fn report(view: &View<'_>, beyond: &Beyond<'_>, entry: &Evaluated<'_>) -> Option<DecisionReport> {
    let origin = match entry.place.node {
        Node::Decision(id) => &view.program.decisions[id].origin,
        Node::Choose(id) => &view.program.chooses[id].origin,
        _ => return None,
    };
    let group = view.group_of(entry.place.node);
    let (causes, blockers) = causes_of(entry.outcome);
    Some(DecisionReport {
        name: view.name_of(entry.place.node).to_owned(),
        club: view.club_of(entry.place),
        group: group.map(|group| view.program.groups[group].name.clone()),
        ending: ending_of(entry.outcome),
        value: value_of(view, entry),
        explanation: sentence::of_entry(view, entry),
        needs: sentence::readings_of(view, &causes),
        blocked_by: names_of(view, &blockers),
        steps: match &entry.how {
            How::Selection(selected) => selection::steps(view, entry, selected),
            _ => steps::of_entry(view, entry),
        },
        beyond_literature: beyond.sentences(view, entry.place),
        about: origin.about.clone(),
        source: source_text(origin),
        layer: layer_name(view, origin.layer),
        replaces: origin.replaces.map(|layer| layer_name(view, layer)),
        sureness: None,
    })
}

/// `common practice`, or the publication.
pub(crate) fn source_text(origin: &Origin) -> Option<String> {
    origin.source.as_ref().map(|source| match source {
        Source::CommonPractice => "common practice".to_owned(),
        Source::Published(publication) => publication.clone(),
    })
}

fn layer_name(view: &View<'_>, layer: usize) -> String {
    view.program
        .layers
        .get(layer)
        .map_or_else(String::new, |layer| layer.name.clone())
}

/// The root causes of an outcome and what blocks it.
pub(crate) fn causes_of(outcome: &Outcome) -> (BTreeSet<Cause>, BTreeSet<Place>) {
    match outcome {
        Outcome::Needs(causes) => (causes.clone(), BTreeSet::new()),
        Outcome::Blocked(why) => (why.causes.clone(), why.blocked_by.clone()),
        _ => (BTreeSet::new(), BTreeSet::new()),
    }
}

fn names_of(view: &View<'_>, places: &BTreeSet<Place>) -> Vec<String> {
    let names: BTreeSet<&str> = places
        .iter()
        .map(|place| view.name_of(place.node))
        .collect();
    names.into_iter().map(str::to_owned).collect()
}

pub(super) fn ending_of(outcome: &Outcome) -> Ending {
    match outcome {
        Outcome::Decided(_) => Ending::Decided,
        Outcome::Needs(_) => Ending::Needs,
        Outcome::Blocked(_) => Ending::Blocked,
        Outcome::DoesNotApply => Ending::DoesNotApply,
        Outcome::Contradicted { .. } => Ending::Contradicted,
        Outcome::OutsideRange(_) => Ending::OutsideRange,
        Outcome::Infeasible(_) => Ending::Infeasible,
        Outcome::Faulted(_) => Ending::Faulted,
        Outcome::Chosen(_) => Ending::Chosen,
        Outcome::Ordered(_) => Ending::Ordered,
        Outcome::LeftOpen => Ending::LeftOpen,
        Outcome::NoneOnHand => Ending::NoneOnHand,
    }
}

/// The value of a decision or let, or the code of the part that was chosen.
pub(crate) fn value_of(view: &View<'_>, entry: &Evaluated<'_>) -> Option<ShownValue> {
    value_at(view, entry.place, entry.outcome)
}

/// The same of a place and what it came to.
pub(super) fn value_at(view: &View<'_>, place: Place, outcome: &Outcome) -> Option<ShownValue> {
    match (outcome, place.node) {
        (Outcome::Decided(value), Node::Decision(id)) => {
            let decision = &view.program.decisions[id];
            Some(shown_value(
                view.program,
                decision.value_type,
                &decision.shown,
                value,
            ))
        }
        (Outcome::Decided(value), Node::Let(id)) => {
            let declared = &view.program.lets[id];
            Some(shown_value(
                view.program,
                declared.value_type,
                &declared.shown,
                value,
            ))
        }
        (Outcome::Chosen(chosen) | Outcome::Ordered(chosen), Node::Choose(id)) => {
            Some(code_value(view, view.program.chooses[id].part, chosen))
        }
        _ => None,
    }
}
