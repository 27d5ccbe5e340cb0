//! Fields, ranges, ways of showing, and groups.

use super::checker::{Checker, Symbol};
use super::scope::Scope;
use super::uses::Target;
use crate::diagnostic::Code;
use crate::program::{Field, GroupId, Members, Node, PartId, Program, Shown, Type, Value};
use crate::quantity::unit_named;
use crate::syntax::tree::{self, DeclarationKind, GroupOrigin, Name};

impl<'a> Checker<'a> {
    /// The fields of a part, which may be lists, or of a group.
    pub(super) fn fields(&mut self, fields: &[tree::Field], of_a_part: bool) -> Vec<Field> {
        let mut resolved: Vec<Field> = Vec::new();
        for field in fields {
            if resolved.iter().any(|known| known.name == field.name.text) {
                let message = format!("the field `{}` stands twice", field.name.text);
                let _: Option<()> = self.error(Code::DeclaredTwice, field.name.span, message);
                continue;
            }
            let found = if of_a_part {
                self.resolve_field_type(&field.type_reference)
            } else {
                self.resolve_type(&field.type_reference)
            };
            let Some(value_type) = found else { continue };
            // The range of a list is the range of what is in it.
            let ranged = match value_type {
                Type::ListOf(element) => element.value_type(),
                other => other,
            };
            resolved.push(Field {
                name: field.name.text.clone(),
                value_type,
                shown: field
                    .between
                    .as_ref()
                    .and_then(|range| Self::shown_by(&range.low))
                    .unwrap_or_default(),
                may_be_unknown: field.may_be_unknown,
                of_each_piece: field.of_each_piece,
                between: self.range(field.between.as_ref(), ranged),
            });
        }
        resolved
    }

    /// `between A and B`; the low end first.
    pub(super) fn range(
        &mut self,
        range: Option<&tree::Range>,
        value_type: Type,
    ) -> Option<(Value, Value)> {
        let range = range?;
        if !value_type.is_ordered() {
            let span = range.low.span.to(range.high.span);
            let name = self.type_name(value_type);
            let message = format!("the values of {name} have no order: none lies between two");
            return self.error(Code::BadRange, span, message);
        }
        let low = self.literal(&range.low, value_type)?;
        let high = self.literal(&range.high, value_type)?;
        if low > high {
            let (low_text, high_text) = (self.text(range.low.span), self.text(range.high.span));
            let message =
                format!("`{low_text}` is above `{high_text}`: no reading lies between them");
            return self.error(Code::BadRange, range.low.span.to(range.high.span), message);
        }
        Some((low, high))
    }

    /// `shown in U, to S`.
    pub(super) fn shown_in(
        &mut self,
        shown: Option<&tree::ShownIn>,
        value_type: Type,
    ) -> Option<Shown> {
        let shown = shown?;
        let symbol = match shown.unit.text.as_str() {
            "inches" => "in",
            "degrees" => "deg",
            "grams" => "g",
            "yards" => "yd",
            other => other,
        };
        let fits =
            unit_named(symbol).is_none_or(|unit| Some(unit.dimension) == value_type.dimension());
        if !fits {
            let name = self.type_name(value_type);
            let message = format!("`{}` does not measure {name}", shown.unit.text);
            return self.error(Code::TypeMismatch, shown.unit.span, message);
        }
        Some(Shown {
            unit: Some(symbol.to_owned()),
            step: shown.step.as_ref().map(|step| step.value),
        })
    }

    /// The group of that name.
    pub(super) fn group_named(&mut self, name: &Name) -> Option<GroupId> {
        match self.symbol(name) {
            Some(Symbol::Group(id)) => Some(id),
            _ => {
                let groups: Vec<String> = self
                    .program
                    .groups
                    .iter()
                    .map(|group| group.name.clone())
                    .collect();
                self.unknown_name(name, "a group", groups)
            }
        }
    }

    /// A list field of a part, with the part of its records.
    pub(super) fn list_field(&mut self, part: PartId, field: &Name) -> Option<(usize, PartId)> {
        let declared = &self.program.parts[part];
        let found = declared.field_index(&field.text).and_then(|index| {
            match declared.fields.get(index).map(|field| field.value_type) {
                Some(Type::List(records)) => Some((index, records)),
                _ => None,
            }
        });
        match found {
            Some(found) => {
                self.note_use(field.span, Target::PartField(part, found.0));
                Some(found)
            }
            None => {
                let lists: Vec<String> = declared
                    .fields
                    .iter()
                    .filter(|field| matches!(field.value_type, Type::List(_)))
                    .map(|field| field.name.clone())
                    .collect();
                let what = format!("a list of `{}`", declared.name);
                self.unknown_name(field, &what, lists)
            }
        }
    }

    /// The group that owns the fields of `group`.
    pub(super) fn field_owner(&self, group: GroupId) -> GroupId {
        field_owner(&self.program, group)
    }

    /// How the members of each group come about, and which groups share their clubs.
    pub(super) fn check_groups(&mut self) {
        let merged = self.merged;
        let groups: Vec<(GroupId, &'a tree::Group)> = merged
            .entries
            .iter()
            .filter_map(
                |entry| match (&entry.declaration.kind, self.symbols.get(entry.name)) {
                    (DeclarationKind::Group(group), Some(Symbol::Group(id))) => {
                        Some((*id, &**group))
                    }
                    _ => None,
                },
            )
            .collect();
        let mut shared: Vec<(GroupId, GroupId)> = Vec::new();
        let mut conditions = Vec::new();
        for (id, group) in &groups {
            match &group.origin {
                None if self.is_damaged(&group.name.text) => {}
                None => {
                    let message = format!(
                        "the group `{}` does not say how it is made",
                        group.name.text
                    );
                    let _: Option<()> = self.error(Code::ClauseCount, group.name.span, message);
                }
                Some(GroupOrigin::GivenWithThePlayer) => {}
                Some(GroupOrigin::MadeBy { maker, from }) => {
                    shared.extend(self.made_by(*id, maker, from));
                }
                Some(GroupOrigin::Where { of, condition }) => {
                    if let Some(wider) = self.group_named(of) {
                        shared.push((*id, wider));
                        self.program.groups[*id].members = Members::Where {
                            of: wider,
                            condition: super::declare::placeholder(condition.span),
                        };
                        conditions.push((*id, wider, condition));
                    }
                }
                Some(GroupOrigin::AsManyAs(_)) => {}
            }
        }
        self.identify(&shared);
        for (id, group) in &groups {
            if let Some(GroupOrigin::AsManyAs(count)) = &group.origin
                && !self.is_read_and_missing(count)
                && let Some(expression) = self.plain_name(count, &Scope::bag(), Some(Type::Count))
            {
                if expression.value_type == Type::Count {
                    self.program.groups[*id].members = Members::AsManyAs(expression);
                } else {
                    let _: Option<()> =
                        self.mismatch(count.span, expression.value_type, Type::Count);
                }
            }
        }
        for (id, wider, condition) in conditions {
            let scope = Scope::of_group(Some(wider));
            if let Some(condition) = self.condition(condition, &scope) {
                self.program.groups[id].members = Members::Where {
                    of: wider,
                    condition,
                };
            }
        }
    }

    fn made_by(&mut self, id: GroupId, maker: &Name, from: &[Name]) -> Vec<(GroupId, GroupId)> {
        let mut nodes = Vec::new();
        let mut shared = Vec::new();
        for name in from {
            match self.symbol(name) {
                Some(Symbol::Group(group)) => {
                    shared.push((id, group));
                    nodes.push(Node::Group(group));
                }
                Some(Symbol::Decision(decision)) => nodes.push(Node::Decision(decision)),
                Some(Symbol::Choose(choose)) => nodes.push(Node::Choose(choose)),
                Some(Symbol::Let(id)) => nodes.push(Node::Let(id)),
                Some(Symbol::Input(input)) => nodes.push(Node::Input(input)),
                _ if self.is_read_and_missing(name) => {}
                _ => {
                    let known = self.declared_names();
                    let _: Option<()> = self.unknown_name(name, "declared", known);
                }
            }
        }
        self.program.groups[id].members = Members::MadeBy {
            maker: maker.text.clone(),
            from: nodes,
        };
        shared
    }

    /// What the contract reads and nobody declares is reported with the contract.
    pub(super) fn is_read_and_missing(&self, name: &Name) -> bool {
        let mut reads = self.merged.reads.iter();
        !self.symbols.contains_key(name.text.as_str())
            && reads.any(|read| reads_name(read, &name.text))
    }

    /// Groups that share clubs get one identity: the smallest id of them.
    fn identify(&mut self, shared: &[(GroupId, GroupId)]) {
        let ids: Vec<GroupId> = self.program.groups.ids().collect();
        for id in &ids {
            self.program.groups[*id].identity = id.index();
        }
        for _ in &ids {
            for (left, right) in shared {
                let smallest = self.program.groups[*left]
                    .identity
                    .min(self.program.groups[*right].identity);
                self.program.groups[*left].identity = smallest;
                self.program.groups[*right].identity = smallest;
            }
        }
    }
}

fn reads_name(declaration: &tree::Declaration, name: &str) -> bool {
    matches!(&declaration.kind, DeclarationKind::Reads(reads) if reads.name.text == name)
}

/// The group that owns the fields: of `wood`, which `is club where …`, it is `club`.
pub(crate) fn field_owner(program: &Program, group: GroupId) -> GroupId {
    let mut owner = group;
    // A chain is never longer than there are groups; a circle is reported by the graph.
    for _ in 0..program.groups.len() {
        match &program.groups[owner].members {
            Members::Where { of, .. } => owner = *of,
            _ => break,
        }
    }
    owner
}
