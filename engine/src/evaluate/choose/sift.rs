//! Which of the parts on offer meet the lines: first by whole shelves, then one by one.
//!
//! The lines at the head of a choice nearly always compare a field of the part, or what is worked
//! out of it, with a known value, or with one that only the make of the part changes. That is asked
//! of the shelf: once for each value that occurs, whatever the number of parts. Only what is left
//! then becomes a candidate, with settings and lets of its own. A line that could block the choice
//! ends what the shelf answers, so that the first candidate in order that waits for a reading is
//! still the one named.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::rc::Rc;

use loftwright_dsl::program::Choose;

use super::candidate::Candidate;
use super::losers::Losers;
use super::needs::{Line, OfShelf};
use super::offers::{Offer, Offered, Source, candidate_at};
use super::on_shelf::OnShelf;
use super::questions::Level;
use super::settled::{Nearer, Settled};
use crate::evaluate::expression::{Asker, At};
use crate::outcome::Outcome;
use crate::shelf::{Column, Places, Shelf};
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

/// What the shelf says of the lines of a level, of all that stands on it.
pub(super) struct Sieve<'p> {
    /// Whether it is asked for an order.
    is_order: bool,
    /// What passes them, as far as the shelf can say.
    pub(super) left: Places,
    /// The lines that the shelf answers, the first ones.
    pub(super) answered: Vec<Answered<'p>>,
}

/// What the shelves said to the clubs of a choice: who asks the same of one shares the answer.
#[derive(Default)]
pub(in crate::evaluate) struct Sieves<'p> {
    known: Cell<Vec<Rc<Sieve<'p>>>>,
}

impl<'p> Sieves<'p> {
    fn find(&self, is_order: bool, asked: &[&Settled<'p>]) -> Option<Rc<Sieve<'p>>> {
        let known = self.known.take();
        let found = known.iter().find(|sieve| sieve.answers(is_order, asked));
        let found = found.cloned();
        self.known.set(known);
        found
    }

    fn keep(&self, sieve: Sieve<'p>) -> Rc<Sieve<'p>> {
        let sieve = Rc::new(sieve);
        let mut known = self.known.take();
        known.push(Rc::clone(&sieve));
        self.known.set(known);
        sieve
    }
}

/// What the shelf says of a line.
pub(super) struct Answered<'p> {
    /// What fails it first.
    pub(super) failed: Places,
    /// Who was asked what.
    pub(super) asked: Vec<(Places, Settled<'p>)>,
}

impl Sieve<'_> {
    /// Whether it answers these lines, the first ones of a level that the shelf is asked.
    fn answers(&self, is_order: bool, asked: &[&Settled<'_>]) -> bool {
        let mut lines = self.answered.iter().zip(asked);
        self.is_order == is_order
            && self.answered.len() == asked.len()
            && lines.all(|(answered, asked)| match answered.asked.as_slice() {
                [(_, settled)] => settled == *asked,
                _ => false,
            })
    }

    /// The line that a place fails.
    fn line_failed(&self, place: usize) -> Option<usize> {
        if self.left.has(place) {
            return None;
        }
        self.answered
            .iter()
            .position(|answered| answered.failed.has(place))
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
    /// Whether what fails on the shelf is counted there: settings are tried one by one.
    fn counts_by_shelf(&self) -> bool {
        self.choose.in_each.is_none()
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
        let mut worth_a_look = offered.shelf.nothing();
        for level in levels {
            let sieve = self.sieve_of(choose, level, on_shelf, at);
            worth_a_look.join(&sieve.left);
            sifting.sieves.push(sieve);
        }
        worth_a_look.keep(&offered.places);
        passing.make_room(worth_a_look.count());
        let mut untried = offered.places.without(&worth_a_look);
        let mut failing = match sifting.sieves.first() {
            Some(sieve) if sifting.counts_by_shelf() => offered.places.without(&sieve.left),
            _ => untried.clone(),
        };
        let mut stopped = None;
        for place in worth_a_look.iter() {
            let tried = self.try_place(&sifting, place, at, &mut passing, selection);
            if let Err(outcome) = tried {
                untried.keep(&offered.shelf.before(place));
                // What stands at the place itself was tried.
                failing.keep(&offered.shelf.before(place + 1));
                stopped = Some(outcome);
                break;
            }
        }
        let losers = Losers {
            world: self.world,
            choose,
            on_shelf,
        };
        selection.candidates += losers.how_many(&untried);
        if let (true, Some(sieve), Some(level)) =
            (S::IS_KEPT, sifting.sieves.first(), levels.first())
        {
            losers.note(sieve, &level.lines, &failing, selection);
        }
        match stopped {
            Some(outcome) => Err(outcome),
            None => Ok(passing),
        }
    }

    /// What the shelf says of these lines, for an order or for what is there.
    pub(super) fn sieve<'p>(
        &mut self,
        choose: &Choose,
        lines: &[Line<'p>],
        on_shelf: OnShelf<'_>,
        at: At<'_>,
        known: &Sieves<'p>,
    ) -> Rc<Sieve<'p>> {
        let Some(asked) = same_for_all(lines, on_shelf) else {
            return Rc::new(self.new_sieve(choose, lines, on_shelf, at));
        };
        known
            .find(on_shelf.is_order, &asked)
            .unwrap_or_else(|| known.keep(self.new_sieve(choose, lines, on_shelf, at)))
    }

    fn new_sieve<'p>(
        &mut self,
        choose: &Choose,
        lines: &[Line<'p>],
        on_shelf: OnShelf<'_>,
        at: At<'_>,
    ) -> Sieve<'p> {
        let shelf = on_shelf.shelf;
        let mut left = shelf.everything();
        let mut answered = Vec::new();
        for line in lines {
            let Some(of_shelf) = &line.of_shelf else {
                break;
            };
            let Some(column) = on_shelf.column(of_shelf.value) else {
                break;
            };
            let Some(asked) = self.ask_shelf(choose, shelf, line, of_shelf, &left, at) else {
                break;
            };
            let mut passing = shelf.nothing();
            for (places, settled) in &asked {
                let mut of_these = passing_places(shelf, column, settled);
                if on_shelf.is_order && of_shelf.is_of_each_piece {
                    // What is measured on each piece counts as met: it is ordered to measure.
                    of_these.join(&not_known(shelf, column));
                }
                of_these.keep(places);
                passing.join(&of_these);
            }
            let failed = left.without(&passing);
            left.keep(&passing);
            answered.push(Answered { failed, asked });
        }
        Sieve {
            is_order: on_shelf.is_order,
            left,
            answered,
        }
    }

    /// What is to be asked of whom, where the shelf can answer a line: everything is asked the
    /// same, or all that are of one make. What has no answer for one of them is asked of each.
    fn ask_shelf<'p>(
        &mut self,
        choose: &Choose,
        shelf: &Shelf,
        line: &Line<'p>,
        of_shelf: &OfShelf,
        left: &Places,
        at: At<'_>,
    ) -> Option<Vec<(Places, Settled<'p>)>> {
        if let Some(settled) = &line.settled {
            return Some(vec![(left.clone(), settled.clone())]);
        }
        let makes = shelf.alike(left, &of_shelf.beside)?;
        let mut asked = Vec::with_capacity(makes.len());
        for places in makes {
            let mut one = candidate_at(shelf, self.world, choose, places.iter().next()?)?;
            self.compute_lets(choose, line.lets, &mut one, at).ok()?;
            let at = At {
                candidate: Some(&one),
                ..at
            };
            let settled = self.settle_for_the_candidate(&line.needs.condition, at);
            asked.push((places, settled.ok()??));
        }
        Some(asked)
    }

    /// Tries what stands at a place, in each setting.
    fn try_place(
        &mut self,
        sifting: &Sifting<'_, 'a, '_>,
        place: usize,
        at: At<'_>,
        passing: &mut Passing<'a>,
        selection: &mut Selection,
    ) -> Result<(), Outcome> {
        let (world, choose) = (self.world, sifting.choose);
        let Some(candidate) = candidate_at(sifting.offered.shelf, world, choose, place) else {
            return Ok(());
        };
        let mut tried = Ok(());
        candidate.in_each_setting(choose, &mut |candidate| {
            if tried.is_ok() {
                selection.candidates += 1;
                tried = self.lowest_level(sifting, place, candidate, at, passing, selection);
            }
        });
        tried
    }

    /// Tries what stands at a place, in one setting, level by level.
    fn lowest_level(
        &mut self,
        sifting: &Sifting<'_, 'a, '_>,
        place: usize,
        mut candidate: Candidate<'a>,
        at: At<'_>,
        passing: &mut Passing<'a>,
        selection: &mut Selection,
    ) -> Result<(), Outcome> {
        let levels = sifting.levels.iter().zip(&sifting.sieves);
        for (level, (asked, sieve)) in levels.enumerate() {
            let lines = &asked.lines;
            let (failed, is_counted) = match sieve.line_failed(place) {
                Some(line) => (Some(line), sifting.counts_by_shelf()),
                None => {
                    let from = sieve.answered.len();
                    let (choose, is_order) = (sifting.choose, sifting.is_order);
                    let tried =
                        self.first_failed(choose, lines, from, &mut candidate, at, is_order);
                    (tried?, false)
                }
            };
            let Some(line) = failed else {
                passing.candidates.push(candidate);
                passing.levels.push(level);
                return Ok(());
            };
            if S::IS_KEPT
                && !is_counted
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

/// What a shelf is asked of all parts alike by the first lines, those that it answers; `None` where
/// one of them is asked of each make of part.
fn same_for_all<'l, 'p>(
    lines: &'l [Line<'p>],
    on_shelf: OnShelf<'_>,
) -> Option<Vec<&'l Settled<'p>>> {
    let is_answered = |line: &&Line<'_>| {
        let of_shelf = line.of_shelf.as_ref();
        of_shelf.is_some_and(|of_shelf| on_shelf.column(of_shelf.value).is_some())
    };
    let answered = lines.iter().take_while(is_answered);
    answered.map(|line| line.settled.as_ref()).collect()
}

fn passing_places(shelf: &Shelf, column: &Column, settled: &Settled<'_>) -> Places {
    let mut passing = shelf.nothing();
    let Some(aim) = &settled.aim else {
        column.add_where(&mut passing, |value| settled.holds(value));
        return passing;
    };
    for standing in column.passing(&aim.wanted, |value| settled.holds(value)) {
        standing.add_to(&mut passing);
    }
    passing
}

fn not_known(shelf: &Shelf, column: &Column) -> Places {
    let mut known = shelf.nothing();
    column.add_where(&mut known, |_| true);
    shelf.everything().without(&known)
}
