//! Expressions that are sums of readings times constants.

use std::collections::BTreeMap;

use crate::program::{Arithmetic, Expression, ExpressionKind, InputId, Member, Program};
use crate::quantity::Rational;

/// Lets behind each other: beyond this many nothing is put together.
const MOST_LETS_DEEP: usize = 64;

/// `constant + Σ factor × reading`; no factor is zero.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Affine {
    pub(super) constant: Rational,
    pub(super) factors: BTreeMap<InputId, Rational>,
}

impl Affine {
    fn constant(constant: Rational) -> Self {
        Affine {
            constant,
            factors: BTreeMap::new(),
        }
    }

    fn times(&self, factor: Rational) -> Option<Affine> {
        let mut product = Affine::constant(self.constant.times(factor).ok()?);
        if !factor.is_zero() {
            for (input, own) in &self.factors {
                product.factors.insert(*input, own.times(factor).ok()?);
            }
        }
        Some(product)
    }

    fn plus(mut self, other: &Affine) -> Option<Affine> {
        self.constant = self.constant.plus(other.constant).ok()?;
        for (input, factor) in &other.factors {
            let own = self.factors.get(input).copied().unwrap_or(Rational::ZERO);
            let sum = own.plus(*factor).ok()?;
            if sum.is_zero() {
                self.factors.remove(input);
            } else {
                self.factors.insert(*input, sum);
            }
        }
        Some(self)
    }
}

/// The affine form of an expression of readings, through lets; `None` where it has none.
pub(super) fn affine(program: &Program, expression: &Expression) -> Option<Affine> {
    form(program, expression, MOST_LETS_DEEP)
}

fn form(program: &Program, expression: &Expression, deep: usize) -> Option<Affine> {
    match &expression.kind {
        ExpressionKind::Constant(value) => value.number().map(Affine::constant),
        ExpressionKind::Input(id) if expression.value_type.is_numeric() => Some(Affine {
            constant: Rational::ZERO,
            factors: BTreeMap::from([(*id, Rational::ONE)]),
        }),
        ExpressionKind::Let(id, Member::Only) => {
            form(program, &program.lets[*id].value, deep.checked_sub(1)?)
        }
        ExpressionKind::Negative(value) => form(program, value, deep)?.times(Rational::whole(-1)),
        ExpressionKind::Arithmetic(operator, left, right) => {
            let (left, right) = (form(program, left, deep)?, form(program, right, deep)?);
            match operator {
                Arithmetic::Plus => left.plus(&right),
                Arithmetic::Minus => left.plus(&right.times(Rational::whole(-1))?),
                Arithmetic::Times if left.factors.is_empty() => right.times(left.constant),
                Arithmetic::Times if right.factors.is_empty() => left.times(right.constant),
                Arithmetic::Over if right.factors.is_empty() => {
                    left.times(Rational::ONE.over(right.constant).ok()?)
                }
                _ => None,
            }
        }
        _ => None,
    }
}
