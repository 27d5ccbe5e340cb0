//! All clubs of a choice at once, from one stock: `takes 1 from on_hand, together`.
//!
//! A club's candidates are those that pass the original needs (level 0) or a rung of needs that
//! stands before the first `orders` or `leaves open` (level: the rung's number, counted from 1).
//! Which club gets which piece the assignment says; a club that goes without goes on down the
//! ladder.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use loftwright_dsl::program::{Choose, RungKind};
use loftwright_dsl::quantity::Rational;

use super::assignment::{Cost, Offered, assign};
use super::candidate::Candidate;
use super::families::Club;
use super::family::Family;
use super::first::first_in_order;
use super::ladder::{Ladder, take};
use super::losers::note_others;
use super::offers::{Offer, Source};
use super::prefers::better;
use super::sift::Passing;
use super::stock::Stock;
use crate::evaluate::algebra::Ended;
use crate::evaluate::expression::Asker;
use crate::outcome::{ChosenPart, Outcome};
use crate::shelf::Item;
use crate::trace::{Selection, Totals, TraceSink};

/// A club that takes part, with what it could get.
struct Sharing<'a> {
    candidates: Vec<Candidate<'a>>,
    /// The level of each candidate.
    levels: Vec<usize>,
    /// The sum of the scores of each candidate.
    totals: Vec<Rational>,
    selection: Selection,
    /// The candidate that it gets.
    gets: Option<usize>,
}

impl Sharing<'_> {
    fn level(&self, candidate: usize) -> usize {
        self.levels.get(candidate).copied().unwrap_or(0)
    }

    fn score(&self, candidate: usize) -> Rational {
        let total = self.totals.get(candidate);
        total.copied().unwrap_or(Rational::ZERO)
    }

    /// The order of two candidates, the better first.
    fn better(&self, choose: &Choose, left: usize, right: usize) -> Ordering {
        let by_level = self.level(left).cmp(&self.level(right));
        let by_score = || better(&choose.ties, &self.candidates, &self.totals, left, right);
        by_level.then_with(by_score)
    }
}

impl<'a, S: TraceSink> Asker<'a, S> {
    /// Pieces for all of these clubs; takes them from the stock.
    pub(super) fn choose_together<'p>(
        &mut self,
        choose: &'p Choose,
        family: Option<&Family>,
        clubs: &[Club<'_, 'p>],
        stock: &mut Stock,
    ) -> Vec<(Outcome, Selection)> {
        let mut sharing = Vec::with_capacity(clubs.len());
        for club in clubs {
            self.turn_to(Some(club.member));
            let mut selection = Selection::default();
            let found = self.sharing(choose, family, club, stock, &mut selection);
            sharing.push(found.map_err(|outcome| (outcome, selection)));
        }
        let shared = self.share_stock(choose, &mut sharing, clubs, stock);
        let mut outcomes = Vec::with_capacity(clubs.len());
        for (sharing, club) in sharing.into_iter().zip(clubs) {
            let sharing = match (sharing, &shared) {
                (Err(ended), _) => {
                    outcomes.push(ended);
                    continue;
                }
                (Ok(sharing), Err(ended)) => {
                    outcomes.push((ended.clone().into(), sharing.selection));
                    continue;
                }
                (Ok(sharing), Ok(())) => sharing,
            };
            self.turn_to(Some(club.member));
            outcomes.push(self.settle_club(choose, family, sharing, club, stock));
        }
        outcomes
    }

    /// What a club could get, at each level; `Err` is how it ends without taking part.
    fn sharing<'p>(
        &mut self,
        choose: &'p Choose,
        family: Option<&Family>,
        Club { at, questions, .. }: &Club<'_, 'p>,
        stock: &Stock,
        selection: &mut Selection,
    ) -> Result<Sharing<'a>, Outcome> {
        let at = *at;
        let mut levels = vec![self.level(questions, None, at)?];
        for (number, rung) in choose.rungs.iter().enumerate() {
            if !matches!(rung.kind, RungKind::Needs { .. }) {
                break;
            }
            levels.push(self.level(questions, Some(number), at)?);
        }
        let was_recording = std::mem::replace(&mut self.is_recording, false);
        let offer = Offer {
            source: Source::Stock(stock, choose.takes.unwrap_or(1)),
            family,
        };
        let passing = self.sift(choose, offer, &levels, at, selection);
        let found = passing.and_then(|passing| {
            let Passing {
                mut candidates,
                levels,
                ..
            } = passing;
            let lets = questions.lets_scored;
            for candidate in &mut candidates {
                self.compute_lets(choose, lets, candidate, at)?;
            }
            let totals = self.score(choose, questions, &candidates, at, selection)?;
            Ok((candidates, levels, totals))
        });
        self.is_recording = was_recording;
        let (candidates, levels, totals) = found?;
        Ok(Sharing {
            candidates,
            levels,
            totals,
            selection: std::mem::take(selection),
            gets: None,
        })
    }

    /// Gives each club that takes part what the assignment says, out of the stock.
    fn share_stock(
        &mut self,
        choose: &Choose,
        sharing: &mut [Result<Sharing<'a>, (Outcome, Selection)>],
        clubs: &[Club<'_, '_>],
        stock: &mut Stock,
    ) -> Result<(), Ended> {
        let mut taking_part: Vec<&mut Sharing<'a>> = Vec::new();
        let mut members = Vec::new();
        for (sharing, club) in sharing.iter_mut().zip(clubs) {
            if let Ok(sharing) = sharing {
                taking_part.push(sharing);
                members.push(club.member);
            }
        }
        let mut items: BTreeMap<(usize, Option<usize>), usize> = BTreeMap::new();
        let mut left = Vec::new();
        let mut offered = Vec::with_capacity(taking_part.len());
        let mut orders = Vec::with_capacity(taking_part.len());
        for club in &taking_part {
            let order = in_order(choose, club, taking_part.len());
            let of_club = order.iter().filter_map(|place| {
                let candidate = club.candidates.get(*place)?;
                let new = items.len();
                let item = *items
                    .entry((candidate.part, candidate.piece))
                    .or_insert_with(|| {
                        left.push(how_often(choose, candidate, stock));
                        new
                    });
                let cost = Cost::of(club.level(*place), club.score(*place));
                Some(Offered { item, cost })
            });
            offered.push(of_club.collect::<Vec<_>>());
            orders.push(order);
        }
        self.turn_to(members.first().copied());
        let assigned = assign(&offered, &left, &mut || self.step())?;
        for ((club, assigned), order) in taking_part.iter_mut().zip(assigned).zip(orders) {
            club.gets = assigned.and_then(|place| order.get(place).copied());
            club.selection.total = club.gets.map(|place| club.score(place));
        }
        if S::IS_KEPT {
            note_shared(choose, &mut taking_part, &members);
        }
        for club in taking_part {
            if let Some(candidate) = club.gets.and_then(|place| club.candidates.get(place))
                && let Some(count) = choose.takes
            {
                let item = Item {
                    part: candidate.part,
                    piece: candidate.piece,
                };
                stock.take(choose.part, item, count);
            }
        }
        Ok(())
    }

    /// The outcome of a club that took part: what it gets, or what the ladder still has for it.
    fn settle_club<'p>(
        &mut self,
        choose: &'p Choose,
        family: Option<&Family>,
        mut sharing: Sharing<'a>,
        Club { at, questions, .. }: &Club<'_, 'p>,
        stock: &mut Stock,
    ) -> (Outcome, Selection) {
        let level = sharing.gets.map(|place| sharing.level(place));
        let gets = sharing
            .gets
            .and_then(|place| sharing.candidates.get(place))
            .cloned();
        let outcome = match gets {
            Some(candidate) => {
                if S::IS_KEPT {
                    let not_weighed = &sharing.selection.not_weighed;
                    sharing.selection.scores =
                        self.scores_by_line(choose, questions, &candidate, *at, not_weighed);
                }
                let rung = level.and_then(|level| level.checked_sub(1));
                let taken: Result<Box<ChosenPart>, Outcome> =
                    self.taken(choose, candidate, rung, *at);
                taken.map(Outcome::Chosen)
            }
            None => {
                let is_last = |rung: &loftwright_dsl::program::Rung| {
                    !matches!(rung.kind, RungKind::Needs { .. })
                };
                let from = choose.rungs.iter().position(is_last);
                let ladder = Ladder {
                    choose,
                    questions,
                    family,
                    source: Source::Stock(stock, choose.takes.unwrap_or(1)),
                };
                let from = from.unwrap_or(choose.rungs.len());
                self.rungs(ladder, from, *at, &mut sharing.selection)
            }
        };
        let outcome = outcome.unwrap_or_else(|ended| ended);
        if level.is_none() {
            take(choose, &outcome, stock);
        }
        (outcome, sharing.selection)
    }
}

/// The candidates of a club that so many clubs together can leave it no better than, in the order
/// that decides between assignments of one cost: the ties, then part, piece and setting.
fn in_order(choose: &Choose, club: &Sharing<'_>, clubs: usize) -> Vec<usize> {
    let alike = vec![Rational::ZERO; club.candidates.len()];
    let mut order = cheap_enough(choose, club, clubs);
    order.sort_by(|left, right| better(&choose.ties, &club.candidates, &alike, *left, *right));
    order
}

/// The candidates that cost no more than the dearest of as many as there are clubs: the others can
/// never take all of those away. A piece in several settings is there several times, so that there
/// all are.
fn cheap_enough(choose: &Choose, club: &Sharing<'_>, clubs: usize) -> Vec<usize> {
    let places = 0..club.candidates.len();
    if choose.in_each.is_some() {
        return places.collect();
    }
    let cost = |place: usize| Cost::of(club.level(place), club.score(place));
    let costs: Vec<Cost> = places.clone().map(cost).collect();
    let by_cost = |left: &usize, right: &usize| costs.get(*left).cmp(&costs.get(*right));
    let cheapest = first_in_order(places.clone(), clubs, by_cost);
    let Some(dearest) = cheapest.last() else {
        return Vec::new();
    };
    places
        .filter(|place| by_cost(place, dearest).is_le())
        .collect()
}

/// How often a piece, or a part that is only counted, is there to be taken.
fn how_often(choose: &Choose, candidate: &Candidate<'_>, stock: &Stock) -> usize {
    if candidate.piece.is_some() {
        return 1;
    }
    let left = stock.left_of(choose.part, candidate.part, candidate.record);
    usize::try_from(left).unwrap_or(0)
}

/// Notes who gets what a club does not, and what it comes to in all.
fn note_shared(choose: &Choose, clubs: &mut [&mut Sharing<'_>], members: &[usize]) {
    let mut totals = Some(Totals::NOTHING);
    let mut getting: BTreeMap<(usize, Option<usize>), usize> = BTreeMap::new();
    for (club, member) in clubs.iter().zip(members) {
        let gets = club
            .gets
            .map(|place| (club.level(place), club.score(place)));
        totals = totals.and_then(|totals| totals.with(gets, false).ok());
        if let Some(candidate) = club.gets.and_then(|place| club.candidates.get(place)) {
            getting.insert((candidate.part, candidate.piece), *member);
        }
    }
    for (club, member) in clubs.iter_mut().zip(members) {
        let mut selection = std::mem::take(&mut club.selection);
        let order = |left: &usize, right: &usize| club.better(choose, *left, *right);
        note_others(
            &club.candidates,
            &club.totals,
            club.gets,
            order,
            &mut selection,
        );
        if club.gets.is_none() {
            selection.gone_to_others = club.candidates.len();
        }
        for other in &mut selection.runners_up {
            let taker = getting.get(&(other.part, other.piece)).copied();
            other.taken_for = taker.filter(|taker| taker != member);
        }
        selection.together = totals;
        club.selection = selection;
    }
}
