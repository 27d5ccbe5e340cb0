//! Sums, products and rates: dimensions, and points on a scale.

use super::checker::Checker;
use super::expression::typed;
use super::scope::Scope;
use crate::diagnostic::Code;
use crate::program::{Arithmetic, Expression, ExpressionKind, Type, Value};
use crate::quantity::{Dimension, Rational};
use crate::syntax::Span;
use crate::syntax::tree::{self, Literal};

const SECONDS_A_DAY: i64 = 86_400;

impl Checker<'_> {
    /// `a + b`, `a - b`.
    pub(super) fn sum(
        &mut self,
        operator: Arithmetic,
        left: &tree::Expression,
        right: &tree::Expression,
        span: Span,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let left = self.expression(left, scope, expected);
        // What is added to a point is a difference; what is taken from it may be a point too.
        let right_expected = left.as_ref().map(|left| match (left.value_type, operator) {
            (Type::Swingweight | Type::Temperature, Arithmetic::Plus) => left
                .value_type
                .dimension()
                .map_or(left.value_type, Type::Quantity),
            (other, _) => other,
        });
        let right = self.expression(right, scope, right_expected.or(expected));
        let (left, right) = (left?, right?);
        let is_plus = operator == Arithmetic::Plus;
        let value_type = match (left.value_type, right.value_type) {
            (Type::Quantity(one), Type::Quantity(other)) if one == other => Type::Quantity(one),
            (Type::Count, Type::Count) => Type::Count,
            (Type::Count, Type::Quantity(Dimension::NUMBER))
            | (Type::Quantity(Dimension::NUMBER), Type::Count) => Type::Quantity(Dimension::NUMBER),
            (point @ (Type::Swingweight | Type::Temperature), Type::Quantity(difference))
                if point.dimension() == Some(difference) =>
            {
                point
            }
            (Type::Quantity(difference), point @ (Type::Swingweight | Type::Temperature))
                if is_plus && point.dimension() == Some(difference) =>
            {
                point
            }
            (Type::Swingweight, Type::Swingweight) if !is_plus => {
                Type::Quantity(Dimension::SWINGWEIGHT)
            }
            (Type::Temperature, Type::Temperature) if !is_plus => {
                Type::Quantity(Dimension::TEMPERATURE)
            }
            (Type::Date, Type::Date) if !is_plus => {
                return Some(date_difference(left, right, span));
            }
            (one @ (Type::Swingweight | Type::Temperature | Type::Date), other)
                if one == other && is_plus =>
            {
                let name = self.type_name(one);
                let message =
                    format!("two values of {name} cannot be added: they are points on a scale");
                return self.error(Code::TypeMismatch, span, message);
            }
            _ => return self.clash(&left, &right),
        };
        let kind = ExpressionKind::Arithmetic(operator, Box::new(left), Box::new(right));
        Some(typed(kind, value_type, span))
    }

    /// `a * b`, `a / b`.
    pub(super) fn product(
        &mut self,
        operator: Arithmetic,
        left: &tree::Expression,
        right: &tree::Expression,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let left = self.expression(left, scope, None);
        let right = self.expression(right, scope, None);
        let (left, right) = (left?, right?);
        let both_counts = left.value_type == Type::Count && right.value_type == Type::Count;
        let one = self.factor_dimension(&left)?;
        let other = self.factor_dimension(&right)?;
        let combined = if operator == Arithmetic::Times {
            one.times(other)
        } else {
            one.over(other)
        };
        let Some(dimension) = combined else {
            return self.error(
                Code::TypeMismatch,
                span,
                "the powers of this product are too high",
            );
        };
        if operator == Arithmetic::Over {
            self.check_divisor(&right)?;
        }
        let value_type = if both_counts && operator == Arithmetic::Times {
            Type::Count
        } else {
            Type::Quantity(dimension)
        };
        let kind = ExpressionKind::Arithmetic(operator, Box::new(left), Box::new(right));
        Some(typed(kind, value_type, span))
    }

    fn check_divisor(&mut self, divisor: &Expression) -> Option<()> {
        let is_zero = matches!(&divisor.kind, ExpressionKind::Constant(value)
            if value.number().is_some_and(Rational::is_zero));
        if is_zero {
            let text = self.text(divisor.span);
            return self.error(
                Code::MayDivideByZero,
                divisor.span,
                format!("`{text}` is zero: nothing can be divided by it"),
            );
        }
        Some(())
    }

    fn factor_dimension(&mut self, factor: &Expression) -> Option<Dimension> {
        match factor.value_type {
            Type::Quantity(dimension) => Some(dimension),
            Type::Count => Some(Dimension::NUMBER),
            other => {
                let (name, text) = (self.type_name(other), self.text(factor.span));
                self.error(
                    Code::TypeMismatch,
                    factor.span,
                    format!("`{text}` is of type {name}: it can be neither multiplied nor divided"),
                )
            }
        }
    }

    /// `10 g for each 1 in of x`: amount ÷ per × x, the first two being constants.
    pub(super) fn rate(
        &mut self,
        amount: &Literal,
        per: &Literal,
        of: &tree::Expression,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let amount_value = self.difference_literal(amount);
        let per_value = self.difference_literal(per);
        let of = self.expression(of, scope, None);
        let ((amount_value, amount_dimension), (per_value, per_dimension)) =
            (amount_value?, per_value?);
        let of = of?;
        let of_dimension = self.factor_dimension(&of)?;
        if per_dimension != of_dimension {
            let text = self.text(of.span);
            let per_text = self.text(per.span);
            let finding = crate::diagnostic::Diagnostic::error(
                Code::TypeMismatch,
                per.span.to(of.span),
                format!("`{per_text}` and `{text}` do not measure the same thing"),
            )
            .with_operand(per_text, per_dimension.to_string())
            .with_operand(text, of_dimension.to_string());
            return self.report(finding);
        }
        let dimension = amount_dimension.over(per_dimension);
        let (Ok(factor), Some(dimension)) = (amount_value.over(per_value), dimension) else {
            let text = self.text(per.span);
            let message = format!("`{text}` is zero: nothing can be counted in steps of it");
            return self.error(Code::MayDivideByZero, per.span, message);
        };
        let factor = typed(
            ExpressionKind::Constant(Value::Number(factor)),
            Type::Quantity(dimension),
            amount.span,
        );
        let kind = ExpressionKind::Arithmetic(Arithmetic::Times, Box::new(factor), Box::new(of));
        Some(typed(kind, Type::Quantity(amount_dimension), span))
    }

    fn difference_literal(&mut self, literal: &Literal) -> Option<(Rational, Dimension)> {
        if let tree::LiteralKind::Exact(parsed) = &literal.kind {
            let expected = Type::Quantity(Dimension::TEMPERATURE);
            if let (Type::Quantity(dimension), Value::Number(number)) =
                self.exact(parsed, Some(expected))
            {
                return Some((number, dimension));
            }
        }
        let text = self.text(literal.span);
        self.error(
            Code::TypeMismatch,
            literal.span,
            format!("`{text}` is not a quantity"),
        )
    }
}

/// Dates are counted in days, times in seconds.
fn date_difference(left: Expression, right: Expression, span: Span) -> Expression {
    let number = Type::Quantity(Dimension::NUMBER);
    let days = ExpressionKind::Arithmetic(Arithmetic::Minus, Box::new(left), Box::new(right));
    let day = ExpressionKind::Constant(Value::Number(Rational::whole(SECONDS_A_DAY)));
    let kind = ExpressionKind::Arithmetic(
        Arithmetic::Times,
        Box::new(typed(days, number, span)),
        Box::new(typed(day, Type::Quantity(Dimension::TIME), span)),
    );
    typed(kind, Type::Quantity(Dimension::TIME), span)
}
