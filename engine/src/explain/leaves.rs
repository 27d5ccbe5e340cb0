//! What an expression names: the readings, lets, decisions and fields in it, as they are written.

use loftwright_dsl::program::{
    CandidateValue, ChooseId, Expression, ExpressionKind, Field, GroupId, Member, Members, Program,
    Shown,
};

/// A part of an expression that names something.
pub(crate) struct Leaf<'e> {
    /// The part.
    pub(crate) expression: &'e Expression,
    /// As it is written: `steepness`, `iron_flex of the last iron`, `club.kind`.
    pub(crate) name: String,
    /// How it is shown; `previous` is shown as the decision is.
    pub(crate) shown: Option<&'e Shown>,
}

/// Everything an expression names, in the order written. Constants are read in the rule itself;
/// aggregates are left out, since what they run over has no one value.
pub(crate) fn leaves<'e>(program: &'e Program, expression: &'e Expression) -> Vec<Leaf<'e>> {
    let mut found = Vec::new();
    collect(program, expression, &mut found);
    found
}

fn collect<'e>(program: &'e Program, expression: &'e Expression, found: &mut Vec<Leaf<'e>>) {
    let mut leaf = |name: String, shown: &'e Shown| {
        found.push(Leaf {
            expression,
            name,
            shown: Some(shown),
        });
    };
    match &expression.kind {
        ExpressionKind::Input(id) => {
            let input = &program.inputs[*id];
            leaf(input.name.clone(), &input.shown);
        }
        ExpressionKind::Let(id, member) => {
            let declared = &program.lets[*id];
            if declared.constant.is_none() {
                let name = member_text(program, &declared.name, *member, declared.for_each);
                leaf(name, &declared.shown);
            }
        }
        ExpressionKind::Decision(id, member) => {
            let decision = &program.decisions[*id];
            let group = decision.for_each.as_ref().map(|each| each.group);
            leaf(
                member_text(program, &decision.name, *member, group),
                &decision.shown,
            );
        }
        ExpressionKind::Field {
            group,
            field,
            member,
        } => {
            if let Some(field) = field_of(program, *group, *field) {
                let name = match member {
                    Member::Only | Member::Same => {
                        format!("{}.{}", program.groups[*group].name, field.name)
                    }
                    _ => member_text(program, &field.name, *member, Some(*group)),
                };
                leaf(name, &field.shown);
            }
        }
        ExpressionKind::Chosen {
            choose,
            value,
            member,
        } => {
            if let Some((name, shown)) = of_chosen(program, *choose, *value) {
                let declared = &program.chooses[*choose];
                let group = declared.for_each.as_ref().map(|each| each.group);
                let name = format!("{}.{name}", declared.name);
                leaf(member_text(program, &name, *member, group), shown);
            }
        }
        ExpressionKind::PreviousValue => {
            found.push(Leaf {
                expression,
                name: "previous".to_owned(),
                shown: None,
            });
        }
        _ => children(expression, &mut |child| collect(program, child, found)),
    }
}

/// A field, let or setting of a chosen part.
pub(super) fn of_chosen(
    program: &Program,
    choose: ChooseId,
    value: CandidateValue,
) -> Option<(&str, &Shown)> {
    let choose = &program.chooses[choose];
    match value {
        CandidateValue::Field(index) => {
            let field = program.parts[choose.part].fields.get(index)?;
            Some((&field.name, &field.shown))
        }
        CandidateValue::Let(index) => {
            let declared = choose.lets.get(index)?;
            Some((&declared.name, &declared.shown))
        }
        CandidateValue::Setting(index) => {
            let (_, setting) = choose.in_each?;
            let field = program.parts[setting].fields.get(index)?;
            Some((&field.name, &field.shown))
        }
    }
}

/// The field of a group; a part of a group has the fields of the wider one.
fn field_of(program: &Program, group: GroupId, field: usize) -> Option<&Field> {
    match &program.groups[group].members {
        Members::Where { of, .. } => field_of(program, *of, field),
        _ => program.groups[group].fields.get(field),
    }
}

fn member_text(program: &Program, name: &str, member: Member, group: Option<GroupId>) -> String {
    let position = match member {
        Member::Only | Member::Same => return name.to_owned(),
        Member::First => "first",
        Member::Last => "last",
        Member::Previous => "previous",
        Member::Next => "next",
    };
    match group {
        Some(group) => format!("{name} of the {position} {}", program.groups[group].name),
        None => name.to_owned(),
    }
}

/// Visits what an expression is made of, one level down; aggregates are left out.
pub(super) fn children<'e>(expression: &'e Expression, visit: &mut dyn FnMut(&'e Expression)) {
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
        | ExpressionKind::Includes {
            list: left,
            value: right,
        }
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
