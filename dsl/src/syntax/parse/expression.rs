//! Expressions: the flat nodes of the grammar become a tree by the operators' precedence.

use super::reading::{Node, Reading, child, has, only, parts};
use crate::quantity::Rounding;
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{
    Aggregate, BinaryOperator, Direction, Expression, ExpressionKind, Extreme, Literal,
    LiteralKind, Position, Post, Reference,
};

impl Reading<'_, '_> {
    /// An expression with what is done to it after commas.
    pub(super) fn expression(&mut self, node: &Node<'_>) -> Option<Expression> {
        let mut parts = parts(node);
        let mut value = self.condition(&parts.next()?)?;
        for part in parts {
            let span = value.span.to(self.span(&part));
            let post = Box::new(self.post(&part)?);
            value = self.make(
                span,
                ExpressionKind::Post {
                    value: Box::new(value),
                    post,
                },
            )?;
        }
        Some(value)
    }

    /// The expression among the parts of a node.
    pub(super) fn expression_in(&mut self, node: &Node<'_>) -> Option<Expression> {
        let expression = child(node, Rule::expression)?;
        self.expression(&expression)
    }

    /// What is done to a value: `rounded to U`, `kept within A and B`, `or if unknown X`.
    pub(super) fn post(&mut self, node: &Node<'_>) -> Option<Post> {
        let inner = only(node)?;
        let mut sums = parts(&inner);
        let first = self.sum(&sums.next()?)?;
        Some(match inner.as_rule() {
            Rule::rounded => Post::Rounded {
                rounding: if has(&inner, Rule::kw_up) {
                    Rounding::Up
                } else if has(&inner, Rule::kw_down) {
                    Rounding::Down
                } else {
                    Rounding::Nearest
                },
                to: first,
            },
            Rule::kept_within => Post::KeptWithin {
                low: first,
                high: self.sum(&sums.next()?)?,
            },
            _ => Post::OrIfUnknown(first),
        })
    }

    /// Comparisons joined by `and`, which binds closer, and `or`.
    pub(super) fn condition(&mut self, node: &Node<'_>) -> Option<Expression> {
        let mut alternatives: Option<Expression> = None;
        let mut all: Option<Expression> = None;
        let mut nots = Vec::new();
        let mut joins_by_and = false;
        for part in node.clone().into_inner() {
            match part.as_rule() {
                Rule::kw_not => nots.push(self.span(&part)),
                Rule::kw_and => joins_by_and = true,
                Rule::kw_or => {
                    alternatives =
                        Some(self.joined(alternatives, BinaryOperator::Or, all.take()?)?);
                }
                _ => {
                    let mut operand = self.comparison(&part)?;
                    while let Some(not) = nots.pop() {
                        let span = not.to(operand.span);
                        operand = self.make(span, ExpressionKind::Not(Box::new(operand)))?;
                    }
                    let before = all.take().filter(|_| joins_by_and);
                    all = Some(self.joined(before, BinaryOperator::And, operand)?);
                    joins_by_and = false;
                }
            }
        }
        self.joined(alternatives, BinaryOperator::Or, all?)
    }

    /// Operands joined by `*` and `/`, which bind closer, and `+` and `-`.
    pub(super) fn sum(&mut self, node: &Node<'_>) -> Option<Expression> {
        let mut inner = node.clone().into_inner();
        let mut term = self.operand(&inner.next()?)?;
        let mut total: Option<(Expression, BinaryOperator)> = None;
        while let (Some(sign), Some(operand)) = (inner.next(), inner.next()) {
            let operand = self.operand(&operand)?;
            let operator = match sign.as_rule() {
                Rule::times => BinaryOperator::Times,
                Rule::divide => BinaryOperator::Over,
                Rule::minus => BinaryOperator::Minus,
                _ => BinaryOperator::Plus,
            };
            if matches!(operator, BinaryOperator::Times | BinaryOperator::Over) {
                term = self.joined(Some(term), operator, operand)?;
            } else {
                let sum = self.after(total, term)?;
                total = Some((sum, operator));
                term = operand;
            }
        }
        self.after(total, term)
    }

    fn after(
        &mut self,
        total: Option<(Expression, BinaryOperator)>,
        term: Expression,
    ) -> Option<Expression> {
        match total {
            None => Some(term),
            Some((left, operator)) => self.joined(Some(left), operator, term),
        }
    }

    /// `left operator right`, or `right` alone.
    pub(super) fn joined(
        &mut self,
        left: Option<Expression>,
        operator: BinaryOperator,
        right: Expression,
    ) -> Option<Expression> {
        let Some(left) = left else {
            return Some(right);
        };
        self.make(
            left.span.to(right.span),
            ExpressionKind::Binary {
                operator,
                left: Box::new(left),
                right: Box::new(right),
            },
        )
    }

    /// One more node of the tree; `None` beyond the limit, which is reported.
    pub(super) fn make(&mut self, span: Span, kind: ExpressionKind) -> Option<Expression> {
        self.count_part(span)?;
        Some(Expression { span, kind })
    }

    fn operand(&mut self, node: &Node<'_>) -> Option<Expression> {
        let mut prefixes = Vec::new();
        let mut value: Option<Expression> = None;
        for part in node.clone().into_inner() {
            let span = self.span(&part);
            match part.as_rule() {
                Rule::minus | Rule::kw_the_size_of => prefixes.push((part.as_rule(), span)),
                Rule::atom => {
                    let inner = part.into_inner().next()?;
                    // `-5 degC` is a point below zero, not the opposite of a point above it.
                    let sign = prefixes
                        .pop_if(|(rule, _)| {
                            *rule == Rule::minus && inner.as_rule() == Rule::measured
                        })
                        .map(|(_, span)| span);
                    value = Some(self.atom(&inner, sign)?);
                }
                _ => {
                    let moved = value.take()?;
                    let span = moved.span.to(span);
                    let kind = ExpressionKind::Moved {
                        value: Box::new(moved),
                        direction: direction(&part),
                        half_steps: self.half_steps(&child(&part, Rule::number)?)?,
                    };
                    value = Some(self.make(span, kind)?);
                }
            }
        }
        let mut value = value?;
        while let Some((rule, span)) = prefixes.pop() {
            let span = span.to(value.span);
            let kind = if rule == Rule::minus {
                ExpressionKind::Negative(Box::new(value))
            } else {
                ExpressionKind::SizeOf(Box::new(value))
            };
            value = self.make(span, kind)?;
        }
        Some(value)
    }

    fn atom(&mut self, node: &Node<'_>, sign: Option<Span>) -> Option<Expression> {
        let span = self.span(node);
        let kind = match node.as_rule() {
            Rule::measured => return self.measured(node, sign),
            Rule::date | Rule::swingweight => {
                let kind = LiteralKind::Exact(self.exact(node.as_str(), span)?);
                ExpressionKind::Literal(Literal { span, kind })
            }
            Rule::kw_yes => ExpressionKind::Literal(flag(span, true)),
            Rule::kw_no => ExpressionKind::Literal(flag(span, false)),
            Rule::kw_none => ExpressionKind::Literal(Literal {
                span,
                kind: LiteralKind::None,
            }),
            Rule::parentheses => {
                let inner = self.expression_in(node)?;
                return Some(Expression { span, ..inner });
            }
            Rule::if_then => self.if_then(node)?,
            Rule::call => self.call(node)?,
            Rule::extreme => {
                let mut sums = parts(node);
                ExpressionKind::Extreme {
                    extreme: extreme(node, Rule::kw_the_larger_of),
                    left: Box::new(self.sum(&sums.next()?)?),
                    right: Box::new(self.sum(&sums.next()?)?),
                }
            }
            Rule::number_of | Rule::extreme_of | Rule::total_of | Rule::any_where => {
                ExpressionKind::Aggregate(self.aggregate(node)?)
            }
            Rule::of_member => self.of_member(node)?,
            Rule::its => ExpressionKind::Its(self.name_in(node)?),
            _ => {
                let reference = self.reference(node)?;
                match (&reference.name, &reference.field) {
                    (Some(name), None) if !reference.previous => match self.near_flag(name) {
                        Some(yes) => ExpressionKind::Literal(flag(span, yes)),
                        None => ExpressionKind::Reference(reference),
                    },
                    _ => ExpressionKind::Reference(reference),
                }
            }
        };
        self.make(span, kind)
    }

    /// A quantity, or `10 g for each 1 in of x`.
    fn measured(&mut self, node: &Node<'_>, sign: Option<Span>) -> Option<Expression> {
        let mut parts = parts(node);
        let amount = self.signed_quantity(&parts.next()?, sign)?;
        let whole = amount.span.to(self.span(node));
        match (parts.next(), parts.next()) {
            (Some(per), Some(of)) => {
                let per = self.signed_quantity(&per, None)?;
                let of = Box::new(self.operand(&of)?);
                self.make(whole, ExpressionKind::Rate { amount, per, of })
            }
            _ => self.make(amount.span, ExpressionKind::Literal(amount)),
        }
    }

    fn signed_quantity(&mut self, node: &Node<'_>, sign: Option<Span>) -> Option<Literal> {
        let quantity = self.span(node);
        let (span, text) = match sign {
            Some(sign) => (sign.to(quantity), format!("-{}", node.as_str())),
            None => (quantity, node.as_str().to_owned()),
        };
        let kind = LiteralKind::Exact(self.exact(&text, span)?);
        Some(Literal { span, kind })
    }

    fn if_then(&mut self, node: &Node<'_>) -> Option<ExpressionKind> {
        let mut condition = None;
        let mut branches = Vec::new();
        for part in parts(node) {
            match part.as_rule() {
                Rule::condition => condition = Some(self.condition(&part)?),
                Rule::near_else => self.near_miss(self.span(&part), "otherwise"),
                _ => branches.push(self.sum(&part)?),
            }
        }
        let otherwise = branches.pop()?;
        Some(ExpressionKind::If {
            condition: Box::new(condition?),
            then: Box::new(branches.pop()?),
            otherwise: Box::new(otherwise),
        })
    }

    fn call(&mut self, node: &Node<'_>) -> Option<ExpressionKind> {
        let mut parts = parts(node);
        let name = self.name(&parts.next()?);
        let mut arguments = Vec::new();
        for part in parts {
            arguments.push(self.expression(&part)?);
        }
        Some(ExpressionKind::Call { name, arguments })
    }

    fn of_member(&mut self, node: &Node<'_>) -> Option<ExpressionKind> {
        let mut names = self.names_in(node).into_iter();
        Some(ExpressionKind::OfMember {
            name: names.next()?,
            position: position(&child(node, Rule::position)?),
            group: names.next()?,
        })
    }

    fn aggregate(&mut self, node: &Node<'_>) -> Option<Aggregate> {
        let over = self.name_in(node)?;
        let condition = match child(node, Rule::comparison) {
            Some(comparison) => Some(Box::new(self.comparison(&comparison)?)),
            None => None,
        };
        Some(match node.as_rule() {
            Rule::number_of => Aggregate::NumberOf { over, condition },
            Rule::any_where => Aggregate::AnyWhere {
                over,
                condition: condition?,
            },
            Rule::total_of => Aggregate::TotalOf {
                value: self.reference(&child(node, Rule::reference)?)?,
                over,
            },
            _ => Aggregate::ExtremeOf {
                extreme: extreme(node, Rule::kw_the_largest),
                value: self.reference(&child(node, Rule::reference)?)?,
                over,
            },
        })
    }

    /// `name`, `name.field`, `previous`, `previous wood.length`, `regular plus 1/2`.
    pub(super) fn reference(&mut self, node: &Node<'_>) -> Option<Reference> {
        let mut names = match child(node, Rule::dotted) {
            Some(dotted) => self.names_in(&dotted),
            None => Vec::new(),
        }
        .into_iter();
        Some(Reference {
            previous: has(node, Rule::kw_previous),
            name: names.next(),
            field: names.next(),
            plus_half_steps: self.plus_half_steps(node)?,
        })
    }

    /// A reference as an expression of its own.
    pub(super) fn reference_expression(&mut self, node: &Node<'_>) -> Option<Expression> {
        let span = self.span(node);
        let reference = self.reference(node)?;
        self.make(span, ExpressionKind::Reference(reference))
    }

    /// A column: an expression in parentheses, a call, a member's value or a name.
    pub(super) fn column(&mut self, node: &Node<'_>) -> Option<Expression> {
        self.atom(&only(node)?, None)
    }
}

fn flag(span: Span, yes: bool) -> Literal {
    Literal {
        span,
        kind: LiteralKind::Flag(yes),
    }
}

fn extreme(node: &Node<'_>, larger: Rule) -> Extreme {
    if has(node, larger) {
        Extreme::Larger
    } else {
        Extreme::Smaller
    }
}

/// Up or down.
pub(super) fn direction(node: &Node<'_>) -> Direction {
    if has(node, Rule::kw_up) {
        Direction::Up
    } else {
        Direction::Down
    }
}

/// Which member of a group.
pub(super) fn position(node: &Node<'_>) -> Position {
    if has(node, Rule::kw_first) {
        Position::First
    } else if has(node, Rule::kw_last) {
        Position::Last
    } else if has(node, Rule::kw_next) {
        Position::Next
    } else {
        Position::Previous
    }
}
