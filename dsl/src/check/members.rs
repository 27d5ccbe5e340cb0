//! Which club and which field a name means.

use super::checker::Checker;
use super::expression::typed;
use super::scope::Scope;
use super::uses::Target;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Expression, ExpressionKind, Field, GroupId, Member, PartId, Type};
use crate::syntax::Span;
use crate::syntax::tree::{Name, Position};

impl Checker<'_> {
    /// Which member a declaration for each of `group` means here.
    pub(super) fn member_at_hand(
        &mut self,
        group: Option<GroupId>,
        name: &Name,
        scope: &Scope,
    ) -> Option<Member> {
        let Some(group) = group else {
            return Some(Member::Only);
        };
        let is_same = scope.group.is_some_and(|at_hand| {
            self.program.groups[at_hand].identity == self.program.groups[group].identity
        });
        if is_same {
            return Some(Member::Same);
        }
        let group_name = self.program.groups[group].name.clone();
        if self.is_damaged(&group_name) || self.is_of_a_lost_group(name.span) {
            // Which clubs they share cannot be known.
            return self.say_nothing(name.span);
        }
        let finding = Diagnostic::error(
            Code::OutOfScope,
            name.span,
            format!(
                "`{}` has a value for each {group_name}: say of which",
                name.text
            ),
        )
        .with_help(format!(
            "write `{} of the first {group_name}`, or use it `for each {group_name}`",
            name.text
        ));
        self.report(finding)
    }

    /// Sees that the club at hand may be a member of `group`.
    pub(super) fn same_club(&mut self, group: GroupId, span: Span, scope: &Scope) -> Option<()> {
        let name = self.program.groups[group].name.clone();
        if self.is_damaged(&name) || self.is_of_a_lost_group(span) {
            return self.say_nothing(span);
        }
        match scope.group {
            Some(at_hand)
                if self.program.groups[at_hand].identity == self.program.groups[group].identity =>
            {
                Some(())
            }
            Some(at_hand) => {
                let at_hand = self.program.groups[at_hand].name.clone();
                let message = format!("inside `for each {at_hand}` there is no {name} at hand");
                self.error(Code::OutOfScope, span, message)
            }
            None => {
                let finding = Diagnostic::error(
                    Code::OutOfScope,
                    span,
                    format!("there is no {name} at hand here"),
                )
                .with_help(format!(
                    "write `for each {name}` in the header, or `… of the first {name}`"
                ));
                self.report(finding)
            }
        }
    }

    /// A field of a group: its index in the group that owns it.
    pub(super) fn group_field(&mut self, group: GroupId, field: &Name) -> Option<(usize, Type)> {
        let owner = self.field_owner(group);
        let declared = &self.program.groups[owner];
        match field_of(&declared.fields, &field.text) {
            Ok(found) => {
                self.note_use(field.span, Target::GroupField(owner, found.0));
                Some(found)
            }
            Err(_) if self.is_damaged(&declared.name) => self.say_nothing(field.span),
            Err(known) => {
                let what = format!("a field of `{}`", declared.name);
                self.unknown_name(field, &what, known)
            }
        }
    }

    /// A field of a part.
    pub(super) fn part_field(&mut self, part: PartId, field: &Name) -> Option<(usize, Type)> {
        let declared = &self.program.parts[part];
        match field_of(&declared.fields, &field.text) {
            Ok(found) => {
                self.note_use(field.span, Target::PartField(part, found.0));
                Some(found)
            }
            Err(_) if self.is_damaged(&declared.name) => self.say_nothing(field.span),
            Err(known) => {
                let what = format!("a field of `{}`", declared.name);
                self.unknown_name(field, &what, known)
            }
        }
    }

    /// `X of the first G`.
    pub(super) fn of_member(
        &mut self,
        name: &Name,
        position: Position,
        group: &Name,
        scope: &Scope,
    ) -> Option<Expression> {
        let group_id = self.group_named(group)?;
        let span = name.span.to(group.span);
        let member = match position {
            Position::First => Member::First,
            Position::Last => Member::Last,
            Position::Next => Member::Next,
            Position::Previous => Member::Previous,
        };
        if matches!(member, Member::Next | Member::Previous) {
            self.same_club(group_id, group.span, scope)?;
        }
        let owner = self.field_owner(group_id);
        if self.program.groups[owner].field_index(&name.text).is_some() {
            let (field, value_type) = self.group_field(group_id, name)?;
            let kind = ExpressionKind::Field {
                group: group_id,
                field,
                member,
            };
            return Some(typed(kind, value_type, span));
        }
        let inner = Scope::of_group(Some(group_id));
        let found = self.declared(name, &inner, None)?;
        let declared_for = match &found.kind {
            ExpressionKind::Let(id, _) => self.program.lets[*id].for_each,
            ExpressionKind::Decision(id, _) => self.program.decisions[*id]
                .for_each
                .as_ref()
                .map(|for_each| for_each.group),
            _ => None,
        };
        if declared_for != Some(group_id) {
            let message = match declared_for {
                Some(other) => {
                    let other = &self.program.groups[other].name;
                    format!(
                        "`{}` is decided for each {other}, not for each {}",
                        name.text, group.text
                    )
                }
                None => format!("`{}` is not decided for each {}", name.text, group.text),
            };
            return self.error(Code::WrongKind, span, message);
        }
        let kind = match found.kind {
            ExpressionKind::Let(id, _) => ExpressionKind::Let(id, member),
            ExpressionKind::Decision(id, _) => ExpressionKind::Decision(id, member),
            other => other,
        };
        Some(typed(kind, found.value_type, span))
    }
}

/// The place and type of a field; where there is none of the name, the names there are.
pub(super) fn field_of(fields: &[Field], name: &str) -> Result<(usize, Type), Vec<String>> {
    let found = fields
        .iter()
        .enumerate()
        .find(|(_, field)| field.name == name);
    found
        .map(|(index, field)| (index, field.value_type))
        .ok_or_else(|| fields.iter().map(|field| field.name.clone()).collect())
}
