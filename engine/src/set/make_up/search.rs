//! The search: the cheapest way through the order of the contenders.

use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use super::scale::Scale;

/// A contender as the search sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub(super) kind: i32,
    pub(super) is_settled: bool,
    pub(super) must_be_there: bool,
    pub(super) loft: Option<Rational>,
    pub(super) carry: i64,
    /// The widest step that may lead to it.
    pub(super) widest_gap: Option<i64>,
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
    let ways = Ways::through(steps, scale)?;
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

/// A step that may be taken, and what it costs.
#[derive(Clone, Copy, Debug)]
struct Onward {
    to: usize,
    beyond_widest: i128,
    uneven: i128,
}

/// The ways through the order.
struct Ways {
    /// The reluctance of each contender.
    reluctances: Vec<i64>,
    /// The steps from each contender, in the order of where they lead, one contender's after the
    /// other's.
    onward: Vec<Onward>,
    /// Where the steps of each contender end.
    ends: Vec<usize>,
}

impl Ways {
    fn through(steps: &[Step], scale: &Scale) -> Result<Self, ArithmeticFault> {
        let mut onward = Vec::with_capacity(steps.len() * 8);
        let mut ends = Vec::with_capacity(steps.len());
        for (index, from) in steps.iter().enumerate() {
            for (to, step) in steps.iter().enumerate().skip(index + 1) {
                if may_follow(*from, *step, scale) {
                    onward.push(onward_to(to, *from, *step)?);
                }
                // Nothing passes by a club that must be there.
                if step.must_be_there {
                    break;
                }
            }
            ends.push(onward.len());
        }
        Ok(Ways {
            reluctances: steps.iter().map(|step| step.reluctance).collect(),
            onward,
            ends,
        })
    }

    fn onward_from(&self, index: usize) -> &[Onward] {
        let end_of = |index: usize| self.ends.get(index).copied().unwrap_or(0);
        let start = index.checked_sub(1).map_or(0, end_of);
        self.onward.get(start..end_of(index)).unwrap_or_default()
    }

    /// From each contender the cheapest rest; the last one's first.
    fn unlimited(&self) -> Result<Vec<Option<Rest>>, ArithmeticFault> {
        let mut rests: Vec<Option<Rest>> = vec![None; self.ends.len()];
        for index in (0..self.ends.len()).rev() {
            let rest = match index + 1 == self.ends.len() {
                true => self.end(index),
                false => self.best_from(index, &rests)?,
            };
            if let Some(place) = rests.get_mut(index) {
                *place = rest;
            }
        }
        Ok(rests)
    }

    /// As [`Self::unlimited`], for each number of clubs from none to `most_clubs`: what is left
    /// of the way has just so many.
    fn by_number(&self, most_clubs: usize) -> Result<Vec<Vec<Option<Rest>>>, ArithmeticFault> {
        let count = self.ends.len();
        let mut by_number = vec![vec![None; count]];
        for clubs in 1..=most_clubs {
            let shorter = by_number.last().map_or(&[][..], Vec::as_slice);
            let mut rests: Vec<Option<Rest>> = Vec::with_capacity(count);
            for index in 0..count {
                rests.push(match (index + 1 == count, clubs) {
                    (true, 1) => self.end(index),
                    (true, _) => None,
                    (false, _) => self.best_from(index, shorter)?,
                });
            }
            by_number.push(rests);
        }
        Ok(by_number)
    }

    /// The rest of a way that ends here.
    fn end(&self, index: usize) -> Option<Rest> {
        Some(Rest {
            cost: Cost {
                reluctance: *self.reluctances.get(index)?,
                clubs: 1,
                ..Cost::default()
            },
            next: None,
        })
    }

    /// The cheapest rest of a way that takes this contender, over the rests of those after it. The
    /// first of several equally cheap is kept, so that the clubs come first in the order.
    fn best_from(
        &self,
        index: usize,
        rests: &[Option<Rest>],
    ) -> Result<Option<Rest>, ArithmeticFault> {
        let own = self.reluctances.get(index).copied().unwrap_or(0);
        let mut best: Option<Rest> = None;
        for step in self.onward_from(index) {
            let Some(Some(rest)) = rests.get(step.to) else {
                continue;
            };
            let cost = with_step(own, *step, rest.cost)?;
            if best.is_none_or(|best| cost < best.cost) {
                best = Some(Rest {
                    cost,
                    next: Some(step.to),
                });
            }
        }
        Ok(best)
    }
}

fn may_follow(from: Step, to: Step, scale: &Scale) -> bool {
    let both_must = from.must_be_there && to.must_be_there;
    let is_far = from.carry.saturating_sub(to.carry) >= scale.narrowest_gap;
    let lofts_rise = || match (from.loft, to.loft) {
        (Some(longer), Some(shorter)) => longer < shorter,
        _ => true,
    };
    let is_in_order = || from.is_settled || to.is_settled || (from.kind <= to.kind && lofts_rise());
    both_must || (is_far && is_in_order())
}

fn onward_to(to: usize, from: Step, step: Step) -> Result<Onward, ArithmeticFault> {
    let gap = from.carry.saturating_sub(step.carry);
    let beyond = step
        .widest_gap
        .map_or(0, |widest| gap.saturating_sub(widest).max(0));
    let square = |units: i64| {
        let units = i128::from(units);
        units.checked_mul(units).ok_or(ArithmeticFault::Overflow)
    };
    Ok(Onward {
        to,
        beyond_widest: square(beyond)?,
        uneven: square(gap)?,
    })
}

/// What a way costs that begins with a contender of this reluctance and goes on with this step.
fn with_step(reluctance: i64, step: Onward, rest: Cost) -> Result<Cost, ArithmeticFault> {
    let overflow = ArithmeticFault::Overflow;
    Ok(Cost {
        beyond_widest: rest
            .beyond_widest
            .checked_add(step.beyond_widest)
            .ok_or(overflow)?,
        reluctance: rest.reluctance.checked_add(reluctance).ok_or(overflow)?,
        clubs: rest.clubs.saturating_add(1),
        uneven: rest.uneven.checked_add(step.uneven).ok_or(overflow)?,
    })
}
