//! Expressions: names resolved, operands typed.

use super::checker::Checker;
use super::scope::Scope;
use crate::diagnostic::Code;
use crate::program::{Arithmetic, Expression, ExpressionKind, Type, Value, VocabularyKind};
use crate::quantity::{Dimension, Rational};
use crate::syntax::Span;
use crate::syntax::tree::{
    self, BinaryOperator, Direction, ExpressionKind as Tree, Literal, LiteralKind, Post,
};

/// A typed expression.
pub(super) fn typed(kind: ExpressionKind, value_type: Type, span: Span) -> Expression {
    Expression {
        kind,
        value_type,
        span,
    }
}

impl Checker<'_> {
    /// The expression, which must be of the type that is expected.
    pub(super) fn expression_of(
        &mut self,
        expression: &tree::Expression,
        scope: &Scope,
        expected: Type,
    ) -> Option<Expression> {
        if let Tree::Literal(Literal {
            kind: LiteralKind::None,
            span,
        }) = &expression.kind
        {
            return Some(typed(ExpressionKind::None, expected, *span));
        }
        let found = self.expression(expression, scope, Some(expected))?;
        if Self::fits(found.value_type, expected) {
            return Some(found);
        }
        self.mismatch(expression.span, found.value_type, expected)
    }

    /// A condition.
    pub(super) fn condition(
        &mut self,
        expression: &tree::Expression,
        scope: &Scope,
    ) -> Option<Expression> {
        self.expression_of(expression, scope, Type::Flag)
    }

    /// The expression, read toward what is expected where anything is.
    // Long because every form of an expression has its arm.
    pub(super) fn expression(
        &mut self,
        expression: &tree::Expression,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let span = expression.span;
        match &expression.kind {
            Tree::Literal(literal) => self.literal_expression(literal, scope, expected),
            Tree::Reference(reference) => self.reference(reference, span, scope, expected),
            Tree::Its(name) => self.its(name, scope),
            Tree::OfMember {
                name,
                position,
                group,
            } => self.of_member(name, *position, group, scope),
            Tree::Call { name, arguments } => self.call(name, arguments, span, scope),
            Tree::Negative(value) => self.negative(value, span, scope, expected),
            Tree::Not(value) => {
                let value = self.condition(value, scope)?;
                Some(typed(
                    ExpressionKind::Not(Box::new(value)),
                    Type::Flag,
                    span,
                ))
            }
            Tree::Binary {
                operator,
                left,
                right,
            } => self.binary(*operator, left, right, span, scope, expected),
            Tree::Compare { subject, test } => self.comparison(subject, test, span, scope),
            Tree::If {
                condition,
                then,
                otherwise,
            } => self.if_then(condition, then, otherwise, span, scope, expected),
            Tree::Extreme {
                extreme,
                left,
                right,
            } => {
                let left = self.expression(left, scope, expected);
                let right_expected = left.as_ref().map(|left| left.value_type).or(expected);
                let right = self.expression(right, scope, right_expected);
                let (left, right) = (left?, right?);
                let value_type = self.common_type(&left, &right)?;
                if !value_type.is_ordered() {
                    let name = self.type_name(value_type);
                    let message = format!("values of {name} have no order");
                    return self.error(Code::TypeMismatch, span, message);
                }
                let kind = ExpressionKind::Extreme(*extreme, Box::new(left), Box::new(right));
                Some(typed(kind, value_type, span))
            }
            Tree::SizeOf(value) => {
                let value = self.expression(value, scope, expected)?;
                match value.value_type {
                    Type::Quantity(_) | Type::Count => {
                        let value_type = value.value_type;
                        Some(typed(
                            ExpressionKind::SizeOf(Box::new(value)),
                            value_type,
                            span,
                        ))
                    }
                    other => {
                        let name = self.type_name(other);
                        let message = format!("a {name} has no size: only a quantity or count has");
                        self.error(Code::TypeMismatch, value.span, message)
                    }
                }
            }
            Tree::Rate { amount, per, of } => self.rate(amount, per, of, span, scope),
            Tree::Aggregate(aggregate) => self.aggregate(aggregate, span, scope),
            Tree::Moved {
                value,
                direction,
                half_steps,
            } => {
                let value = self.expression(value, scope, expected)?;
                let signed = if *direction == Direction::Up {
                    *half_steps
                } else {
                    -half_steps
                };
                self.check_steps(value.value_type, signed, span)?;
                let value_type = value.value_type;
                Some(typed(
                    ExpressionKind::Moved(Box::new(value), signed),
                    value_type,
                    span,
                ))
            }
            Tree::Post { value, post } => self.post(value, post, span, scope, expected),
        }
    }

    fn literal_expression(
        &mut self,
        literal: &Literal,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let span = literal.span;
        match &literal.kind {
            LiteralKind::Exact(parsed) => {
                let (mut value_type, value) = self.exact(parsed, expected);
                // A fraction stays a number also where a count is wanted: the mismatch names it.
                if value_type == Type::Count && !value.number().is_some_and(Rational::is_whole) {
                    value_type = Type::Quantity(Dimension::NUMBER);
                }
                Some(typed(ExpressionKind::Constant(value), value_type, span))
            }
            LiteralKind::Flag(flag) => Some(typed(
                ExpressionKind::Constant(Value::Flag(*flag)),
                Type::Flag,
                span,
            )),
            LiteralKind::None => match expected {
                Some(expected) => Some(typed(ExpressionKind::None, expected, span)),
                None => self.error(
                    Code::TypeMismatch,
                    span,
                    "`none` has no type of its own here",
                ),
            },
            LiteralKind::Named {
                name,
                plus_half_steps,
            } => {
                let reference = tree::Reference {
                    previous: false,
                    name: Some(name.clone()),
                    field: None,
                    plus_half_steps: *plus_half_steps,
                };
                self.reference(&reference, span, scope, expected)
            }
        }
    }

    /// Whether a scale has steps of this size.
    pub(super) fn check_steps(
        &mut self,
        value_type: Type,
        half_steps: i32,
        span: Span,
    ) -> Option<()> {
        let Type::Scale(id) = value_type else {
            let name = self.type_name(value_type);
            return self.error(
                Code::TypeMismatch,
                span,
                format!("a {name} does not move by steps: only a scale does"),
            );
        };
        let vocabulary = &self.program.vocabularies[id];
        if half_steps % 2 != 0 && vocabulary.kind != (VocabularyKind::Scale { in_halves: true }) {
            let message = format!("the scale `{}` has no half steps", vocabulary.name);
            return self.error(Code::TypeMismatch, span, message);
        }
        Some(())
    }

    fn negative(
        &mut self,
        value: &tree::Expression,
        span: Span,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let value = self.expression(value, scope, expected)?;
        if !matches!(value.value_type, Type::Quantity(_) | Type::Count) {
            let name = self.type_name(value.value_type);
            return self.error(
                Code::TypeMismatch,
                span,
                format!("a {name} has no negative"),
            );
        }
        let value_type = value.value_type;
        if let ExpressionKind::Constant(Value::Number(number)) = &value.kind {
            let constant = ExpressionKind::Constant(Value::Number(number.negated()));
            return Some(typed(constant, value_type, span));
        }
        Some(typed(
            ExpressionKind::Negative(Box::new(value)),
            value_type,
            span,
        ))
    }

    fn binary(
        &mut self,
        operator: BinaryOperator,
        left: &tree::Expression,
        right: &tree::Expression,
        span: Span,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        match operator {
            BinaryOperator::And | BinaryOperator::Or => {
                let left = self.condition(left, scope);
                let right = self.condition(right, scope);
                let (left, right) = (Box::new(left?), Box::new(right?));
                let kind = if operator == BinaryOperator::And {
                    ExpressionKind::And(left, right)
                } else {
                    ExpressionKind::Or(left, right)
                };
                Some(typed(kind, Type::Flag, span))
            }
            BinaryOperator::Plus => self.sum(Arithmetic::Plus, left, right, span, scope, expected),
            BinaryOperator::Minus => {
                self.sum(Arithmetic::Minus, left, right, span, scope, expected)
            }
            BinaryOperator::Times => self.product(Arithmetic::Times, left, right, span, scope),
            BinaryOperator::Over => self.product(Arithmetic::Over, left, right, span, scope),
        }
    }

    fn if_then(
        &mut self,
        condition: &tree::Expression,
        then: &tree::Expression,
        otherwise: &tree::Expression,
        span: Span,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let condition = self.condition(condition, scope);
        let then = self.expression(then, scope, expected);
        let otherwise_expected = then.as_ref().map(|then| then.value_type).or(expected);
        let otherwise = self.expression(otherwise, scope, otherwise_expected);
        let (condition, then, otherwise) = (condition?, then?, otherwise?);
        let value_type = self.common_type(&then, &otherwise)?;
        let kind = ExpressionKind::If {
            condition: Box::new(condition),
            then: Box::new(then),
            otherwise: Box::new(otherwise),
        };
        Some(typed(kind, value_type, span))
    }

    /// The type of two expressions that stand for one another; counts and numbers meet as numbers.
    pub(super) fn common_type(&mut self, left: &Expression, right: &Expression) -> Option<Type> {
        if Self::fits(left.value_type, right.value_type) {
            return Some(right.value_type);
        }
        if Self::fits(right.value_type, left.value_type) {
            return Some(left.value_type);
        }
        self.clash(left, right)
    }

    /// Reports two operands that do not fit, their types lined up.
    pub(super) fn clash<T>(&mut self, left: &Expression, right: &Expression) -> Option<T> {
        let (left_text, right_text) = (self.text(left.span), self.text(right.span));
        let (left_type, right_type) = (
            self.type_name(left.value_type),
            self.type_name(right.value_type),
        );
        let finding = crate::diagnostic::Diagnostic::error(
            Code::TypeMismatch,
            left.span.to(right.span),
            format!("`{left_text}` and `{right_text}` do not measure the same thing"),
        )
        .with_operand(left_text, left_type)
        .with_operand(right_text, right_type);
        self.report(finding)
    }

    /// What is done to a value after a comma.
    pub(super) fn post(
        &mut self,
        value: &tree::Expression,
        post: &Post,
        span: Span,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        match post {
            Post::Rounded { rounding, to } => {
                let inner = match expected {
                    Some(Type::Count) => Some(Type::Quantity(Dimension::NUMBER)),
                    other => other,
                };
                let value = self.expression(value, scope, inner)?;
                let to = self.rounding_unit(to, scope, value.value_type)?;
                let is_whole = matches!(&to.kind, ExpressionKind::Constant(Value::Number(unit))
                    if unit.is_whole() && !unit.is_zero());
                let is_number = Self::fits(value.value_type, Type::Quantity(Dimension::NUMBER));
                let value_type = if is_number && is_whole {
                    Type::Count
                } else {
                    value.value_type
                };
                let kind = ExpressionKind::Rounded {
                    value: Box::new(value),
                    rounding: *rounding,
                    to: Box::new(to),
                };
                Some(typed(kind, value_type, span))
            }
            Post::KeptWithin { low, high } => {
                let value = self.expression(value, scope, expected)?;
                let value_type = value.value_type;
                let low = self.expression_of(low, scope, value_type);
                let high = self.expression_of(high, scope, value_type);
                let kind = ExpressionKind::KeptWithin {
                    value: Box::new(value),
                    low: Box::new(low?),
                    high: Box::new(high?),
                };
                Some(typed(kind, value_type, span))
            }
            Post::OrIfUnknown(instead) => {
                let value = self.expression(value, scope, expected)?;
                let instead = self.expression(instead, scope, Some(value.value_type))?;
                let value_type = self.common_type(&value, &instead)?;
                let kind = ExpressionKind::OrIfUnknown {
                    value: Box::new(value),
                    instead: Box::new(instead),
                };
                Some(typed(kind, value_type, span))
            }
        }
    }

    /// The unit of rounding: a difference of the value's type, not zero.
    pub(super) fn rounding_unit(
        &mut self,
        to: &tree::Expression,
        scope: &Scope,
        value_type: Type,
    ) -> Option<Expression> {
        let Some(dimension) = value_type.dimension() else {
            let name = self.type_name(value_type);
            return self.error(
                Code::TypeMismatch,
                to.span,
                format!("a {name} is not rounded"),
            );
        };
        let to = self.expression_of(to, scope, Type::Quantity(dimension))?;
        if matches!(&to.kind, ExpressionKind::Constant(Value::Number(unit)) if unit.is_zero()) {
            return self.error(
                Code::MayDivideByZero,
                to.span,
                "nothing can be rounded to 0",
            );
        }
        Some(to)
    }
}
