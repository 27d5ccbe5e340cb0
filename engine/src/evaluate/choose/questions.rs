//! What a club asks of the parts: the lines of each level, what a whole shelf says of them, and
//! the ruleset's side of the preferences.
//!
//! None of it rests on what other clubs took or on the family that is tried, so that it is worked
//! out once for a club, when it is first asked for, however often the choice is made. What the
//! shelves say is shared by the clubs that ask the same.

use std::cell::OnceCell;
use std::rc::Rc;

use loftwright_dsl::program::{Choose, RungKind};

use super::needs::Line;
use super::on_shelf::OnShelf;
use super::prefers::{Question, lets_scored};
use super::sieve::{Sieve, Sieves};
use crate::evaluate::algebra::Ended;
use crate::evaluate::expression::{Asker, At};
use crate::outcome::Outcome;
use crate::trace::TraceSink;

/// What one club asks.
pub(super) struct Questions<'p> {
    choose: &'p Choose,
    pub(super) sieves: Rc<Sieves<'p>>,
    /// How many of a candidate's lets its scores and ties need.
    pub(super) lets_scored: usize,
    /// The original needs, then those of each rung; rungs without needs have none.
    levels: Vec<OnceCell<Result<Level<'p>, Outcome>>>,
    /// By preference.
    preferences: Vec<OnceCell<Result<Question<'p>, Ended>>>,
}

/// The lines of a level, and what the shelves say of them.
pub(super) struct Level<'p> {
    pub(super) lines: Vec<Line<'p>>,
    sieves: Rc<Sieves<'p>>,
    on_hand: OnceCell<Rc<Sieve<'p>>>,
    to_order: OnceCell<Rc<Sieve<'p>>>,
}

impl<'p> Questions<'p> {
    /// Nothing asked yet; the clubs of a choice share its sieves.
    pub(super) fn of(choose: &'p Choose, sieves: &Rc<Sieves<'p>>) -> Self {
        Questions {
            choose,
            sieves: Rc::clone(sieves),
            lets_scored: lets_scored(choose),
            levels: std::iter::repeat_with(OnceCell::new)
                .take(choose.rungs.len() + 1)
                .collect(),
            preferences: std::iter::repeat_with(OnceCell::new)
                .take(choose.prefers.len())
                .collect(),
        }
    }
}

impl<S: TraceSink> Asker<'_, S> {
    /// The lines of the original needs, or of a rung; `at` has the candidate of which nothing is
    /// known. `Err` is how the choice ends where the ruleset's side of a line is open.
    pub(super) fn level<'q, 'p>(
        &mut self,
        questions: &'q Questions<'p>,
        rung: Option<usize>,
        at: At<'_>,
    ) -> Result<&'q Level<'p>, Outcome> {
        let choose = questions.choose;
        let place = rung.map_or(0, |rung| rung + 1);
        let Some(level) = questions.levels.get(place) else {
            return Err(Ended::not_checked().into());
        };
        let of_rung = rung.and_then(|rung| match &choose.rungs.get(rung)?.kind {
            RungKind::Needs { replaces, needs } => Some((*replaces, needs.as_ref())),
            RungKind::Orders | RungKind::LeavesOpen => None,
        });
        let level = level.get_or_init(|| {
            Ok(Level {
                lines: self.lines(choose, of_rung, at)?,
                sieves: Rc::clone(&questions.sieves),
                on_hand: OnceCell::new(),
                to_order: OnceCell::new(),
            })
        });
        level.as_ref().map_err(Outcome::clone)
    }

    /// What a shelf says of the lines of a level, for an order or for what is on hand.
    pub(super) fn sieve_of<'q, 'p>(
        &mut self,
        choose: &'p Choose,
        level: &'q Level<'p>,
        on_shelf: OnShelf<'_>,
        at: At<'_>,
    ) -> &'q Sieve<'p> {
        let sieve = if on_shelf.is_order {
            &level.to_order
        } else {
            &level.on_hand
        };
        sieve.get_or_init(|| self.sieve(choose, &level.lines, on_shelf, at, &level.sieves))
    }

    /// What a preference asks of the candidates.
    pub(super) fn preference<'q, 'p>(
        &mut self,
        questions: &'q Questions<'p>,
        index: usize,
        at: At<'_>,
    ) -> Result<&'q Question<'p>, Ended> {
        let prefers = questions.choose.prefers.get(index);
        let (Some(prefers), Some(asked)) = (prefers, questions.preferences.get(index)) else {
            return Err(Ended::not_checked());
        };
        let asked = asked.get_or_init(|| self.asked(prefers, at));
        asked.as_ref().map_err(Ended::clone)
    }
}
