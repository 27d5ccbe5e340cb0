//! How far each club of the bag carries.

use loftwright_dsl::program::Value;

use super::Rung;
use crate::explain::View;
use crate::outcome::State;

const YARD_M: f64 = 0.9144;

/// The clubs whose carry is known, in the order of the bag.
pub(super) fn rungs(view: &View<'_>) -> Vec<Rung> {
    let Some(group) = view.groups.club else {
        return Vec::new();
    };
    let size = view.groups.size(group).unwrap_or_default();
    let field = |member, name| {
        view.groups
            .field_named(group, member, name)
            .map(|(_, state)| state)
    };
    let rung = |member| match field(member, "carry") {
        Some(State::Known(Value::Number(carry))) => Some(Rung {
            club: view.club_name(group, member),
            carry_yd: carry.to_f64() / YARD_M,
            is_kept: field(member, "is_kept") == Some(State::Known(Value::Flag(true))),
        }),
        _ => None,
    };
    (0..size).filter_map(rung).collect()
}
