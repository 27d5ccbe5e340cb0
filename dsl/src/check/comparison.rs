//! Conditions on a subject.

use super::checker::Checker;
use super::expression::typed;
use super::scope::Scope;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Expression, ExpressionKind, Type};
use crate::syntax::Span;
use crate::syntax::tree::{self, ExpressionKind as Tree, Literal, LiteralKind, Test};

impl Checker<'_> {
    /// `subject test`: the subject is the candidate's side, what follows is the ruleset's.
    pub(super) fn comparison(
        &mut self,
        subject: &tree::Expression,
        test: &Test,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let subject_scope = scope.on_subject_side(
            scope
                .candidate
                .as_ref()
                .is_some_and(|candidate| candidate.is_subject),
        );
        let rules = scope.on_subject_side(false);
        let subject = self.expression(subject, &subject_scope, None)?;
        let kind = match test {
            Test::Is { negated, value } => self.is(subject, *negated, value, &rules)?,
            Test::IsKnown { negated } => ExpressionKind::IsKnown {
                negated: *negated,
                value: Box::new(subject),
            },
            Test::IsOneOf { negated, values } => {
                let values = self.listed(values, subject.value_type)?;
                ExpressionKind::IsOneOf {
                    negated: *negated,
                    value: Box::new(subject),
                    values,
                }
            }
            Test::Within { tolerance, of } => {
                let Some(dimension) = subject.value_type.dimension() else {
                    return self.no_order(&subject);
                };
                let tolerance = self.expression_of(tolerance, &rules, Type::Quantity(dimension));
                let of = self.expression_of(of, &rules, numeric(subject.value_type));
                ExpressionKind::Within {
                    subject: Box::new(subject),
                    tolerance: Box::new(tolerance?),
                    of: Box::new(of?),
                }
            }
            Test::Order { relation, bound } => {
                if !subject.value_type.is_ordered() {
                    return self.no_order(&subject);
                }
                let bound = self.expression(bound, &rules, Some(subject.value_type))?;
                self.common_type(&subject, &bound)?;
                ExpressionKind::Order {
                    relation: *relation,
                    left: Box::new(subject),
                    right: Box::new(bound),
                }
            }
            Test::Includes(value) => self.includes(subject, value, &rules)?,
        };
        Some(typed(kind, Type::Flag, span))
    }

    fn includes(
        &mut self,
        list: Expression,
        value: &tree::Expression,
        rules: &Scope,
    ) -> Option<ExpressionKind> {
        let Type::ListOf(element) = list.value_type else {
            let (text, name) = (self.text(list.span), self.type_name(list.value_type));
            let finding = Diagnostic::error(
                Code::TypeMismatch,
                list.span,
                format!("`{text}` is of type {name}, which includes nothing"),
            );
            return self.report(match list.value_type {
                Type::List(_) => finding
                    .with_help("a list of records is gone through by a choice: `in each of its …`"),
                _ => finding.with_help("one value is compared with `is`"),
            });
        };
        let value = self.expression_of(value, rules, element.value_type())?;
        Some(ExpressionKind::Includes {
            list: Box::new(list),
            value: Box::new(value),
        })
    }

    fn is(
        &mut self,
        subject: Expression,
        negated: bool,
        value: &tree::Expression,
        rules: &Scope,
    ) -> Option<ExpressionKind> {
        if let Tree::Literal(Literal {
            kind: LiteralKind::None,
            ..
        }) = &value.kind
        {
            return Some(ExpressionKind::IsNone {
                negated,
                value: Box::new(subject),
            });
        }
        if subject.value_type.is_list() {
            let (text, value) = (self.text(subject.span), self.text(value.span));
            let message = format!("`{text}` is a list: it is not one value");
            let finding = Diagnostic::error(Code::TypeMismatch, subject.span, message).with_help(
                format!("ask for one of its elements: `{text} includes {value}`"),
            );
            return self.report(finding);
        }
        let value = self.expression(value, rules, Some(subject.value_type))?;
        self.common_type(&subject, &value)?;
        Some(ExpressionKind::Is {
            negated,
            left: Box::new(subject),
            right: Box::new(value),
        })
    }

    fn listed(
        &mut self,
        values: &[Literal],
        value_type: Type,
    ) -> Option<Vec<crate::program::Value>> {
        let found: Vec<_> = values
            .iter()
            .map(|value| self.literal(value, value_type))
            .collect();
        found.into_iter().collect()
    }

    fn no_order<T>(&mut self, subject: &Expression) -> Option<T> {
        let (text, name) = (self.text(subject.span), self.type_name(subject.value_type));
        self.error(
            Code::TypeMismatch,
            subject.span,
            format!("`{text}` is of type {name}, whose values have no order"),
        )
    }
}

/// A count is compared with numbers.
fn numeric(value_type: Type) -> Type {
    match value_type {
        Type::Count => Type::Quantity(crate::quantity::Dimension::NUMBER),
        other => other,
    }
}
