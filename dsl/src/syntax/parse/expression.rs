//! Expressions: the flat nodes of the grammar become a tree by the operators' precedence.
//!
//! These functions call each other once a level of nesting, so their stack frames must stay small:
//! values travel in boxes, and nodes of the tree are made in functions of `node`, which return
//! before the next level begins.

use super::node::Built;
use super::reading::{Node, Reading, child, has, only, parts};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{BinaryOperator, Expression, Literal, Post, Reference};

impl Reading<'_, '_> {
    /// An expression with what is done to it after commas.
    pub(super) fn expression(&mut self, node: &Node<'_>) -> Option<Expression> {
        self.boxed_expression(node).map(|value| *value)
    }

    /// The expression among the parts of a node.
    pub(super) fn expression_in(&mut self, node: &Node<'_>) -> Option<Expression> {
        let expression = child(node, Rule::expression)?;
        self.expression(&expression)
    }

    fn boxed_expression(&mut self, node: &Node<'_>) -> Built {
        let mut parts = parts(node);
        let mut value = self.boxed_condition(&parts.next()?)?;
        for part in parts {
            let span = value.span.to(self.span(&part));
            let post = self.post(&part)?;
            value = self.posted(span, value, post)?;
        }
        Some(value)
    }

    /// What is done to a value: `rounded to U`, `kept within A and B`, `or if unknown X`.
    pub(super) fn post(&mut self, node: &Node<'_>) -> Option<Box<Post>> {
        let inner = only(node)?;
        let mut sums = parts(&inner);
        let first = self.boxed_sum(&sums.next()?)?;
        let second = match sums.next() {
            Some(second) => Some(self.boxed_sum(&second)?),
            None => None,
        };
        self.made_post(&inner, first, second)
    }

    /// Comparisons joined by `and` and `or`.
    pub(super) fn condition(&mut self, node: &Node<'_>) -> Option<Expression> {
        self.boxed_condition(node).map(|value| *value)
    }

    /// Comparisons joined by `and`, which binds closer, and `or`.
    pub(super) fn boxed_condition(&mut self, node: &Node<'_>) -> Built {
        let mut alternatives: Option<Box<Expression>> = None;
        let mut all: Option<Box<Expression>> = None;
        let mut nots = Vec::new();
        for part in node.clone().into_inner() {
            match part.as_rule() {
                Rule::kw_not => nots.push(self.span(&part)),
                Rule::kw_and => {}
                Rule::kw_or => {
                    let before = alternatives.take();
                    alternatives = Some(self.joined(before, BinaryOperator::Or, all.take()?)?);
                }
                _ => {
                    let mut operand = self.comparison(&part)?;
                    while let Some(not) = nots.pop() {
                        operand = self.prefixed(Rule::kw_not, not, operand)?;
                    }
                    let before = all.take();
                    all = Some(self.joined(before, BinaryOperator::And, operand)?);
                }
            }
        }
        self.joined(alternatives, BinaryOperator::Or, all?)
    }

    /// Operands joined by arithmetic.
    pub(super) fn sum(&mut self, node: &Node<'_>) -> Option<Expression> {
        self.boxed_sum(node).map(|value| *value)
    }

    /// Operands joined by `*` and `/`, which bind closer, and `+` and `-`.
    pub(super) fn boxed_sum(&mut self, node: &Node<'_>) -> Built {
        let mut inner = node.clone().into_inner();
        let mut term = self.operand(&inner.next()?)?;
        let mut total: Option<Box<Expression>> = None;
        let mut pending = BinaryOperator::Plus;
        while let (Some(sign), Some(operand)) = (inner.next(), inner.next()) {
            let operand = self.operand(&operand)?;
            match operator(sign.as_rule()) {
                product @ (BinaryOperator::Times | BinaryOperator::Over) => {
                    term = self.joined(Some(term), product, operand)?;
                }
                sum => {
                    total = Some(self.joined(total, pending, term)?);
                    pending = sum;
                    term = operand;
                }
            }
        }
        self.joined(total, pending, term)
    }

    fn operand(&mut self, node: &Node<'_>) -> Built {
        let mut prefixes = Vec::new();
        let mut value: Option<Box<Expression>> = None;
        for part in node.clone().into_inner() {
            match part.as_rule() {
                Rule::minus | Rule::kw_the_size_of => {
                    prefixes.push((part.as_rule(), self.span(&part)));
                }
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
                _ => value = Some(self.moved(value.take()?, &part)?),
            }
        }
        let mut value = value?;
        while let Some((rule, span)) = prefixes.pop() {
            value = self.prefixed(rule, span, value)?;
        }
        Some(value)
    }

    fn atom(&mut self, node: &Node<'_>, sign: Option<Span>) -> Built {
        match node.as_rule() {
            Rule::parentheses => self.parentheses(node),
            Rule::measured => self.measured(node, sign),
            Rule::if_then => self.if_then(node),
            Rule::call => self.call(node),
            Rule::extreme => self.extreme(node),
            Rule::number_of | Rule::extreme_of | Rule::total_of | Rule::any_where => {
                self.aggregate(node)
            }
            _ => self.leaf(node),
        }
    }

    fn parentheses(&mut self, node: &Node<'_>) -> Built {
        let span = self.span(node);
        let mut inner = self.boxed_expression(&child(node, Rule::expression)?)?;
        inner.span = span;
        Some(inner)
    }

    /// A quantity, or `10 g for each 1 in of x`.
    fn measured(&mut self, node: &Node<'_>, sign: Option<Span>) -> Built {
        let of = match child(node, Rule::operand) {
            Some(of) => Some(self.operand(&of)?),
            None => None,
        };
        self.made_quantity(node, sign, of)
    }

    fn if_then(&mut self, node: &Node<'_>) -> Built {
        let mut condition = None;
        let mut branches = Vec::new();
        for part in parts(node) {
            match part.as_rule() {
                Rule::condition => condition = Some(self.boxed_condition(&part)?),
                Rule::near_else => self.near_miss(self.span(&part), "otherwise"),
                _ => branches.push(self.boxed_sum(&part)?),
            }
        }
        let otherwise = branches.pop()?;
        self.made_if(self.span(node), condition?, branches.pop()?, otherwise)
    }

    fn call(&mut self, node: &Node<'_>) -> Built {
        let mut parts = parts(node);
        let name = parts.next()?;
        let mut arguments = Vec::new();
        for part in parts {
            arguments.push(self.boxed_expression(&part)?);
        }
        self.made_call(self.span(node), &name, arguments)
    }

    fn extreme(&mut self, node: &Node<'_>) -> Built {
        let mut sums = parts(node);
        let left = self.boxed_sum(&sums.next()?)?;
        let right = self.boxed_sum(&sums.next()?)?;
        self.made_extreme(node, left, right)
    }

    fn aggregate(&mut self, node: &Node<'_>) -> Built {
        let condition = match child(node, Rule::comparison) {
            Some(comparison) => Some(self.comparison(&comparison)?),
            None => None,
        };
        self.made_aggregate(node, condition)
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

    /// A column: an expression in parentheses, a call, a member's value or a name.
    pub(super) fn column(&mut self, node: &Node<'_>) -> Option<Expression> {
        self.atom(&only(node)?, None).map(|value| *value)
    }

    /// A quantity with its sign.
    pub(super) fn signed_quantity(
        &mut self,
        node: &Node<'_>,
        sign: Option<Span>,
    ) -> Option<Literal> {
        let quantity = self.span(node);
        let (span, text) = match sign {
            Some(sign) => (sign.to(quantity), format!("-{}", node.as_str())),
            None => (quantity, node.as_str().to_owned()),
        };
        self.exact_literal(&text, span)
    }
}

fn operator(sign: Rule) -> BinaryOperator {
    match sign {
        Rule::times => BinaryOperator::Times,
        Rule::divide => BinaryOperator::Over,
        Rule::minus => BinaryOperator::Minus,
        _ => BinaryOperator::Plus,
    }
}
