//! Comparisons, and the ways of writing them that are almost right.

use super::node::Built;
use super::reading::{Node, Reading, child, has, only, parts};
use crate::diagnostic::Diagnostic;
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::reader::short;
use crate::syntax::tree::{Expression, Relation, Test};

impl Reading<'_, '_> {
    /// Reports a form that is almost right with the right one.
    pub(super) fn near_miss(&mut self, span: Span, right: &str) {
        let written = short(self.written(span));
        let finding = Diagnostic::near_miss(span, &written, right);
        self.report(finding);
    }

    /// A sum, or a sum with what must hold of it.
    pub(super) fn comparison(&mut self, node: &Node<'_>) -> Built {
        let mut inner = parts(node);
        let subject = self.boxed_sum(&inner.next()?)?;
        let Some(comparator) = inner.next() else {
            return Some(subject);
        };
        let test_node = only(&comparator)?;
        // `is under 5 deg`: only the `is` is too much.
        let said = if test_node.as_rule() == Rule::is_under {
            only(&test_node)?
        } else {
            test_node.clone()
        };
        let mut bounds = Vec::new();
        for part in parts(&said) {
            if part.as_rule() == Rule::sum {
                bounds.push(self.boxed_sum(&part)?);
            }
        }
        let span = self.span(&comparator);
        if said.as_rule() == Rule::near_between {
            self.between(&subject, &bounds, span);
        } else if let Some(right) = self.right_form(&test_node, &said) {
            self.near_miss(span, &right);
        }
        let test = self.test(&said, bounds)?;
        self.made_comparison(subject.span.to(span), subject, test)
    }

    #[inline(never)]
    #[expect(
        clippy::vec_box,
        reason = "the boxes are what keeps the callers' frames small"
    )]
    fn test(&mut self, node: &Node<'_>, bounds: Vec<Box<Expression>>) -> Option<Box<Test>> {
        let mut bounds = bounds.into_iter();
        Some(Box::new(match node.as_rule() {
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
                tolerance: bounds.next()?,
                of: bounds.next()?,
            },
            Rule::includes => Test::Includes(bounds.next()?),
            Rule::order | Rule::near_order | Rule::near_between => Test::Order {
                relation: relation(node),
                bound: bounds.next()?,
            },
            _ => {
                let value = bounds.next()?;
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
        }))
    }

    /// The right form of a comparison that is almost right; `None` where it is right.
    #[inline(never)]
    fn right_form(&self, test: &Node<'_>, said: &Node<'_>) -> Option<String> {
        let bound = || {
            child(said, Rule::sum)
                .map_or_else(String::new, |sum| short(self.written(self.span(&sum))))
        };
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
            _ if test.as_rule() == Rule::is_under => Some(short(self.written(self.span(said)))),
            _ => None,
        }
    }

    /// Answers `x between A and B` with two comparisons. The tree gets the first of them: a copy of
    /// the subject would double at each nesting.
    #[inline(never)]
    fn between(&mut self, subject: &Expression, bounds: &[Box<Expression>], span: Span) {
        self.damage();
        let written = |expression: &Expression| short(self.written(expression.span));
        let shown = written(subject);
        let [low, high] = bounds else { return };
        let right = format!(
            "{shown} at least {} and {shown} at most {}",
            written(low),
            written(high)
        );
        self.near_miss(subject.span.to(span), &right);
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
