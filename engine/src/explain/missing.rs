//! Readings that are missing, with what waits for them, and readings that were assumed.

use std::collections::BTreeMap;

use loftwright_dsl::program::{InputId, Node, Value};

use super::decisions::causes_of;
use super::view::View;
use crate::outcome::{Cause, Outcome};
use crate::recommendation::{MissingReading, NamedText};
use crate::trace::How;

/// Every reading that something waits for: decisions, choices, limits and cautions by name, in the
/// order of evaluation; the readings by name.
pub(crate) fn missing_readings(view: &View<'_>) -> Vec<MissingReading> {
    let mut waiting: BTreeMap<InputId, Vec<String>> = BTreeMap::new();
    for entry in view.evaluated() {
        if matches!(
            entry.place.node,
            Node::Input(_) | Node::Let(_) | Node::Group(_)
        ) {
            continue;
        }
        let (causes, _) = causes_of(entry.outcome);
        for cause in causes {
            let Cause::Reading(input) = cause else {
                continue;
            };
            let names = waiting.entry(input).or_default();
            let name = view.name_of(entry.place.node);
            if !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
    }
    let mut missing: Vec<_> = waiting
        .into_iter()
        .map(|(input, decisions)| MissingReading {
            input: view.program.inputs[input].name.clone(),
            ask: view.program.inputs[input].ask.clone(),
            decisions,
        })
        .collect();
    missing.sort_by(|left, right| left.input.cmp(&right.input));
    missing
}

/// Every reading for which a default was assumed, by name.
pub(crate) fn assumed_readings(view: &View<'_>) -> Vec<NamedText> {
    let mut assumed: Vec<_> = view
        .evaluated()
        .iter()
        .filter_map(|entry| {
            let (Node::Input(id), How::Assumed) = (entry.place.node, &entry.how) else {
                return None;
            };
            let Outcome::Decided(value) = &entry.outcome else {
                return None;
            };
            Some(assumed_text(view, id, value))
        })
        .collect();
    assumed.sort_by(|left, right| left.name.cmp(&right.name));
    assumed
}

fn assumed_text(view: &View<'_>, id: InputId, value: &Value) -> NamedText {
    let input = &view.program.inputs[id];
    NamedText {
        name: input.name.clone(),
        text: input.shown.text(view.program, input.value_type, value),
    }
}
