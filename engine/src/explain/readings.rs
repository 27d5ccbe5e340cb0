//! What a step looked at, each with its name as written and its value as text.

use loftwright_dsl::program::{Column, Decision, Expression, ExpressionKind, Member, Table};

use super::leaves::{Leaf, leaves};
use super::value::state_text;
use super::view::View;
use crate::outcome::{Place, State};
use crate::recommendation::NamedText;

/// The columns of a table with what they were.
pub(crate) fn table_readings(
    view: &View<'_>,
    table: Option<&Table>,
    columns: &[State],
) -> Vec<NamedText> {
    let Some(table) = table else {
        return Vec::new();
    };
    let reading = |(column, state): (&Column, &State)| NamedText {
        name: column.text.clone(),
        text: state_text(view.program, column.value.value_type, &column.shown, state),
    };
    table.columns.iter().zip(columns).map(reading).collect()
}

/// What an expression of a decision names, with its values for the club; each once, in the order
/// written.
pub(crate) fn looked_at(
    view: &View<'_>,
    place: Place,
    decision: &Decision,
    expression: &Expression,
) -> Vec<NamedText> {
    let mut readings: Vec<NamedText> = Vec::new();
    for leaf in leaves(view.program, expression) {
        let state = state_of(view, place, &leaf);
        let shown = leaf.shown.unwrap_or(&decision.shown);
        let text = state_text(view.program, leaf.expression.value_type, shown, &state);
        let reading = NamedText {
            name: leaf.name,
            text,
        };
        if !readings.contains(&reading) {
            readings.push(reading);
        }
    }
    readings
}

fn state_of(view: &View<'_>, place: Place, leaf: &Leaf<'_>) -> State {
    if matches!(leaf.expression.kind, ExpressionKind::PreviousValue) {
        return match neighbour(view, place, Member::Previous) {
            Some(before) => view.groups.state(before).unwrap_or(State::None),
            None => State::None,
        };
    }
    // A neighbour along the bag is looked up as the club at hand of its own place.
    let mut expression = leaf.expression.clone();
    let (ExpressionKind::Let(_, member)
    | ExpressionKind::Decision(_, member)
    | ExpressionKind::Field { member, .. }
    | ExpressionKind::Chosen { member, .. }) = &mut expression.kind
    else {
        return view.groups.state_at(view, place, leaf.expression);
    };
    if !matches!(member, Member::Previous | Member::Next) {
        return view.groups.state_at(view, place, leaf.expression);
    }
    let beside = neighbour(view, place, *member);
    *member = Member::Same;
    beside.map_or(State::None, |beside| {
        view.groups.state_at(view, beside, &expression)
    })
}

/// The club before or after along the bag; clubs stand in the trace in the order in which they were
/// decided.
fn neighbour(view: &View<'_>, place: Place, member: Member) -> Option<Place> {
    let order: Vec<Place> = view
        .evaluated_for(place.node)
        .map(|entry| entry.place)
        .collect();
    let position = order.iter().position(|known| *known == place)?;
    let beside = if member == Member::Previous {
        position.checked_sub(1)?
    } else {
        position.checked_add(1)?
    };
    order.get(beside).copied()
}
