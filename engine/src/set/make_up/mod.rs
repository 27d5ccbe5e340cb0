//! `make_up`: which clubs make the set for full swings, by an exact search.
//!
//! The contenders stand in order of carry, longest first (then by kind, then by loft, then as they
//! came); the driver, which is for the tee, comes before them all. A set is a way through that
//! order from the first contender to the last. Some clubs are settled already: the driver, and
//! those that the player keeps. What is nearer to a kept club than the narrowest gap is left out:
//! that club holds the place. Then
//!
//! - no way passes by a club that is settled or required, nor the two ends of the order;
//! - a step is at least the narrowest gap, unless both its clubs must be there;
//! - kinds come in the order of the bag (woods before hybrids, hybrids before irons) and lofts rise
//!   from club to club, unless one of the two clubs is settled.
//!
//! Of all ways the one that costs least is taken: first the sum of the squares of what the steps
//! exceed the widest gap of the club that they lead to by, then the sum of the reluctances, then
//! the number of clubs, then the sum of the squared steps, which for given ends and number is least
//! where they are most even. Of several, the one whose clubs come first in the order. No more clubs
//! than the bag holds, unless more must be there.
//!
//! Costs add along a way, so the cheapest way from a contender to the end does not depend on how it
//! was reached: R. Bellman's principle of optimality (*Dynamic Programming*, 1957). Everything is
//! exact: carries become whole numbers of one small unit (`scale`).

mod scale;
mod search;

use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use self::scale::Scale;
use self::search::{Step, cheapest_way};

/// A club that could be in the set.
#[derive(Clone, Debug, PartialEq)]
pub struct Contender {
    /// The kind's word; the words are in the order of the bag.
    pub kind: i32,
    /// The loft, where it is known.
    pub loft: Option<Rational>,
    /// How far it carries, in metres.
    pub carry: Rational,
    /// Whether it must be there.
    pub standing: Standing,
    /// How little the rules like it there; from 0.
    pub reluctance: Rational,
    /// The widest step that leads to it without harm, in metres; `None` where any may.
    pub widest_gap: Option<Rational>,
}

/// Whether a contender must be in the set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It is the driver: for the tee, so that it comes first, however far others carry.
    Driver,
    /// The player keeps it.
    Kept,
    /// The rules want it there.
    Required,
    /// The search may take it.
    Free,
}

impl Standing {
    /// Whether it is there whatever the rules say.
    pub fn is_settled(self) -> bool {
        matches!(self, Standing::Driver | Standing::Kept)
    }
}

/// What a set must keep to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Terms {
    /// No step under it between clubs that need not be there; in metres.
    pub narrowest_gap: Rational,
    /// How many clubs there may be.
    pub most_clubs: usize,
}

/// The set, and how it was judged.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeUp {
    /// The contenders taken, by their places in what was sent, longest carry first.
    pub clubs: Vec<usize>,
    /// Contenders left out since a kept club holds their place: both by their places.
    pub held: Vec<(usize, usize)>,
    /// How it was judged.
    pub objective: Objective,
}

/// What sets are judged by, in the order in which it counts; in metres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Objective {
    /// The sum of the squares of what the steps exceed the widest gaps by.
    pub beyond_widest_m2: Rational,
    /// The sum of the reluctances.
    pub reluctance: Rational,
    /// How many clubs.
    pub clubs: usize,
    /// The sum of the squares of the steps' differences from their mean.
    pub unevenness_m2: Rational,
    /// The largest step.
    pub largest_gap_m: Rational,
}

/// The best set of these contenders; empty where there is none.
///
/// # Errors
/// An arithmetic fault, where the carries have no common unit that can be held.
pub fn make_up(contenders: &[Contender], terms: Terms) -> Result<MadeUp, ArithmeticFault> {
    let held = held_places(contenders, terms)?;
    let is_held = |place: &usize| held.iter().any(|(held, _)| held == place);
    let mut order: Vec<usize> = (0..contenders.len())
        .filter(|place| !is_held(place))
        .collect();
    order.sort_by_cached_key(|place| {
        contenders.get(*place).map(|contender| {
            let Contender { kind, loft, .. } = contender;
            let is_after_driver = contender.standing != Standing::Driver;
            (
                is_after_driver,
                contender.carry.negated(),
                *kind,
                *loft,
                *place,
            )
        })
    });
    let standing: Vec<&Contender> = order
        .iter()
        .filter_map(|place| contenders.get(*place))
        .collect();
    let scale = Scale::of(&standing, terms)?;
    let steps = steps(&standing, &scale)?;
    let must_be_there = steps.iter().filter(|step| step.must_be_there).count();
    let most_clubs = terms.most_clubs.max(must_be_there);
    let way = cheapest_way(&steps, &scale, most_clubs)?;
    let objective = objective(&standing, &way)?;
    let clubs = way.iter().filter_map(|index| order.get(*index).copied());
    Ok(MadeUp {
        clubs: clubs.collect(),
        held,
        objective,
    })
}

/// Those that a kept club leaves no room for, with the first such club that is too near.
fn held_places(
    contenders: &[Contender],
    terms: Terms,
) -> Result<Vec<(usize, usize)>, ArithmeticFault> {
    let mut held = Vec::new();
    for (place, contender) in contenders.iter().enumerate() {
        if contender.standing.is_settled() {
            continue;
        }
        for (holder, kept) in contenders.iter().enumerate() {
            if kept.standing == Standing::Kept
                && kept.carry.minus(contender.carry)?.size() < terms.narrowest_gap
            {
                held.push((place, holder));
                break;
            }
        }
    }
    Ok(held)
}

/// The contenders as the search sees them. The two ends must be there.
fn steps(standing: &[&Contender], scale: &Scale) -> Result<Vec<Step>, ArithmeticFault> {
    let last = standing.len().saturating_sub(1);
    let step = |(index, contender): (usize, &&Contender)| {
        Ok(Step {
            kind: contender.kind,
            is_settled: contender.standing.is_settled(),
            must_be_there: index == 0 || index == last || contender.standing != Standing::Free,
            loft: contender.loft,
            carry: scale.length(contender.carry)?,
            widest_gap: contender
                .widest_gap
                .map(|gap| scale.length(gap))
                .transpose()?,
            reluctance: scale.reluctance(contender.reluctance)?,
        })
    };
    standing.iter().enumerate().map(step).collect()
}

fn objective(standing: &[&Contender], way: &[usize]) -> Result<Objective, ArithmeticFault> {
    let taken: Vec<&&Contender> = way
        .iter()
        .filter_map(|index| standing.get(*index))
        .collect();
    let mut objective = Objective {
        beyond_widest_m2: Rational::ZERO,
        reluctance: Rational::ZERO,
        clubs: taken.len(),
        unevenness_m2: Rational::ZERO,
        largest_gap_m: Rational::ZERO,
    };
    for contender in &taken {
        objective.reluctance = objective.reluctance.plus(contender.reluctance)?;
    }
    let mut gaps = Vec::with_capacity(taken.len());
    for pair in taken.windows(2) {
        if let [longer, shorter] = pair {
            let gap = longer.carry.minus(shorter.carry)?;
            let beyond = match shorter.widest_gap {
                Some(widest) => gap.minus(widest)?.max(Rational::ZERO),
                None => Rational::ZERO,
            };
            objective.beyond_widest_m2 = objective.beyond_widest_m2.plus(beyond.times(beyond)?)?;
            objective.largest_gap_m = objective.largest_gap_m.max(gap);
            gaps.push(gap);
        }
    }
    let (Some(first), Some(last), Ok(count)) =
        (taken.first(), taken.last(), i64::try_from(gaps.len()))
    else {
        return Ok(objective);
    };
    if count == 0 {
        return Ok(objective);
    }
    let mean = first
        .carry
        .minus(last.carry)?
        .over(Rational::whole(count))?;
    for gap in gaps {
        let uneven = gap.minus(mean)?;
        objective.unevenness_m2 = objective.unevenness_m2.plus(uneven.times(uneven)?)?;
    }
    Ok(objective)
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
