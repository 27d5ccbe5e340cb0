//! Values over a group or over the parts on hand.

use super::checker::{Checker, Symbol};
use super::expression::typed;
use super::scope::{CandidateScope, Scope};
use super::uses::Target;
use crate::diagnostic::Code;
use crate::program::{Aggregate, Expression, ExpressionKind, Over, Type};
use crate::syntax::Span;
use crate::syntax::tree::{self, Name, Reference};

impl Checker<'_> {
    /// An aggregate; what it runs over is named in the singular or plural.
    pub(super) fn aggregate(
        &mut self,
        aggregate: &tree::Aggregate,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let (aggregate, value_type) = match aggregate {
            tree::Aggregate::NumberOf { over, condition } => {
                let (over, inner) = self.over(over)?;
                let condition = match condition {
                    Some(condition) => Some(self.condition(condition, &inner)?),
                    None => None,
                };
                (Aggregate::NumberOf(over, condition), Type::Count)
            }
            tree::Aggregate::ExtremeOf {
                extreme,
                value,
                over,
            } => {
                let (over, inner) = self.over(over)?;
                let value = self.member_value(value, span, &inner)?;
                let value_type = value.value_type;
                if !value_type.is_ordered() {
                    let name = self.type_name(value_type);
                    let message = format!("values of {name} have no order");
                    return self.error(Code::TypeMismatch, value.span, message);
                }
                (Aggregate::ExtremeOf(*extreme, over, value), value_type)
            }
            tree::Aggregate::TotalOf { value, over } => {
                let (over, inner) = self.over(over)?;
                let value = self.member_value(value, span, &inner)?;
                let value_type = value.value_type;
                if !matches!(value_type, Type::Quantity(_) | Type::Count) {
                    let name = self.type_name(value_type);
                    let message = format!("values of {name} cannot be added up");
                    return self.error(Code::TypeMismatch, value.span, message);
                }
                (Aggregate::TotalOf(over, value), value_type)
            }
            tree::Aggregate::AnyWhere { over, condition } => {
                let (over, inner) = self.over(over)?;
                let condition = self.condition(condition, &inner)?;
                (Aggregate::AnyWhere(over, condition), Type::Flag)
            }
        };
        let _ = scope;
        Some(typed(
            ExpressionKind::Aggregate(Box::new(aggregate)),
            value_type,
            span,
        ))
    }

    /// `its` value in an aggregate's line: a reference as it stands in the text.
    fn member_value(&mut self, value: &Reference, span: Span, inner: &Scope) -> Option<Expression> {
        let place = value.name.as_ref().map_or(span, |name| name.span);
        self.reference(value, place, inner, None)
    }

    /// What an aggregate runs over, and what is at hand inside it.
    fn over(&mut self, name: &Name) -> Option<(Over, Scope)> {
        let singular = name.text.strip_suffix('s').unwrap_or(&name.text);
        for text in [name.text.as_str(), singular] {
            if let Some(Symbol::Group(group)) = self.symbols.get(text).copied() {
                let symbol = Symbol::Group(group);
                self.note_use(name.span, Target::named(symbol, text == name.text));
                return Some((Over::Group(group), Scope::of_group(Some(group))));
            }
        }
        let plural = self.plurals.get(&name.text).copied();
        let part = plural.or_else(|| match self.symbols.get(name.text.as_str()) {
            Some(Symbol::Part(part)) => Some(*part),
            _ => None,
        });
        if let Some(part) = part {
            let target = Target::named(Symbol::Part(part), plural.is_none());
            self.note_use(name.span, target);
            let candidate = CandidateScope {
                part,
                choose: None,
                setting: None,
                lets: Vec::new(),
                is_subject: true,
            };
            let scope = Scope {
                group: None,
                candidate: Some(candidate),
                previous: None,
            };
            return Some((Over::PartsOnHand(part), scope));
        }
        let mut known: Vec<String> = self.plurals.keys().cloned().collect();
        known.extend(self.program.groups.iter().map(|group| group.name.clone()));
        self.unknown_name(name, "a group or the plural of a part", known)
    }
}
