//! Which of the parts on offer meet the lines: first by whole shelves, then one by one.
//!
//! Only what passes the sieves of the levels becomes a candidate, with lets of its own.

use std::collections::BTreeMap;

use loftwright_dsl::program::Choose;

use super::candidate::Candidate;
use super::losers::note_failed_on_shelf;
use super::offers::{Offer, Offered, Source, candidate_at};
use super::on_shelf::OnShelf;
use super::questions::Level;
use super::settled::Nearer;
use super::sieve::Sieve;
use crate::evaluate::expression::{Asker, At};
use crate::outcome::Outcome;
use crate::places::Places;
use crate::trace::{Selection, TraceSink};

/// What meets the lines of a level, in order, and the lowest level that each meets.
#[derive(Default)]
pub(super) struct Passing<'a> {
    pub(super) candidates: Vec<Candidate<'a>>,
    pub(super) levels: Vec<usize>,
    /// By the index of a line of level 0 that was asked of each: what would be nearer than those
    /// that failed it.
    nearer: BTreeMap<usize, Option<Nearer>>,
}

impl Passing<'_> {
    fn make_room(&mut self, count: usize) {
        self.candidates.reserve_exact(count);
        self.levels.reserve_exact(count);
    }
}

/// A choice on its way through what is offered.
struct Sifting<'s, 'a, 'p> {
    choose: &'p Choose,
    offered: &'s Offered<'a>,
    is_order: bool,
    levels: &'s [&'s Level<'p>],
    sieves: Vec<&'s Sieve<'p>>,
}

impl Sifting<'_, '_, '_> {
    /// What passes the sieve of a level.
    fn worth_a_look(&self) -> Places {
        let passing = |sieve: &&Sieve<'_>| self.offered.places.both(&sieve.left);
        let mut levels = self.sieves.iter().map(passing);
        let mut worth_a_look = levels.next().unwrap_or_default();
        levels.for_each(|places| worth_a_look.join(&places));
        worth_a_look
    }

    /// Counts what was not tried, and notes what the shelf says to fail. `stopped_at`: what stands
    /// there was the last to be tried.
    fn note_untried(
        &self,
        worth_a_look: &Places,
        stopped_at: Option<usize>,
        on_shelf: OnShelf<'_>,
        selection: &mut Selection,
    ) {
        let (Some(sieve), Some(level)) = (self.sieves.first(), self.levels.first()) else {
            return;
        };
        let up_to = |places: &mut Places| {
            if let Some(place) = stopped_at {
                places.keep(&self.offered.shelf.before(place + 1));
            }
        };
        let mut untried = self.offered.places.without(worth_a_look);
        up_to(&mut untried);
        selection.candidates += untried.count();
        if self.levels.len() > 1 {
            let mut failing = self.offered.places.without(&sieve.left);
            up_to(&mut failing);
            note_failed_on_shelf(on_shelf, sieve, &level.lines, &failing, selection);
        } else {
            // What passes the one sieve was tried.
            note_failed_on_shelf(on_shelf, sieve, &level.lines, &untried, selection);
        }
    }
}

impl<'a, S: TraceSink> Asker<'a, S> {
    /// What of an offer meets the lines of a level; `Err` is how the choice ends where one of the
    /// candidates waits for a reading. Those that fail are counted by the lines of level 0.
    pub(super) fn sift<'p>(
        &mut self,
        choose: &'p Choose,
        offer: Offer<'_>,
        levels: &[&Level<'p>],
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Passing<'a>, Outcome> {
        let mut passing = Passing::default();
        let Some(offered) = offer.on_shelf(self.world, choose) else {
            return Ok(passing);
        };
        let mut sifting = Sifting {
            choose,
            offered: &offered,
            is_order: matches!(offer.source, Source::Order),
            levels,
            sieves: Vec::with_capacity(levels.len()),
        };
        let on_shelf = self.on_shelf(choose, offered.shelf, sifting.is_order);
        for level in levels {
            sifting
                .sieves
                .push(self.sieve_of(choose, level, on_shelf, at));
        }
        let worth_a_look = sifting.worth_a_look();
        passing.make_room(worth_a_look.count());
        let mut stopped = None;
        for place in worth_a_look.iter() {
            let tried = self.try_place(&sifting, place, at, &mut passing, selection);
            if let Err(outcome) = tried {
                stopped = Some((place, outcome));
                break;
            }
        }
        if S::IS_KEPT {
            let stopped_at = stopped.as_ref().map(|(place, _)| *place);
            sifting.note_untried(&worth_a_look, stopped_at, on_shelf, selection);
        }
        match stopped {
            Some((_, outcome)) => Err(outcome),
            None => Ok(passing),
        }
    }

    /// Tries what stands at a place, level by level.
    fn try_place(
        &mut self,
        sifting: &Sifting<'_, 'a, '_>,
        place: usize,
        at: At<'_>,
        passing: &mut Passing<'a>,
        selection: &mut Selection,
    ) -> Result<(), Outcome> {
        let (choose, is_order) = (sifting.choose, sifting.is_order);
        let found = candidate_at(sifting.offered.shelf, self.world, choose, place);
        let Some(mut candidate) = found else {
            return Ok(());
        };
        selection.candidates += 1;
        let levels = sifting.levels.iter().zip(&sifting.sieves);
        for (level, (asked, sieve)) in levels.enumerate() {
            if !sieve.left.has(place) {
                continue;
            }
            let lines = &asked.lines;
            let from = sieve.answered.len();
            let failed = self.first_failed(choose, lines, from, &mut candidate, at, is_order)?;
            let Some(line) = failed else {
                passing.candidates.push(candidate);
                passing.levels.push(level);
                return Ok(());
            };
            if S::IS_KEPT
                && level == 0
                && let Some(line) = lines.get(line)
            {
                let nearer = passing.nearer.entry(line.index).or_default();
                self.note_failed(line, &candidate, nearer, at, selection);
            }
        }
        Ok(())
    }
}
