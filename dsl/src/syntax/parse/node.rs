//! Nodes of the tree, each made in a function of its own.
//!
//! An expression is some hundred bytes, and an unoptimised build keeps a copy of every one that a
//! function makes in that function's stack frame. None of these functions calls into a further
//! level of nesting, and none is inlined into one that does.

use super::reading::{Node, Reading, child, has};
use crate::quantity::Rounding;
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{
    Aggregate, BinaryOperator, Direction, Expression, ExpressionKind, Extreme, Literal,
    LiteralKind, Position, Post, Test,
};

/// An expression, or `None` where it cannot be read, which is reported.
pub(super) type Built = Option<Box<Expression>>;

impl Reading<'_, '_> {
    /// One more node of the tree; `None` beyond the limit, which is reported.
    fn make(&mut self, span: Span, kind: ExpressionKind) -> Built {
        self.count_part(span)?;
        Some(Box::new(Expression { span, kind }))
    }

    /// `left operator right`, or `right` alone.
    #[inline(never)]
    pub(super) fn joined(
        &mut self,
        left: Option<Box<Expression>>,
        operator: BinaryOperator,
        right: Box<Expression>,
    ) -> Built {
        let Some(left) = left else {
            return Some(right);
        };
        let span = left.span.to(right.span);
        let kind = ExpressionKind::Binary {
            operator,
            left,
            right,
        };
        self.make(span, kind)
    }

    /// `-x`, `not x`, `the size of x`; the prefix stands at `span`.
    #[inline(never)]
    pub(super) fn prefixed(&mut self, prefix: Rule, span: Span, value: Box<Expression>) -> Built {
        let span = span.to(value.span);
        let kind = match prefix {
            Rule::minus => ExpressionKind::Negative(value),
            Rule::kw_not => ExpressionKind::Not(value),
            _ => ExpressionKind::SizeOf(value),
        };
        self.make(span, kind)
    }

    /// `x moved up 1/2`
    #[inline(never)]
    pub(super) fn moved(&mut self, value: Box<Expression>, node: &Node<'_>) -> Built {
        let span = value.span.to(self.span(node));
        let kind = ExpressionKind::Moved {
            value,
            direction: direction(node),
            half_steps: self.half_steps(&child(node, Rule::number)?)?,
        };
        self.make(span, kind)
    }

    /// `x, rounded to U`
    #[inline(never)]
    pub(super) fn posted(&mut self, span: Span, value: Box<Expression>, post: Box<Post>) -> Built {
        self.make(span, ExpressionKind::Post { value, post })
    }

    /// `rounded to U`, `kept within A and B`, `or if unknown X`
    #[inline(never)]
    pub(super) fn made_post(
        &self,
        node: &Node<'_>,
        first: Box<Expression>,
        second: Option<Box<Expression>>,
    ) -> Option<Box<Post>> {
        Some(Box::new(match node.as_rule() {
            Rule::rounded => Post::Rounded {
                rounding: if has(node, Rule::kw_up) {
                    Rounding::Up
                } else if has(node, Rule::kw_down) {
                    Rounding::Down
                } else {
                    Rounding::Nearest
                },
                to: *first,
            },
            Rule::kept_within => Post::KeptWithin {
                low: *first,
                high: *second?,
            },
            _ => Post::OrIfUnknown(*first),
        }))
    }

    /// A condition on a subject.
    #[inline(never)]
    #[expect(
        clippy::boxed_local,
        reason = "the box is what keeps the callers' frames small"
    )]
    pub(super) fn made_comparison(
        &mut self,
        span: Span,
        subject: Box<Expression>,
        test: Box<Test>,
    ) -> Built {
        let kind = ExpressionKind::Compare {
            subject,
            test: *test,
        };
        self.make(span, kind)
    }

    /// A quantity, or `10 g for each 1 in of x`.
    #[inline(never)]
    pub(super) fn made_quantity(
        &mut self,
        node: &Node<'_>,
        sign: Option<Span>,
        of: Option<Box<Expression>>,
    ) -> Built {
        let mut quantities = node
            .clone()
            .into_inner()
            .filter(|part| part.as_rule() == Rule::quantity);
        let amount = self.signed_quantity(&quantities.next()?, sign)?;
        let Some(of) = of else {
            return self.make(amount.span, ExpressionKind::Literal(amount));
        };
        let span = amount.span.to(self.span(node));
        let per = self.signed_quantity(&quantities.next()?, None)?;
        self.make(span, ExpressionKind::Rate { amount, per, of })
    }

    /// `if C then A otherwise B`
    #[inline(never)]
    pub(super) fn made_if(
        &mut self,
        span: Span,
        condition: Box<Expression>,
        then: Box<Expression>,
        otherwise: Box<Expression>,
    ) -> Built {
        let kind = ExpressionKind::If {
            condition,
            then,
            otherwise,
        };
        self.make(span, kind)
    }

    /// `model(argument, …)`
    #[inline(never)]
    #[expect(
        clippy::vec_box,
        reason = "the boxes are what keeps the callers' frames small"
    )]
    pub(super) fn made_call(
        &mut self,
        span: Span,
        name: &Node<'_>,
        arguments: Vec<Box<Expression>>,
    ) -> Built {
        let kind = ExpressionKind::Call {
            name: self.name(name),
            arguments: arguments.into_iter().map(|argument| *argument).collect(),
        };
        self.make(span, kind)
    }

    /// `the larger of A and B`
    #[inline(never)]
    pub(super) fn made_extreme(
        &mut self,
        node: &Node<'_>,
        left: Box<Expression>,
        right: Box<Expression>,
    ) -> Built {
        let kind = ExpressionKind::Extreme {
            extreme: extreme(node, Rule::kw_the_larger_of),
            left,
            right,
        };
        self.make(self.span(node), kind)
    }

    /// `number of …`, `the total … of …`, `any … where …`
    #[inline(never)]
    pub(super) fn made_aggregate(
        &mut self,
        node: &Node<'_>,
        condition: Option<Box<Expression>>,
    ) -> Built {
        let over = self.name_in(node)?;
        let aggregate = match node.as_rule() {
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
        };
        self.make(self.span(node), ExpressionKind::Aggregate(aggregate))
    }

    /// What holds no further expression: a literal, a name, a member's value.
    #[inline(never)]
    pub(super) fn leaf(&mut self, node: &Node<'_>) -> Built {
        let span = self.span(node);
        let literal = |kind| ExpressionKind::Literal(Literal { span, kind });
        let kind = match node.as_rule() {
            Rule::date | Rule::swingweight => {
                ExpressionKind::Literal(self.exact_literal(node.as_str(), span)?)
            }
            Rule::kw_yes => literal(LiteralKind::Flag(true)),
            Rule::kw_no => literal(LiteralKind::Flag(false)),
            Rule::kw_none => literal(LiteralKind::None),
            Rule::of_member => {
                let mut names = self.names_in(node).into_iter();
                ExpressionKind::OfMember {
                    name: names.next()?,
                    position: position(&child(node, Rule::position)?),
                    group: names.next()?,
                }
            }
            Rule::its => ExpressionKind::Its(self.name_in(node)?),
            _ => {
                let reference = self.reference(node)?;
                let flag = match (&reference.name, &reference.field) {
                    (Some(name), None) if !reference.previous => self.near_flag(name),
                    _ => None,
                };
                match flag {
                    Some(yes) => literal(LiteralKind::Flag(yes)),
                    None => ExpressionKind::Reference(reference),
                }
            }
        };
        self.make(span, kind)
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
