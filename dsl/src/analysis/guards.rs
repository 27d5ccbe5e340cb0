//! What a condition says of numbers where it is known to hold.
//!
//! A guard narrows the very expression that it names, written the same way: `if X over 0 then
//! Y / X otherwise 0` is guarded, and so is a row `over 0` of a column X that gives `Y / X`. It is
//! sound because the guarded expression is computed only there: of an `if` only the branch taken is
//! looked at, `only when` and rows are asked before what they give, and where the condition is not
//! decided the result is not either. A guard never reaches into lets: those are computed wherever
//! they stand.

use super::ranges::Ranges;
use super::reach::Reach;
use crate::program::{Expression, ExpressionKind, Interval, Row, Table, ValueSet};
use crate::quantity::Rational;
use crate::syntax::tree::Relation;

/// An expression and how far it reaches where the guard holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guard<'p> {
    expression: &'p Expression,
    pub(super) reach: Reach,
}

impl Guard<'_> {
    /// Whether the guard speaks of this expression.
    pub(super) fn is_of(&self, expression: &Expression) -> bool {
        is_same(self.expression, expression)
    }
}

impl<'p> Ranges<'p> {
    /// Adds what a condition says where it holds, or where it does not.
    pub(super) fn guard(&mut self, condition: &'p Expression, holds: bool) {
        match &condition.kind {
            ExpressionKind::Not(inner) => self.guard(inner, !holds),
            ExpressionKind::And(left, right) if holds => {
                self.guard(left, true);
                self.guard(right, true);
            }
            ExpressionKind::Or(left, right) if !holds => {
                self.guard(left, false);
                self.guard(right, false);
            }
            ExpressionKind::Order {
                relation,
                left,
                right,
            } if Self::is_number(left) => {
                let relation = if holds {
                    *relation
                } else {
                    opposite(*relation)
                };
                self.guard_order(relation, left, right);
                self.guard_order(mirrored(relation), right, left);
            }
            ExpressionKind::Is {
                negated,
                left,
                right,
            } if Self::is_number(left) => {
                let is_equal = *negated != holds;
                self.guard_equal(is_equal, left, right);
                self.guard_equal(is_equal, right, left);
            }
            _ => {}
        }
    }

    fn guard_order(&mut self, relation: Relation, subject: &'p Expression, bound: &'p Expression) {
        let bound = self.reach(bound);
        let reach = match relation {
            Relation::Over => Reach {
                is_never_zero: bound.low.is_some_and(|low| low >= Rational::ZERO),
                ..bound.low.map_or(Reach::ANYTHING, Reach::at_least)
            },
            Relation::AtLeast => bound.low.map_or(Reach::ANYTHING, Reach::at_least),
            Relation::Under => Reach {
                is_never_zero: bound.high.is_some_and(|high| high <= Rational::ZERO),
                ..bound.high.map_or(Reach::ANYTHING, Reach::at_most)
            },
            Relation::AtMost => bound.high.map_or(Reach::ANYTHING, Reach::at_most),
        };
        self.guards.push(Guard {
            expression: subject,
            reach,
        });
    }

    fn guard_equal(&mut self, is_equal: bool, subject: &'p Expression, other: &'p Expression) {
        let other = self.reach(other);
        let is_zero = other == Reach::between(Rational::ZERO, Rational::ZERO);
        let reach = if is_equal {
            other
        } else {
            Reach {
                is_never_zero: is_zero,
                ..Reach::ANYTHING
            }
        };
        self.guards.push(Guard {
            expression: subject,
            reach,
        });
    }

    /// Adds what a row's conditions say of the columns.
    pub(super) fn guard_row(&mut self, table: &'p Table, row: &Row) {
        for (column, condition) in table.columns.iter().zip(&row.conditions) {
            let is_number = Self::is_number(&column.value) && !condition.is_any;
            if let (true, ValueSet::Intervals(intervals)) = (is_number, &condition.values)
                && let Some(reach) = reach_of(intervals)
            {
                self.guards.push(Guard {
                    expression: &column.value,
                    reach,
                });
            }
        }
    }
}

/// The hull of intervals; zero is left out where none of them holds it.
fn reach_of(intervals: &[Interval]) -> Option<Reach> {
    let holds_zero = intervals
        .iter()
        .any(|interval| interval.contains(Rational::ZERO));
    let hull = intervals
        .iter()
        .map(|interval| Reach {
            low: interval.low.map(|bound| bound.value),
            high: interval.high.map(|bound| bound.value),
            is_never_zero: false,
        })
        .reduce(Reach::hull)?;
    Some(Reach {
        is_never_zero: !holds_zero,
        ..hull
    })
}

fn opposite(relation: Relation) -> Relation {
    match relation {
        Relation::Under => Relation::AtLeast,
        Relation::Over => Relation::AtMost,
        Relation::AtMost => Relation::Over,
        Relation::AtLeast => Relation::Under,
    }
}

/// The relation with its sides changed.
fn mirrored(relation: Relation) -> Relation {
    match relation {
        Relation::Under => Relation::Over,
        Relation::Over => Relation::Under,
        Relation::AtMost => Relation::AtLeast,
        Relation::AtLeast => Relation::AtMost,
    }
}

/// Whether two expressions are computed in the same way from the same.
fn is_same(one: &Expression, two: &Expression) -> bool {
    use ExpressionKind as Kind;
    match (&one.kind, &two.kind) {
        (Kind::Constant(one), Kind::Constant(two)) => one == two,
        (Kind::Input(one), Kind::Input(two)) => one == two,
        (Kind::Let(one, whose), Kind::Let(two, other)) => one == two && whose == other,
        (Kind::Decision(one, whose), Kind::Decision(two, other)) => one == two && whose == other,
        (
            Kind::Field {
                group,
                field,
                member,
            },
            Kind::Field {
                group: other_group,
                field: other_field,
                member: other_member,
            },
        ) => (group, field, member) == (other_group, other_field, other_member),
        (
            Kind::Chosen {
                choose,
                value,
                member,
            },
            Kind::Chosen {
                choose: other_choose,
                value: other_value,
                member: other_member,
            },
        ) => (choose, value, member) == (other_choose, other_value, other_member),
        (Kind::Candidate(one), Kind::Candidate(two)) => one == two,
        (Kind::Negative(one), Kind::Negative(two)) | (Kind::SizeOf(one), Kind::SizeOf(two)) => {
            is_same(one, two)
        }
        (Kind::Arithmetic(one, left, right), Kind::Arithmetic(two, other_left, other_right)) => {
            one == two && is_same(left, other_left) && is_same(right, other_right)
        }
        _ => false,
    }
}
