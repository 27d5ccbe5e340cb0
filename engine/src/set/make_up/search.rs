//! The search: the cheapest way through the order of the contenders.

use std::cmp::Ordering;

use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use super::scale::Scale;

/// A contender as the search sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub(super) kind: i32,
    pub(super) is_fixed: bool,
    pub(super) must_be_there: bool,
    pub(super) loft: Option<Rational>,
    pub(super) carry: i64,
    pub(super) reluctance: i64,
}

/// What a way costs; compared from the first to the last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Cost {
    /// Squares of what the steps exceed the widest gap by.
    beyond_widest: i128,
    reluctance: i64,
    clubs: usize,
    /// Squares of the steps.
    uneven: i128,
}

/// The best that is left to do from a contender.
#[derive(Clone, Copy, Debug)]
struct Rest {
    cost: Cost,
    /// The next contender of the way; `None` at the end.
    next: Option<usize>,
}

/// The cheapest way from the first step to the last, with no more clubs than `most_clubs`.
///
/// The number of clubs is part of the cost. So the search first goes without the limit; only where
/// that way has too many clubs is it done again, once for each number of clubs.
pub(super) fn cheapest_way(
    steps: &[Step],
    scale: &Scale,
    most_clubs: usize,
) -> Result<Vec<usize>, ArithmeticFault> {
    let ways = Ways { steps, scale };
    let unlimited = ways.unlimited()?;
    let way = follow(|index, _| unlimited.get(index).copied().flatten());
    if way.len() <= most_clubs {
        return Ok(way);
    }
    let by_number = ways.by_number(most_clubs)?;
    let rest = |index: usize, clubs: usize| by_number.get(clubs)?.get(index).copied().flatten();
    let best = (1..=most_clubs)
        .filter_map(|clubs| Some((rest(0, clubs)?.cost, clubs)))
        .min();
    Ok(best.map_or_else(Vec::new, |(_, clubs)| {
        follow(|index, taken| rest(index, clubs.saturating_sub(taken)))
    }))
}

/// The way that the rests lead along, from the first contender; each is asked for with how many
/// clubs were taken before it.
fn follow(rest: impl Fn(usize, usize) -> Option<Rest>) -> Vec<usize> {
    let mut way = Vec::new();
    let mut at = 0;
    while let Some(Rest { next, .. }) = rest(at, way.len()) {
        way.push(at);
        match next {
            Some(next) => at = next,
            None => break,
        }
    }
    way
}

struct Ways<'a> {
    steps: &'a [Step],
    scale: &'a Scale,
}

impl Ways<'_> {
    /// From each contender the cheapest rest; the last one's first.
    fn unlimited(&self) -> Result<Vec<Option<Rest>>, ArithmeticFault> {
        let mut rests: Vec<Option<Rest>> = vec![None; self.steps.len()];
        for index in (0..self.steps.len()).rev() {
            let rest = self.best_from(index, &rests)?;
            if let Some(place) = rests.get_mut(index) {
                *place = rest;
            }
        }
        Ok(rests)
    }

    /// As [`Self::unlimited`], for each number of clubs from none to `most_clubs`: what is left
    /// of the way has just so many.
    fn by_number(&self, most_clubs: usize) -> Result<Vec<Vec<Option<Rest>>>, ArithmeticFault> {
        let mut by_number = vec![vec![None; self.steps.len()]];
        for clubs in 1..=most_clubs {
            let shorter = by_number.last().map_or(&[][..], Vec::as_slice);
            let mut rests: Vec<Option<Rest>> = Vec::with_capacity(self.steps.len());
            for index in 0..self.steps.len() {
                let is_last = index + 1 == self.steps.len();
                rests.push(match (is_last, clubs) {
                    (true, 1) | (false, _) => self.best_from(index, shorter)?,
                    (true, _) => None,
                });
            }
            by_number.push(rests);
        }
        Ok(by_number)
    }

    /// The cheapest rest of a way that takes this contender, over the rests of those after it. The
    /// first of several equally cheap is kept, so that the clubs come first in the order.
    fn best_from(
        &self,
        index: usize,
        rests: &[Option<Rest>],
    ) -> Result<Option<Rest>, ArithmeticFault> {
        let Some(from) = self.steps.get(index) else {
            return Ok(None);
        };
        let own = Cost {
            reluctance: from.reluctance,
            clubs: 1,
            ..Cost::default()
        };
        if index + 1 == self.steps.len() {
            return Ok(Some(Rest {
                cost: own,
                next: None,
            }));
        }
        let mut best: Option<Rest> = None;
        let after = self.steps.iter().enumerate().skip(index + 1);
        for (next, to) in after {
            if let Some(Some(rest)) = rests.get(next)
                && self.may_follow(*from, *to)
            {
                let cost = self.with_step(own, *from, *to, rest.cost)?;
                if best.is_none_or(|best| cost.cmp(&best.cost) == Ordering::Less) {
                    best = Some(Rest {
                        cost,
                        next: Some(next),
                    });
                }
            }
            if to.must_be_there {
                break;
            }
        }
        Ok(best)
    }

    fn may_follow(&self, from: Step, to: Step) -> bool {
        let both_must = from.must_be_there && to.must_be_there;
        let is_far = from.carry.saturating_sub(to.carry) >= self.scale.narrowest_gap;
        let lofts_rise = match (from.loft, to.loft) {
            (Some(longer), Some(shorter)) => longer < shorter,
            _ => true,
        };
        let is_in_order = (from.kind <= to.kind && lofts_rise) || from.is_fixed || to.is_fixed;
        both_must || (is_far && is_in_order)
    }

    fn with_step(
        &self,
        own: Cost,
        from: Step,
        to: Step,
        rest: Cost,
    ) -> Result<Cost, ArithmeticFault> {
        let gap = from.carry.saturating_sub(to.carry);
        let beyond = gap.saturating_sub(self.scale.widest_gap).max(0);
        let square = |units: i64| i128::from(units).checked_mul(i128::from(units));
        let sum = |left: i128, right: Option<i128>| {
            right
                .and_then(|right| left.checked_add(right))
                .ok_or(ArithmeticFault::Overflow)
        };
        Ok(Cost {
            beyond_widest: sum(rest.beyond_widest, square(beyond))?,
            reluctance: rest
                .reluctance
                .checked_add(own.reluctance)
                .ok_or(ArithmeticFault::Overflow)?,
            clubs: rest.clubs.saturating_add(own.clubs),
            uneven: sum(rest.uneven, square(gap))?,
        })
    }
}
