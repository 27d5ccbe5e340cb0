//! Sentences for what is not settled: which readings are needed, what blocks, what went wrong.

use std::collections::BTreeSet;

use loftwright_dsl::program::{Node, Shown, Value};

use super::failures;
use super::view::{Evaluated, View};
use super::words::{listed, quoted};
use crate::outcome::{Cause, Outcome, OutsideRange, Place, Undecided};
use crate::trace::How;

/// ``needs `wrist_to_floor` ``, ``blocked by `club_length` of the 7 iron: needs `wrist_to_floor`
/// ``.
pub(crate) fn undecided(view: &View<'_>, undecided: &Undecided) -> String {
    let blockers = &undecided.blocked_by;
    let ended = ended_places(&undecided.causes);
    let needs = needs(view, &undecided.causes);
    if blockers.is_empty() {
        return joined(needs, ended_texts(view, &ended));
    }
    let named = listed(&view.places_text(blockers.iter()));
    // Where what blocks is itself the root, one clause says both.
    if needs.is_none() && ended == *blockers {
        let texts: Vec<_> = ended.iter().map(|place| ended_text(view, *place)).collect();
        return format!("blocked by {named}: {}", once(texts).join("; "));
    }
    match joined(needs, ended_texts(view, &ended)) {
        roots if roots.is_empty() => format!("blocked by {named}"),
        roots => format!("blocked by {named}: {roots}"),
    }
}

/// The names of the readings among the causes, in order.
pub(crate) fn readings_of(view: &View<'_>, causes: &BTreeSet<Cause>) -> Vec<String> {
    let mut names: Vec<_> = causes
        .iter()
        .filter_map(|cause| match cause {
            Cause::Reading(input) => Some(view.program.inputs[*input].name.clone()),
            _ => None,
        })
        .collect();
    names.sort();
    names
}

/// The sentence for an outcome without a value; `None` where there is a value.
pub(crate) fn of_entry(view: &View<'_>, entry: &Evaluated<'_>) -> Option<String> {
    Some(match &entry.outcome {
        Outcome::Decided(_) | Outcome::Chosen(_) | Outcome::Ordered(_) => return None,
        Outcome::Needs(causes) => undecided(
            view,
            &Undecided {
                blocked_by: BTreeSet::new(),
                causes: causes.clone(),
            },
        ),
        Outcome::Blocked(causes) => undecided(view, causes),
        Outcome::DoesNotApply => match entry.how {
            How::OnlyWhen => "does not apply: its `only when` does not hold".to_owned(),
            _ => "does not apply".to_owned(),
        },
        Outcome::Contradicted { table, row } => contradicted(view, entry.place, *table, *row),
        Outcome::OutsideRange(beyond) => format!("outside range: {}", beyond_range(view, beyond)),
        Outcome::Infeasible(reason) => format!("cannot be made: {}", reason.0),
        Outcome::Faulted(fault) => format!("met a fault: {fault}"),
        Outcome::LeftOpen => failures::left_open(view, entry),
        Outcome::NoneOnHand => failures::none_on_hand(view, entry),
    })
}

fn joined(needs: Option<String>, ended: Vec<String>) -> String {
    let mut clauses: Vec<String> = needs.into_iter().collect();
    clauses.extend(ended);
    clauses.join("; ")
}

fn once(texts: Vec<String>) -> Vec<String> {
    let mut kept: Vec<String> = Vec::new();
    for text in texts {
        if !kept.contains(&text) {
            kept.push(text);
        }
    }
    kept
}

/// ``needs `a`, `b` and `loft` of the 7 iron``.
fn needs(view: &View<'_>, causes: &BTreeSet<Cause>) -> Option<String> {
    let mut items: Vec<String> = readings_of(view, causes)
        .iter()
        .map(|name| quoted(name))
        .collect();
    for cause in causes {
        match cause {
            Cause::Reading(_) | Cause::Ended(_) => {}
            Cause::ClubField {
                group,
                member,
                field,
            } => {
                let name = view.groups.field_name(*group, *field);
                items.push(format!(
                    "{} of the {}",
                    quoted(name),
                    view.club_name(*group, *member)
                ));
            }
            Cause::PartField { part, field } => {
                let part = &view.program.parts[*part];
                let name = part
                    .fields
                    .get(*field)
                    .map_or("a field", |field| &field.name);
                items.push(format!("{} of the {}", quoted(name), part.name));
            }
        }
    }
    (!items.is_empty()).then(|| format!("needs {}", listed(&items)))
}

fn ended_places(causes: &BTreeSet<Cause>) -> BTreeSet<Place> {
    let ended = |cause: &Cause| match cause {
        Cause::Ended(place) => Some(*place),
        _ => None,
    };
    causes.iter().filter_map(ended).collect()
}

fn ended_texts(view: &View<'_>, ended: &BTreeSet<Place>) -> Vec<String> {
    let text = |place: &Place| {
        let name = listed(&view.places_text(std::iter::once(place)));
        format!("{name} {}", ended_text(view, *place))
    };
    ended.iter().map(text).collect()
}

/// How a place ended that stands at the root of others: `is left open`.
fn ended_text(view: &View<'_>, place: Place) -> String {
    match view.outcome(place) {
        Some(Outcome::Contradicted { .. }) => "is contradicted by the readings".to_owned(),
        Some(Outcome::OutsideRange(beyond)) => {
            format!("is outside range ({})", beyond_range(view, beyond))
        }
        Some(Outcome::Infeasible(reason)) => format!("cannot be made ({})", reason.0),
        Some(Outcome::Faulted(fault)) => format!("met a fault ({fault})"),
        Some(Outcome::LeftOpen) => "is left open".to_owned(),
        Some(Outcome::NoneOnHand) => "has nothing on hand".to_owned(),
        _ => "did not come to a value".to_owned(),
    }
}

fn contradicted(view: &View<'_>, place: Place, table: usize, row: usize) -> String {
    let found = match place.node {
        Node::Decision(id) => view.program.decisions[id]
            .tables()
            .get(table)
            .and_then(|table| table.rows.get(row)),
        _ => None,
    };
    let Some(found) = found else {
        return "these readings contradict each other".to_owned();
    };
    let because = found
        .because
        .as_ref()
        .map(|text| format!(": {text}"))
        .unwrap_or_default();
    format!(
        "these readings contradict each other (table {}, row {}, {}){because}",
        table + 1,
        row + 1,
        quoted(&found.text)
    )
}

/// What a model takes and what it was asked with.
pub(crate) fn beyond_range(view: &View<'_>, beyond: &OutsideRange) -> String {
    let model = &view.program.models[beyond.model];
    let name = quoted(&model.name);
    let Some(argument) = beyond.argument.and_then(|index| model.arguments.get(index)) else {
        return format!("{name} has no answer for what it was asked");
    };
    let shown = Shown::default();
    let text = |value: &Value| shown.text(view.program, argument.value_type, value);
    let allowed = argument
        .between
        .as_ref()
        .map_or_else(String::new, |(low, high)| {
            format!(" from {} through {}", text(low), text(high))
        });
    let asked = beyond.value.as_ref().map_or_else(String::new, |value| {
        format!(", and was asked with {}", text(value))
    });
    format!("{name} takes {}{allowed}{asked}", quoted(&argument.name))
}

/// What another evaluation came to in words, where it has no value; `None` for a part.
pub(crate) fn of_other_side(view: &View<'_>, place: Place, outcome: &Outcome) -> Option<String> {
    match outcome {
        Outcome::Decided(_) | Outcome::Chosen(_) | Outcome::Ordered(_) => None,
        outcome => {
            let entry = Evaluated {
                place,
                outcome,
                how: &How::Plain,
            };
            of_entry(view, &entry)
        }
    }
}
