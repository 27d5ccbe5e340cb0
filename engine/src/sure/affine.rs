//! Which values are affine in one reading, and how steep.
//!
//! A column such as `steepness`, where `let steepness = -wedge_attack_angle`, moves with one
//! reading along a straight line: value = slope × reading + offset. Then a bound of the column is a
//! bound of the reading, exactly. Followed are readings, constants, lets, sums, differences,
//! products with a constant and quotients by one. Everything else (roundings, clamps, models,
//! decisions) is not straight, or not known to be, and has no form here.

use std::collections::BTreeMap;

use loftwright_dsl::program::{
    Arithmetic, Expression, ExpressionKind, InputId, LetId, Program, Type, Value,
};
use loftwright_dsl::quantity::Rational;

/// A value as a straight line over one reading, in base units; a constant has no reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Affine {
    /// The reading.
    pub(crate) input: Option<InputId>,
    /// How much the value moves with the reading.
    pub(crate) slope: Rational,
    /// The value where the reading is zero.
    pub(crate) offset: Rational,
}

/// A value that moves with one reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Slanted {
    /// The reading.
    pub(crate) input: InputId,
    /// How much the value moves with the reading; not zero.
    pub(crate) slope: Rational,
    /// The value where the reading is zero.
    pub(crate) offset: Rational,
}

impl Slanted {
    /// The reading at which the value is `value`; `None` where the fraction cannot be held.
    pub(crate) fn reading_at(&self, value: Rational) -> Option<Rational> {
        value.minus(self.offset).ok()?.over(self.slope).ok()
    }
}

/// The affine forms of a program's expressions; every let is looked at once.
pub(crate) struct AffineForms<'a> {
    program: &'a Program,
    lets: BTreeMap<LetId, Option<Affine>>,
}

impl<'a> AffineForms<'a> {
    /// Nothing looked at yet.
    pub(crate) fn new(program: &'a Program) -> Self {
        AffineForms {
            program,
            lets: BTreeMap::new(),
        }
    }

    /// The expression over its one reading; `None` where it is constant or not affine in one.
    pub(crate) fn slanted(&mut self, expression: &Expression) -> Option<Slanted> {
        let Affine {
            input,
            slope,
            offset,
        } = self.of(expression)?;
        let input = input?;
        (!slope.is_zero()).then_some(Slanted {
            input,
            slope,
            offset,
        })
    }

    fn of(&mut self, expression: &Expression) -> Option<Affine> {
        // A date and a time are counted in different units, so a line through dates has another
        // slope.
        if expression.value_type == Type::Date {
            return None;
        }
        match &expression.kind {
            ExpressionKind::Constant(value) => Some(Affine::constant(value.number()?)),
            ExpressionKind::Input(input) => Some(Affine {
                input: Some(*input),
                slope: Rational::ONE,
                offset: Rational::ZERO,
            }),
            ExpressionKind::Let(id, _) => self.of_let(*id),
            ExpressionKind::Negative(value) => self.of(value)?.scaled(Rational::whole(-1)),
            ExpressionKind::Arithmetic(operator, left, right) => {
                let (left, right) = (self.of(left)?, self.of(right)?);
                match operator {
                    Arithmetic::Plus => left.plus(right),
                    Arithmetic::Minus => left.plus(right.scaled(Rational::whole(-1))?),
                    Arithmetic::Times => match (left.input, right.input) {
                        (_, None) => left.scaled(right.offset),
                        (None, _) => right.scaled(left.offset),
                        _ => None,
                    },
                    Arithmetic::Over => match right.input {
                        None => left.scaled(Rational::ONE.over(right.offset).ok()?),
                        Some(_) => None,
                    },
                }
            }
            // Asked only where the reading was sent, so the value itself is known.
            ExpressionKind::OrIfUnknown { value, .. } => self.of(value),
            _ => None,
        }
    }

    fn of_let(&mut self, id: LetId) -> Option<Affine> {
        if let Some(known) = self.lets.get(&id) {
            return *known;
        }
        let program = self.program;
        let declared = &program.lets[id];
        let form = match &declared.constant {
            Some(Value::Number(number)) => Some(Affine::constant(*number)),
            Some(_) => None,
            None => self.of(&declared.value),
        };
        self.lets.insert(id, form);
        form
    }
}

impl Affine {
    fn constant(value: Rational) -> Self {
        Affine {
            input: None,
            slope: Rational::ZERO,
            offset: value,
        }
    }

    fn plus(self, other: Self) -> Option<Self> {
        let input = match (self.input, other.input) {
            (Some(left), Some(right)) if left != right => return None,
            (left, right) => left.or(right),
        };
        Some(Affine {
            input,
            slope: self.slope.plus(other.slope).ok()?,
            offset: self.offset.plus(other.offset).ok()?,
        })
    }

    fn scaled(self, factor: Rational) -> Option<Self> {
        Some(Affine {
            input: self.input,
            slope: self.slope.times(factor).ok()?,
            offset: self.offset.times(factor).ok()?,
        })
    }
}
