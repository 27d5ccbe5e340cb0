//! Why no part was chosen: which needs the candidates failed, and by how much the nearest missed.

use loftwright_dsl::program::{
    Choose, Expression, ExpressionKind, Node, Rung, RungKind, Shown, Type, Value,
};

use super::part_build::code_text;
use super::view::{Evaluated, View};
use super::words::{listed, quoted};
use crate::trace::{FailedGroup, How, Selection};

/// The sentence for a choice that is left open.
pub(super) fn left_open(view: &View<'_>, entry: &Evaluated<'_>) -> String {
    let says = choose_of(view, entry).and_then(|choose| {
        let open = |rung: &&Rung| matches!(rung.kind, RungKind::LeavesOpen);
        choose
            .rungs
            .iter()
            .find(open)
            .and_then(|rung| rung.says.clone())
    });
    let failures = failures(view, entry);
    match says {
        Some(says) => format!("left open, {failures}: {says}"),
        None => format!("left open, {failures}"),
    }
}

/// The sentence for a choice that finds nothing.
pub(super) fn none_on_hand(view: &View<'_>, entry: &Evaluated<'_>) -> String {
    format!("none on hand, {}", failures(view, entry))
}

fn choose_of<'a>(view: &View<'a>, entry: &Evaluated<'_>) -> Option<&'a Choose> {
    match entry.place.node {
        Node::Choose(id) => Some(&view.program.chooses[id]),
        _ => None,
    }
}

/// ``none of 12 meets the needs: 9 fail `kind is wedge`, 3 fail `mass over 200 g` (nearest by 2
/// g)``.
fn failures(view: &View<'_>, entry: &Evaluated<'_>) -> String {
    let (Some(choose), How::Selection(selection)) = (choose_of(view, entry), &entry.how) else {
        return "nothing meets the needs".to_owned();
    };
    let part = &view.program.parts[choose.part];
    if selection.candidates == 0 {
        return format!("no {} is on hand", part.name);
    }
    let lines = failed_lines(view, choose, selection);
    let count = selection.candidates;
    match (lines.as_slice(), selection.gone_to_others) {
        ([], 0) => format!("none of {count} meets the needs"),
        (lines, gone @ 1..) => {
            let verb = if gone == 1 { "goes" } else { "go" };
            let mut reasons = vec![format!("{gone} {verb} to other clubs")];
            reasons.extend_from_slice(lines);
            format!("none of {count} is left: {}", listed(&reasons))
        }
        (lines, 0) => format!("none of {count} meets the needs: {}", listed(lines)),
    }
}

/// One text for each `needs` line that candidates failed first.
pub(super) fn failed_lines(view: &View<'_>, choose: &Choose, selection: &Selection) -> Vec<String> {
    let line = |failed: &FailedGroup| {
        let text = choose
            .needs
            .get(failed.needs)
            .map_or("", |needs| needs.text.as_str());
        let nearest = nearest_miss(view, choose, failed);
        let verb = if failed.count == 1 { "fails" } else { "fail" };
        format!("{} {verb} {}{nearest}", failed.count, quoted(text))
    };
    selection.failed.iter().map(line).collect()
}

fn nearest_miss(view: &View<'_>, choose: &Choose, failed: &FailedGroup) -> String {
    let Some((part, piece, _, miss)) = &failed.nearest else {
        return String::new();
    };
    let code = code_text(view, choose.part, *part, *piece);
    // A miss is a difference: of two points on a scale, a size.
    let value_type = choose
        .needs
        .get(failed.needs)
        .and_then(|needs| compared_type(&needs.condition))
        .and_then(Type::dimension)
        .map(Type::Quantity);
    match value_type {
        Some(value_type) => {
            let shown = Shown::default();
            let text = shown.text(view.program, value_type, &Value::Number(*miss));
            format!(" (nearest: {code}, by {text})")
        }
        None => format!(" (nearest: {code})"),
    }
}

/// The type of the two sides that a condition compares.
fn compared_type(condition: &Expression) -> Option<Type> {
    match &condition.kind {
        ExpressionKind::Order { left, .. } | ExpressionKind::Is { left, .. } => {
            Some(left.value_type)
        }
        ExpressionKind::Within { subject, .. } => Some(subject.value_type),
        _ => None,
    }
}
