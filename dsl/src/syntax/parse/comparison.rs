//! Comparisons, and the ways of writing them that are almost right.

use super::reading::{Node, Reading, child, has, only, parts};
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::tree::{Expression, ExpressionKind, Relation, Test};

impl Reading<'_, '_> {
    /// Reports a form that is almost right with the right one.
    pub(super) fn near_miss(&mut self, span: Span, right: &str) {
        let written = self.written(span);
        let finding = Diagnostic::error(
            Code::NearMiss,
            span,
            format!("`{written}` is not how the language says it"),
        )
        .with_help(format!("write `{right}`"));
        self.report(finding);
    }

    /// A sum, or a sum with what must hold of it.
    pub(super) fn comparison(&mut self, node: &Node<'_>) -> Option<Expression> {
        let mut inner = parts(node);
        let subject = self.sum(&inner.next()?)?;
        let Some(comparator) = inner.next() else {
            return Some(subject);
        };
        let test_node = only(&comparator)?;
        let span = self.span(&comparator);
        let whole = subject.span.to(span);
        // `is under 5 deg`: only the `is` is too much.
        let said = if test_node.as_rule() == Rule::is_under {
            only(&test_node)?
        } else {
            test_node.clone()
        };
        if said.as_rule() == Rule::near_between {
            return self.between(subject, &said, span);
        }
        let test = self.test(&said)?;
        if let Some(right) = self.right_form(&test_node, &said) {
            self.near_miss(span, &right);
        }
        let subject = Box::new(subject);
        self.make(whole, ExpressionKind::Compare { subject, test })
    }

    fn test(&mut self, node: &Node<'_>) -> Option<Test> {
        let mut sums = parts(node).filter(|part| part.as_rule() == Rule::sum);
        Some(match node.as_rule() {
            Rule::is_known => Test::IsKnown {
                negated: has(node, Rule::kw_is_not_known),
            },
            Rule::is_one_of => {
                let mut values = Vec::new();
                for part in parts(node) {
                    values.push(self.literal(&part)?);
                }
                Test::IsOneOf {
                    negated: has(node, Rule::kw_is_not_one_of),
                    values,
                }
            }
            Rule::within => Test::Within {
                tolerance: Box::new(self.sum(&sums.next()?)?),
                of: Box::new(self.sum(&sums.next()?)?),
            },
            Rule::includes => Test::Includes(Box::new(self.sum(&sums.next()?)?)),
            Rule::order | Rule::near_order => Test::Order {
                relation: relation(node),
                bound: Box::new(self.sum(&sums.next()?)?),
            },
            _ => {
                let value = Box::new(self.sum(&sums.next()?)?);
                match child(node, Rule::near_or_tail) {
                    Some(tail) => Test::Order {
                        relation: if has(&tail, Rule::near_less) {
                            Relation::AtMost
                        } else {
                            Relation::AtLeast
                        },
                        bound: value,
                    },
                    None => Test::Is {
                        negated: has(node, Rule::kw_is_not) || has(node, Rule::near_differs),
                        value,
                    },
                }
            }
        })
    }

    /// The right form of a comparison that is almost right; `None` where it is right.
    fn right_form(&self, test: &Node<'_>, said: &Node<'_>) -> Option<String> {
        let bound = || child(said, Rule::sum).map_or("", |sum| self.written(self.span(&sum)));
        match said.as_rule() {
            Rule::near_equal if has(said, Rule::near_differs) => {
                Some(format!("is not {}", bound()))
            }
            Rule::near_equal => Some(format!("is {}", bound())),
            Rule::is_value => {
                let tail = child(said, Rule::near_or_tail)?;
                let word = if has(&tail, Rule::near_less) {
                    "at most"
                } else {
                    "at least"
                };
                Some(format!("{word} {}", bound()))
            }
            Rule::near_order => Some(format!("{} {}", relation_words(relation(said)), bound())),
            _ if test.as_rule() == Rule::is_under => Some(self.written(self.span(said)).to_owned()),
            _ => None,
        }
    }

    /// `x between A and B`, answered with two comparisons.
    fn between(&mut self, subject: Expression, node: &Node<'_>, span: Span) -> Option<Expression> {
        let mut sums = parts(node);
        let low = self.sum(&sums.next()?)?;
        let high = self.sum(&sums.next()?)?;
        let whole = subject.span.to(span);
        let shown = self.written(subject.span);
        let right = format!(
            "{shown} at least {} and {shown} at most {}",
            self.written(low.span),
            self.written(high.span)
        );
        self.near_miss(whole, &right);
        // Half of it is enough to go on with; a copy of the subject would double at each nesting.
        self.damage();
        let test = Test::Order {
            relation: Relation::AtLeast,
            bound: Box::new(low),
        };
        let subject = Box::new(subject);
        self.make(whole, ExpressionKind::Compare { subject, test })
    }
}

fn relation(node: &Node<'_>) -> Relation {
    let any = |rules: &[Rule]| rules.iter().any(|rule| has(node, *rule));
    if any(&[Rule::kw_under, Rule::near_under]) {
        Relation::Under
    } else if any(&[Rule::kw_over, Rule::near_over]) {
        Relation::Over
    } else if any(&[Rule::kw_at_most, Rule::near_up_to]) {
        Relation::AtMost
    } else {
        Relation::AtLeast
    }
}

fn relation_words(relation: Relation) -> &'static str {
    match relation {
        Relation::Under => "under",
        Relation::Over => "over",
        Relation::AtMost => "at most",
        Relation::AtLeast => "at least",
    }
}
