//! What whole shelves say of the lines of a choice: a sieve.
//!
//! The lines at the head of a choice nearly always compare a field of the part, or what is worked
//! out of it, with a known value, or with one that only the make of the part changes. That is asked
//! of the shelf: once for each value that occurs, whatever the number of parts. A line that could
//! block the choice ends what the shelf answers, so that the first candidate in order that waits
//! for a reading is still the one named.

use std::cell::Cell;
use std::rc::Rc;

use loftwright_dsl::program::Choose;

use super::needs::{Line, OfShelf};
use super::offers::candidate_at;
use super::on_shelf::OnShelf;
use super::settled::Settled;
use crate::evaluate::expression::{Asker, At};
use crate::places::Places;
use crate::shelf::{Column, Passing, Shelf};
use crate::trace::TraceSink;

/// What the shelf says of the lines of a level, of all that stands on it.
pub(super) struct Sieve<'p> {
    /// Whether it is asked for an order.
    is_order: bool,
    /// What passes them, as far as the shelf can say.
    pub(super) left: Places,
    /// The lines that the shelf answers, the first ones.
    pub(super) answered: Vec<Answered<'p>>,
}

/// What the shelf says of a line.
pub(super) struct Answered<'p> {
    /// What fails it first.
    pub(super) failed: Places,
    pub(super) asked: Vec<Asked<'p>>,
}

/// What was asked of whom.
pub(super) struct Asked<'p> {
    pub(super) places: Places,
    pub(super) settled: Settled<'p>,
    /// Which values pass, where what is asked has an aim.
    pub(super) passing: Option<Passing>,
}

impl<'p> Asked<'p> {
    fn of(places: Places, settled: Settled<'p>, column: &Column) -> Self {
        let aim = settled.aim.as_ref();
        let passing = aim.map(|aim| column.passing(&aim.wanted, |value| settled.holds(value)));
        Asked {
            places,
            settled,
            passing,
        }
    }

    /// The places of what passes, asked or not.
    fn passing_places(&self, shelf: &Shelf, column: &Column) -> Places {
        let mut places = shelf.nothing();
        match &self.passing {
            Some(passing) => column.add_passing(&mut places, passing),
            None => column.add_where(&mut places, |value| self.settled.holds(value)),
        }
        places
    }
}

impl Sieve<'_> {
    /// Whether it answers these lines, the first ones of a level that the shelf is asked.
    fn answers(&self, is_order: bool, asked: &[&Settled<'_>]) -> bool {
        let mut lines = self.answered.iter().zip(asked);
        self.is_order == is_order
            && self.answered.len() == asked.len()
            && lines.all(|(answered, asked)| match answered.asked.as_slice() {
                [one] => one.settled == **asked,
                _ => false,
            })
    }
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

impl<S: TraceSink> Asker<'_, S> {
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
            let Some(asked) = self.ask_shelf(choose, (shelf, column), line, of_shelf, &left, at)
            else {
                break;
            };
            let mut passing = shelf.nothing();
            for asked in &asked {
                let mut of_these = asked.passing_places(shelf, column);
                if on_shelf.is_order && of_shelf.is_of_each_piece {
                    // What is measured on each piece counts as met: it is ordered to measure.
                    of_these.join(&not_known(shelf, column));
                }
                of_these.keep(&asked.places);
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
        (shelf, column): (&Shelf, &Column),
        line: &Line<'p>,
        of_shelf: &OfShelf,
        left: &Places,
        at: At<'_>,
    ) -> Option<Vec<Asked<'p>>> {
        if let Some(settled) = &line.settled {
            return Some(vec![Asked::of(left.clone(), settled.clone(), column)]);
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
            asked.push(Asked::of(places, settled.ok()??, column));
        }
        Some(asked)
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

fn not_known(shelf: &Shelf, column: &Column) -> Places {
    let mut known = shelf.nothing();
    column.add_where(&mut known, |_| true);
    shelf.everything().without(&known)
}
