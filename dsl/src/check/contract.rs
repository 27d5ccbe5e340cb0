//! The contract: what the engine reads must be there, with the right type, for the right clubs.

use super::checker::{Checker, Symbol};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Field, GroupId};
use crate::syntax::Span;
use crate::syntax::tree::{self, DeclarationKind, Name, ReadsWhat, TypeReference};

impl Checker<'_> {
    /// Every `reads` of the contract.
    pub(super) fn check_contract(&mut self) {
        let merged = self.merged;
        for declaration in &merged.reads {
            let DeclarationKind::Reads(reads) = &declaration.kind else {
                continue;
            };
            match &reads.what {
                ReadsWhat::Part(fields) => self.read_part(&reads.name, fields),
                ReadsWhat::Group(fields) => self.read_group(&reads.name, fields),
                ReadsWhat::Value {
                    type_reference,
                    for_each,
                } => {
                    self.read_value(&reads.name, type_reference, for_each.as_ref());
                }
            }
        }
    }

    /// A place of the ruleset to point at: a contract's line means nothing to a manager.
    fn ruleset_place(&self, name: &Name) -> Span {
        self.folder
            .entries()
            .rfind(|(_, file)| file.layer != self.folder[name.span.file].layer)
            .map_or(name.span, |(file, _)| Span {
                file,
                start: 0,
                end: 0,
            })
    }

    fn missing(&mut self, name: &Name, what: &str) {
        if self.is_lost(&name.text) {
            return;
        }
        let place = self.ruleset_place(name);
        let message = format!("the engine reads `{}`, and no layer declares it", name.text);
        let finding = Diagnostic::error(Code::Contract, place, message)
            .also_at(name.span, "read here")
            .with_help(format!("write `{what}`"));
        let _: Option<()> = self.report(finding);
    }

    fn read_part(&mut self, name: &Name, fields: &[tree::Field]) {
        let Some(Symbol::Part(part)) = self.symbol(name) else {
            self.missing(name, &format!("part {}", name.text));
            return;
        };
        let declared = &self.program.parts[part];
        let (span, found) = (declared.origin.span, declared.fields.clone());
        self.read_fields("part", name, span, &found, fields);
    }

    /// A group `is OTHER where …` has the fields of the other.
    fn read_group(&mut self, name: &Name, fields: &[tree::Field]) {
        let Some(Symbol::Group(group)) = self.symbol(name) else {
            self.missing(name, &format!("group {}", name.text));
            return;
        };
        let span = self.program.groups[group].origin.span;
        let found = self.program.groups[self.field_owner(group)].fields.clone();
        self.read_fields("group", name, span, &found, fields);
    }

    /// Sees that what is declared has the fields that the engine reads, of the same types.
    fn read_fields(
        &mut self,
        kind: &str,
        name: &Name,
        span: Span,
        declared: &[Field],
        wanted: &[tree::Field],
    ) {
        for field in self.fields(wanted, true) {
            let found = declared.iter().find(|known| known.name == field.name);
            let type_name = self.type_name(field.value_type);
            let message = match found {
                None => format!(
                    "the {kind} `{}` lacks the field `{}`, which the engine reads",
                    name.text, field.name
                ),
                Some(found) if found.value_type != field.value_type => format!(
                    "the field `{}` of `{}` is of type {}, and the engine reads {type_name}",
                    field.name,
                    name.text,
                    self.type_name(found.value_type),
                ),
                Some(_) => continue,
            };
            let finding = Diagnostic::error(Code::Contract, span, message)
                .with_help(format!("write `has {} : {type_name}`", field.name));
            let _: Option<()> = self.report(finding);
        }
    }

    fn read_value(&mut self, name: &Name, reference: &TypeReference, for_each: Option<&Name>) {
        let group = match for_each {
            Some(group) if self.is_read_and_missing(group) => return,
            Some(group) => match self.group_named(group) {
                Some(group) => Some(group),
                None => return,
            },
            None => None,
        };
        let Some((span, found_group, found_type, wanted_type)) =
            self.found_value(name, reference, for_each)
        else {
            return;
        };
        if found_type != wanted_type {
            let message = format!(
                "`{}` is of type {found_type}, and the engine reads {wanted_type}",
                name.text
            );
            let _: Option<()> = self.error(Code::Contract, span, message);
        }
        if found_group != group {
            let found = found_group.map_or("once for the bag".to_owned(), |group| {
                format!("for each {}", self.program.groups[group].name)
            });
            let wanted = for_each.map_or("once for the bag".to_owned(), |group| {
                format!("for each {}", group.text)
            });
            let message = format!(
                "`{}` is decided {found}, and the engine reads it {wanted}",
                name.text
            );
            let _: Option<()> = self.error(Code::Contract, span, message);
        }
    }

    /// Where a value that the engine reads is declared, for the clubs of which group, its type in
    /// words and the type that it should have; `None`, and said, where it is not declared.
    fn found_value(
        &mut self,
        name: &Name,
        reference: &TypeReference,
        for_each: Option<&Name>,
    ) -> Option<(Span, Option<GroupId>, String, String)> {
        let suffix = for_each.map_or(String::new(), |group| format!(", for each {}", group.text));
        Some(match self.symbol(name) {
            Some(Symbol::Decision(id)) => {
                let wanted = self.resolve_type(reference)?;
                let decision = &self.program.decisions[id];
                let group = decision.for_each.as_ref().map(|for_each| for_each.group);
                let found = self.type_name(decision.value_type);
                (decision.origin.span, group, found, self.type_name(wanted))
            }
            Some(Symbol::Choose(id)) => {
                let choose = &self.program.chooses[id];
                let group = choose.for_each.as_ref().map(|for_each| for_each.group);
                let found = self.program.parts[choose.part].name.clone();
                (
                    choose.origin.span,
                    group,
                    found,
                    reference.name.text.clone(),
                )
            }
            Some(Symbol::Input(id)) => {
                let wanted = self.resolve_type(reference)?;
                let input = &self.program.inputs[id];
                let found = self.type_name(input.value_type);
                (input.origin.span, None, found, self.type_name(wanted))
            }
            _ => {
                let is_part = matches!(self.symbol(&reference.name), Some(Symbol::Part(_)));
                let what = if is_part {
                    format!("choose {} from {}s{suffix}", name.text, reference.name.text)
                } else {
                    format!("decide {} : {}{suffix}", name.text, reference.name.text)
                };
                self.missing(name, &what);
                return None;
            }
        })
    }
}
