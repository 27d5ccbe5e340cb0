//! Pieces for several clubs at once: the assignment that costs least, exactly.
//!
//! Clubs are rows, pieces columns; a part that is only counted is as many columns as are left of
//! it, and every club may go without, at a price above all others. The cheapest assignment is found
//! club by club along the cheapest chain of exchanges (the Hungarian method with potentials: H. W.
//! Kuhn, *The Hungarian method for the assignment problem*, 1955), over costs that are exact
//! tuples: any ordered group that can be added and subtracted will do.
//!
//! Of several cheapest assignments the one is taken that is smallest when the clubs are read in
//! order. Each club in turn is tried with its offers in order; the first that still reaches the
//! lowest cost stays. The potentials say which offers cannot, so that little is tried in vain.

use std::collections::BTreeSet;

use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use crate::evaluate::algebra::Ended;

/// What giving a club something costs; compared from the first to the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cost {
    /// 1 where the club goes without.
    pub(super) without: i64,
    /// The level of what it gets.
    pub(super) level: i64,
    /// Minus its score.
    pub(super) minus_score: Rational,
}

impl Cost {
    const NOTHING: Cost = Cost {
        without: 0,
        level: 0,
        minus_score: Rational::ZERO,
    };
    const WITHOUT: Cost = Cost {
        without: 1,
        ..Cost::NOTHING
    };

    /// What a candidate of a level and score costs.
    pub(super) fn of(level: usize, score: Rational) -> Self {
        Cost {
            without: 0,
            level: i64::try_from(level).unwrap_or(i64::MAX),
            minus_score: score.negated(),
        }
    }

    fn plus(self, other: Cost) -> Result<Cost, ArithmeticFault> {
        Ok(Cost {
            without: self.without.saturating_add(other.without),
            level: self.level.saturating_add(other.level),
            minus_score: self.minus_score.plus(other.minus_score)?,
        })
    }

    fn minus(self, other: Cost) -> Result<Cost, ArithmeticFault> {
        Ok(Cost {
            without: self.without.saturating_sub(other.without),
            level: self.level.saturating_sub(other.level),
            minus_score: self.minus_score.minus(other.minus_score)?,
        })
    }
}

/// Something a club could get.
#[derive(Clone, Copy, Debug)]
pub(super) struct Offered {
    /// The piece, or the part that is only counted.
    pub(super) item: usize,
    pub(super) cost: Cost,
}

/// Which of its offers each club gets, if any; each club's offers come in the order that decides
/// between assignments of one cost. `left`: how often each item is there.
pub(super) fn assign(
    clubs: &[Vec<Offered>],
    left: &[usize],
    step: &mut impl FnMut() -> Result<(), Ended>,
) -> Result<Vec<Option<usize>>, Ended> {
    let worth_a_look: Vec<Vec<usize>> = clubs.iter().map(|club| pruned(club, clubs)).collect();
    let offers: Vec<Vec<Offered>> = clubs
        .iter()
        .zip(&worth_a_look)
        .map(|(club, kept)| kept.iter().filter_map(|place| club.get(*place)).copied())
        .map(Iterator::collect)
        .collect();
    let mut left = left.to_vec();
    let best = solve(&offers, &left, step)?;
    let mut spent = Cost::NOTHING;
    let mut assigned = Vec::with_capacity(clubs.len());
    for (club, own) in offers.iter().enumerate() {
        let rest = offers.get(club + 1..).unwrap_or_default();
        let mut taken = None;
        for (place, offered) in own.iter().enumerate() {
            let Some(count) = left.get(offered.item).copied().filter(|count| *count > 0) else {
                continue;
            };
            if !best.may_get(club, offered)? {
                continue;
            }
            set(&mut left, offered.item, count - 1);
            let others = solve(rest, &left, step)?.total;
            if spent.plus(offered.cost)?.plus(others)? == best.total {
                taken = Some(place);
                spent = spent.plus(offered.cost)?;
                break;
            }
            set(&mut left, offered.item, count);
        }
        if taken.is_none() {
            spent = spent.plus(Cost::WITHOUT)?;
        }
        let kept = worth_a_look.get(club);
        assigned.push(taken.and_then(|place| kept?.get(place).copied()));
    }
    Ok(assigned)
}

fn set(left: &mut [usize], item: usize, count: usize) {
    if let Some(place) = left.get_mut(item) {
        *place = count;
    }
}

/// The offers of a club that an assignment may need, in their order: of each item the cheapest (a
/// piece in its best setting), and of those as many as there are clubs, since the others can never
/// take them all away. Among equals the first come first.
fn pruned(club: &[Offered], clubs: &[Vec<Offered>]) -> Vec<usize> {
    let mut by_cost: Vec<(usize, &Offered)> = club.iter().enumerate().collect();
    by_cost.sort_by_key(|(place, offered)| (offered.cost, *place));
    let mut items = BTreeSet::new();
    let mut kept: Vec<usize> = by_cost
        .into_iter()
        .filter(|(_, offered)| items.insert(offered.item))
        .map(|(place, _)| place)
        .take(clubs.len())
        .collect();
    kept.sort_unstable();
    kept
}

/// The lowest cost of all clubs together, and the potentials that prove it.
struct Cheapest {
    total: Cost,
    clubs: Vec<Cost>,
    /// Of each column: its item and its potential.
    columns: Vec<(Option<usize>, Cost)>,
}

impl Cheapest {
    /// Whether some cheapest assignment may give a club this: no potential says otherwise.
    fn may_get(&self, club: usize, offered: &Offered) -> Result<bool, Ended> {
        let Some(of_club) = self.clubs.get(club) else {
            return Ok(false);
        };
        for (item, of_column) in &self.columns {
            if *item == Some(offered.item)
                && offered.cost.minus(*of_club)?.minus(*of_column)? == Cost::NOTHING
            {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// One column: an item, or going without, and who has it.
struct Column {
    item: Option<usize>,
    potential: Cost,
    club: Option<usize>,
}

/// What a search for a chain of exchanges knows of a column.
#[derive(Clone, Copy)]
struct Reached {
    distance: Cost,
    /// The column before it in the chain; `None` where the chain begins.
    before: Option<usize>,
    /// Whether its distance is settled.
    is_done: bool,
}

fn solve(
    clubs: &[Vec<Offered>],
    left: &[usize],
    step: &mut impl FnMut() -> Result<(), Ended>,
) -> Result<Cheapest, Ended> {
    let mut columns = columns_for(clubs, left);
    let costs: Vec<Vec<Option<Cost>>> = clubs
        .iter()
        .map(|club| columns.iter().map(|it| cost_of(club, it.item)).collect())
        .collect();
    let mut potentials = vec![Cost::NOTHING; clubs.len()];
    for club in 0..clubs.len() {
        place_club(club, &costs, &mut potentials, &mut columns, step)?;
    }
    let mut total = Cost::NOTHING;
    for (place, column) in columns.iter().enumerate() {
        let of_club = column.club.and_then(|club| costs.get(club));
        if let Some(Some(cost)) = of_club.and_then(|costs| costs.get(place)) {
            total = total.plus(*cost)?;
        }
    }
    Ok(Cheapest {
        total,
        clubs: potentials,
        columns: columns
            .into_iter()
            .map(|column| (column.item, column.potential))
            .collect(),
    })
}

fn columns_for(clubs: &[Vec<Offered>], left: &[usize]) -> Vec<Column> {
    let items: BTreeSet<usize> = clubs.iter().flatten().map(|offered| offered.item).collect();
    let of_items = items.into_iter().flat_map(|item| {
        let count = left.get(item).copied().unwrap_or(0).min(clubs.len());
        std::iter::repeat_n(Some(item), count)
    });
    let column = |item| Column {
        item,
        potential: Cost::NOTHING,
        club: None,
    };
    of_items
        .chain(std::iter::repeat_n(None, clubs.len()))
        .map(column)
        .collect()
}

fn cost_of(club: &[Offered], item: Option<usize>) -> Option<Cost> {
    let Some(item) = item else {
        return Some(Cost::WITHOUT);
    };
    let offered = club.iter().find(|offered| offered.item == item)?;
    Some(offered.cost)
}

/// Gives one more club a column along the cheapest chain of exchanges, and moves the potentials so
/// that no reduced cost is below zero.
fn place_club(
    club: usize,
    costs: &[Vec<Option<Cost>>],
    potentials: &mut [Cost],
    columns: &mut [Column],
    step: &mut impl FnMut() -> Result<(), Ended>,
) -> Result<(), Ended> {
    let mut reached: Vec<Option<Reached>> = vec![None; columns.len()];
    let (mut at_club, mut before, mut so_far) = (club, None, Cost::NOTHING);
    let free = loop {
        step()?;
        let of_club = potentials.get(at_club).copied().unwrap_or(Cost::NOTHING);
        let own = costs.get(at_club).map_or(&[][..], Vec::as_slice);
        for ((column, cost), known) in columns.iter().zip(own).zip(&mut reached) {
            let Some(cost) = cost.filter(|_| known.is_none_or(|known| !known.is_done)) else {
                continue;
            };
            let reduced = cost.minus(of_club)?.minus(column.potential)?;
            let distance = so_far.plus(reduced)?;
            if known.is_none_or(|known| distance < known.distance) {
                *known = Some(Reached {
                    distance,
                    before,
                    is_done: false,
                });
            }
        }
        let open = reached.iter_mut().enumerate().filter_map(|(place, known)| {
            let known = known.as_mut().filter(|known| !known.is_done)?;
            Some((known.distance, place, known))
        });
        // Every club can go without, so that there is always a column that is free.
        let nearest = open.min_by(|left, right| (left.0, left.1).cmp(&(right.0, right.1)));
        let (distance, place, known) = nearest.ok_or_else(Ended::not_checked)?;
        so_far = distance;
        match columns.get(place).and_then(|column| column.club) {
            Some(next) => {
                known.is_done = true;
                at_club = next;
                before = Some(place);
            }
            None => break place,
        }
    };
    for (column, known) in columns.iter_mut().zip(&reached) {
        let Some(known) = known.filter(|known| known.is_done) else {
            continue;
        };
        let gained = so_far.minus(known.distance)?;
        column.potential = column.potential.minus(gained)?;
        if let Some(potential) = column.club.and_then(|club| potentials.get_mut(club)) {
            *potential = potential.plus(gained)?;
        }
    }
    if let Some(potential) = potentials.get_mut(club) {
        *potential = potential.plus(so_far)?;
    }
    exchange(club, free, &reached, columns);
    Ok(())
}

/// Hands the columns of a chain on, from the free one back to where it begins.
fn exchange(club: usize, free: usize, reached: &[Option<Reached>], columns: &mut [Column]) {
    let mut at = free;
    loop {
        let before = reached
            .get(at)
            .copied()
            .flatten()
            .and_then(|known| known.before);
        let giver = match before {
            Some(before) => columns.get(before).and_then(|column| column.club),
            None => Some(club),
        };
        if let Some(column) = columns.get_mut(at) {
            column.club = giver;
        }
        match before {
            Some(before) => at = before,
            None => return,
        }
    }
}

#[cfg(test)]
#[path = "assignment_tests.rs"]
mod tests;
