//! Counts with their chances.
//!
//! Chances are exact fractions as long as numerator and denominator can be held; beyond that each
//! is rounded to [`RESOLUTION`], and the result says so.

use loftwright_dsl::quantity::{ArithmeticFault, Rational, Rounding};

/// What a chance is rounded to, as one part in so many, where it cannot be held exactly.
pub const RESOLUTION: i64 = 1_000_000_000_000;

/// How likely each count is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chances {
    /// By count, from 0.
    by_count: Vec<Rational>,
    /// Whether no chance was rounded.
    is_exact: bool,
}

impl Chances {
    /// A count that is certain.
    pub fn certain(count: usize) -> Self {
        let mut by_count = vec![Rational::ZERO; count];
        by_count.push(Rational::ONE);
        Chances {
            by_count,
            is_exact: true,
        }
    }

    /// One with a chance, none otherwise.
    pub fn one_with(chance: Rational) -> Self {
        Chances::certain(1).only_with(chance)
    }

    /// The mean of cases, each as likely as it is frequent.
    pub fn mean_of(cases: &[(Chances, usize)]) -> Self {
        let whole = |count: usize| Rational::whole(i64::try_from(count).unwrap_or(i64::MAX));
        let all = whole(cases.iter().map(|(_, count)| count).sum());
        let mut mean = Sum::default();
        for (case, count) in cases.iter().filter(|(_, count)| *count > 0) {
            mean.add(case, whole(*count).over(all).unwrap_or(Rational::ZERO));
        }
        mean.done()
    }

    /// The same with a chance, none otherwise.
    #[must_use]
    pub fn only_with(&self, chance: Rational) -> Self {
        let mut sum = Sum::default();
        sum.add(self, chance);
        let otherwise = Rational::ONE.minus(chance).unwrap_or(Rational::ZERO);
        sum.add(&Chances::certain(0), otherwise);
        sum.done()
    }

    /// The sum of two counts that do not depend on each other.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        match self.convolved(other) {
            Ok(by_count) => Chances {
                by_count: trimmed(by_count),
                is_exact: self.is_exact && other.is_exact,
            },
            Err(_) => self.rounded().plus_rounded(&other.rounded()),
        }
    }

    fn plus_rounded(&self, other: &Self) -> Self {
        // Products of two chances to 10⁻¹² and their sums can be held.
        let by_count = self.convolved(other).unwrap_or_default();
        let sum = Chances {
            by_count: trimmed(by_count),
            is_exact: false,
        };
        sum.rounded()
    }

    fn convolved(&self, other: &Self) -> Result<Vec<Rational>, ArithmeticFault> {
        let length = (self.by_count.len() + other.by_count.len()).saturating_sub(1);
        let mut by_count = vec![Rational::ZERO; length];
        for (one, chance) in self.by_count.iter().enumerate() {
            for (two, other_chance) in other.by_count.iter().enumerate() {
                let both = chance.times(*other_chance)?;
                if let Some(known) = by_count.get_mut(one + two) {
                    *known = known.plus(both)?;
                }
            }
        }
        Ok(by_count)
    }

    fn rounded(&self) -> Self {
        let by_count = self.by_count.iter();
        Chances {
            by_count: by_count.map(|chance| to_resolution(*chance)).collect(),
            is_exact: false,
        }
    }

    /// Whether no chance was rounded to [`RESOLUTION`].
    pub fn is_exact(&self) -> bool {
        self.is_exact
    }

    /// The chance of a count.
    pub fn of(&self, count: usize) -> Rational {
        self.by_count.get(count).copied().unwrap_or(Rational::ZERO)
    }

    /// The highest count that has a chance.
    pub fn highest(&self) -> usize {
        self.by_count.len().saturating_sub(1)
    }

    /// The mean.
    pub fn expected(&self) -> Rational {
        let terms = self.by_count.iter().enumerate();
        sum_of(terms.map(|(count, chance)| {
            let count = Rational::whole(i64::try_from(count).unwrap_or(i64::MAX));
            chance.times(count).unwrap_or(Rational::ZERO)
        }))
    }

    /// The chance of more than a count.
    pub fn above(&self, count: i64) -> Rational {
        let above = self.by_count.iter().enumerate();
        let is_above = |place: usize| i64::try_from(place).is_ok_and(|place| place > count);
        sum_of(
            above
                .filter(|(place, _)| is_above(*place))
                .map(|(_, chance)| *chance),
        )
    }

    /// The smallest count that is exceeded with at most the chance `1 - confidence`.
    pub fn enough_for(&self, confidence: Rational) -> i64 {
        let allowed = Rational::ONE.minus(confidence).unwrap_or(Rational::ZERO);
        let highest = i64::try_from(self.highest()).unwrap_or(i64::MAX);
        (0..highest)
            .find(|count| self.above(*count) <= allowed)
            .unwrap_or(highest)
    }
}

/// A weighted sum of chances.
#[derive(Default)]
struct Sum {
    by_count: Vec<Rational>,
    is_rounded: bool,
}

impl Sum {
    fn add(&mut self, chances: &Chances, weight: Rational) {
        self.is_rounded |= !chances.is_exact;
        if self.by_count.len() < chances.by_count.len() {
            self.by_count.resize(chances.by_count.len(), Rational::ZERO);
        }
        for (known, chance) in self.by_count.iter_mut().zip(&chances.by_count) {
            let exact = chance.times(weight).and_then(|share| known.plus(share));
            *known = exact.unwrap_or_else(|_| {
                self.is_rounded = true;
                let share = to_resolution(*chance).times(to_resolution(weight));
                let share = to_resolution(share.unwrap_or(Rational::ZERO));
                let sum = to_resolution(*known).plus(share);
                sum.unwrap_or(Rational::ONE)
            });
        }
    }

    fn done(self) -> Chances {
        Chances {
            by_count: trimmed(self.by_count),
            is_exact: !self.is_rounded,
        }
    }
}

/// Without counts at the end that have no chance.
fn trimmed(mut by_count: Vec<Rational>) -> Vec<Rational> {
    while by_count.len() > 1 && by_count.last().is_some_and(|last| last.is_zero()) {
        by_count.pop();
    }
    by_count
}

/// A sum of chances, or of counts times chances; what cannot be held is rounded.
fn sum_of(terms: impl Iterator<Item = Rational>) -> Rational {
    terms.fold(Rational::ZERO, |sum, term| {
        sum.plus(term).unwrap_or_else(|_| {
            let rounded = to_resolution(sum).plus(to_resolution(term));
            rounded.unwrap_or(sum)
        })
    })
}

/// The nearest multiple of the resolution. A chance below half of it becomes none.
fn to_resolution(chance: Rational) -> Rational {
    let unit = Rational::fraction(1, i128::from(RESOLUTION));
    let rounded = unit.and_then(|unit| chance.rounded_to(unit, Rounding::Nearest));
    rounded.unwrap_or(Rational::ZERO)
}

#[cfg(test)]
#[path = "chance_tests.rs"]
mod tests;
