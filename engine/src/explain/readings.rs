//! What a step looked at, each with its name as written and its value as text.

use loftwright_dsl::program::{
    CandidateValue, Expression, ExpressionKind, Field, Member, Program, Shown, Table,
};

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
    let reading = |(column, state): (&loftwright_dsl::program::Column, &State)| NamedText {
        name: column.text.clone(),
        text: state_text(view.program, column.value.value_type, &column.shown, state),
    };
    table.columns.iter().zip(columns).map(reading).collect()
}

/// The readings, lets, decisions and fields that an expression names, with their values for the
/// club; each once, in the order written.
pub(crate) fn looked_at(view: &View<'_>, place: Place, expression: &Expression) -> Vec<NamedText> {
    let mut leaves = Vec::new();
    collect(view.program, expression, &mut leaves);
    let mut readings: Vec<NamedText> = Vec::new();
    for leaf in leaves {
        let Some(state) = view.groups.state_at(view, place, leaf.expression) else {
            continue;
        };
        let text = state_text(view.program, leaf.expression.value_type, leaf.shown, &state);
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

/// A part of an expression that names something.
struct Leaf<'e> {
    expression: &'e Expression,
    name: String,
    shown: &'e Shown,
}

/// Finds what an expression names. Aggregates are left out: what they run over has no one value.
fn collect<'e>(program: &'e Program, expression: &'e Expression, leaves: &mut Vec<Leaf<'e>>) {
    let leaf = |name: String, shown: &'e Shown| Leaf {
        expression,
        name,
        shown,
    };
    match &expression.kind {
        ExpressionKind::Input(id) => {
            let input = &program.inputs[*id];
            leaves.push(leaf(input.name.clone(), &input.shown));
        }
        ExpressionKind::Let(id, member) => {
            let declared = &program.lets[*id];
            // A constant is read in the rule itself.
            if declared.constant.is_none() {
                let group = declared
                    .for_each
                    .map(|group| program.groups[group].name.as_str());
                leaves.push(leaf(
                    member_text(&declared.name, *member, group),
                    &declared.shown,
                ));
            }
        }
        ExpressionKind::Decision(id, member) => {
            let decision = &program.decisions[*id];
            let group = decision.for_each.as_ref().map(|each| each.group);
            let group = group.map(|group| program.groups[group].name.as_str());
            leaves.push(leaf(
                member_text(&decision.name, *member, group),
                &decision.shown,
            ));
        }
        ExpressionKind::Field {
            group,
            field,
            member,
        } => {
            if let Some(found) = field_of(program, *group, *field) {
                let group = program.groups[*group].name.as_str();
                leaves.push(leaf(
                    member_text(&found.name, *member, Some(group)),
                    &found.shown,
                ));
            }
        }
        ExpressionKind::Chosen {
            choose,
            value,
            member,
        } => {
            let choose = &program.chooses[*choose];
            let found = match value {
                CandidateValue::Field(index) => {
                    let field = program.parts[choose.part].fields.get(*index);
                    field.map(|field| (&field.name, &field.shown))
                }
                CandidateValue::Let(index) => choose
                    .lets
                    .get(*index)
                    .map(|declared| (&declared.name, &declared.shown)),
                CandidateValue::Setting(index) => choose.in_each.and_then(|(_, part)| {
                    let field = program.parts[part].fields.get(*index);
                    field.map(|field| (&field.name, &field.shown))
                }),
            };
            if let Some((name, shown)) = found {
                let group = choose.for_each.as_ref().map(|each| each.group);
                let group = group.map(|group| program.groups[group].name.as_str());
                let name = format!("{}.{name}", choose.name);
                leaves.push(leaf(member_text(&name, *member, group), shown));
            }
        }
        _ => children(expression, &mut |child| collect(program, child, leaves)),
    }
}

/// The field of a group; a part of a group has the fields of the wider one.
pub(crate) fn field_of(
    program: &Program,
    group: loftwright_dsl::program::GroupId,
    field: usize,
) -> Option<&Field> {
    use loftwright_dsl::program::Members;
    match &program.groups[group].members {
        Members::Where { of, .. } if program.groups[group].fields.is_empty() => {
            field_of(program, *of, field)
        }
        _ => program.groups[group].fields.get(field),
    }
}

fn member_text(name: &str, member: Member, group: Option<&str>) -> String {
    let of = |position: &str| match group {
        Some(group) => format!("{name} of the {position} {group}"),
        None => name.to_owned(),
    };
    match member {
        Member::Only | Member::Same => name.to_owned(),
        Member::First => of("first"),
        Member::Last => of("last"),
        Member::Previous => of("previous"),
        Member::Next => of("next"),
    }
}

fn children<'e>(expression: &'e Expression, visit: &mut dyn FnMut(&'e Expression)) {
    match &expression.kind {
        ExpressionKind::Negative(value)
        | ExpressionKind::Not(value)
        | ExpressionKind::SizeOf(value)
        | ExpressionKind::Moved(value, _)
        | ExpressionKind::IsNone { value, .. }
        | ExpressionKind::IsKnown { value, .. }
        | ExpressionKind::IsOneOf { value, .. } => visit(value),
        ExpressionKind::Arithmetic(_, left, right)
        | ExpressionKind::And(left, right)
        | ExpressionKind::Or(left, right)
        | ExpressionKind::Is { left, right, .. }
        | ExpressionKind::Order { left, right, .. }
        | ExpressionKind::Extreme(_, left, right)
        | ExpressionKind::OrIfUnknown {
            value: left,
            instead: right,
        } => {
            visit(left);
            visit(right);
        }
        ExpressionKind::Within {
            subject,
            tolerance,
            of,
        } => {
            visit(subject);
            visit(tolerance);
            visit(of);
        }
        ExpressionKind::If {
            condition,
            then,
            otherwise,
        } => {
            visit(condition);
            visit(then);
            visit(otherwise);
        }
        ExpressionKind::Model(_, arguments) => arguments.iter().for_each(visit),
        ExpressionKind::Rounded { value, to, .. } => {
            visit(value);
            visit(to);
        }
        ExpressionKind::KeptWithin { value, low, high } => {
            visit(value);
            visit(low);
            visit(high);
        }
        ExpressionKind::Constant(_)
        | ExpressionKind::None
        | ExpressionKind::Input(_)
        | ExpressionKind::Let(..)
        | ExpressionKind::Decision(..)
        | ExpressionKind::Field { .. }
        | ExpressionKind::Chosen { .. }
        | ExpressionKind::Candidate(_)
        | ExpressionKind::PreviousValue
        | ExpressionKind::Aggregate(_) => {}
    }
}
