//! A choice from its needs to its outcome: what is on hand, then the ladder, rung by rung.
//!
//! Each rung starts from the original needs with the one line of the same subject replaced. The
//! trace keeps why the original needs left nothing, and the scores of what was taken in the end.

use std::rc::Rc;

use loftwright_dsl::program::{Choose, RungKind};

use super::candidate::{Candidate, seen_from_outside};
use super::family::Family;
use super::losers::note_others;
use super::offers::{Offer, Source};
use super::prefers::better;
use super::questions::{Level, Questions};
use super::sieve::Sieves;
use super::stock::Stock;
use crate::evaluate::expression::{Asker, At};
use crate::outcome::{ChosenPart, Outcome};
use crate::trace::{How, Selection, TraceSink};

impl<'a, S: TraceSink> Asker<'a, S> {
    /// A part for the club at hand; takes it from the stock. The clubs of the choice share its
    /// sieves.
    pub(in crate::evaluate) fn choose<'p>(
        &mut self,
        choose: &'p Choose,
        sieves: &Rc<Sieves<'p>>,
        at: At<'_>,
        stock: &mut Stock,
    ) -> (Outcome, How) {
        if let Some(condition) = &choose.only_when
            && let Some(open) = self.does_not_apply(condition, at)
        {
            return (open, How::OnlyWhen);
        }
        let nobody = Candidate::nobody(self.world, choose);
        let at = At {
            candidate: Some(&nobody),
            ..at
        };
        let questions = Questions::of(choose, sieves);
        let (outcome, selection) = self.choose_in_turn(choose, &questions, None, at, stock);
        (outcome, how::<S>(selection))
    }

    /// A part for the club at hand, where the choice applies, from a family where there is one;
    /// takes it from the stock. `at` has the candidate of which nothing is known.
    pub(super) fn choose_in_turn<'p>(
        &mut self,
        choose: &'p Choose,
        questions: &Questions<'p>,
        family: Option<&Family>,
        at: At<'_>,
        stock: &mut Stock,
    ) -> (Outcome, Selection) {
        let mut selection = Selection::default();
        let ladder = Ladder {
            choose,
            questions,
            family,
            source: match choose.takes {
                Some(count) => Source::Stock(stock, count),
                None => Source::Catalogue,
            },
        };
        let outcome = match self.climb(ladder, at, &mut selection) {
            Ok(outcome) | Err(outcome) => outcome,
        };
        take(choose, &outcome, stock);
        (outcome, selection)
    }

    fn climb(
        &mut self,
        ladder: Ladder<'_, '_>,
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Outcome, Outcome> {
        match self.best(ladder, None, ladder.on_hand(), at, selection)? {
            Some(chosen) => Ok(Outcome::Chosen(chosen)),
            None => self.rungs(ladder, 0, at, selection),
        }
    }

    /// The ladder from a rung on.
    pub(super) fn rungs(
        &mut self,
        ladder: Ladder<'_, '_>,
        from: usize,
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Outcome, Outcome> {
        for (number, rung) in ladder.choose.rungs.iter().enumerate().skip(from) {
            // Why nothing was found the first time stays in the trace.
            let mut of_rung = Selection::default();
            let (found, is_ordered) = match &rung.kind {
                RungKind::Needs { .. } => {
                    let on_hand = ladder.on_hand();
                    let found = self.best(ladder, Some(number), on_hand, at, &mut of_rung)?;
                    (found, false)
                }
                RungKind::Orders => {
                    let to_order = ladder.to_order();
                    (self.best(ladder, None, to_order, at, &mut of_rung)?, true)
                }
                RungKind::LeavesOpen => return Ok(Outcome::LeftOpen),
            };
            if let Some(mut chosen) = found {
                selection.scores = of_rung.scores;
                selection.total = of_rung.total;
                selection.runners_up = of_rung.runners_up;
                selection.not_weighed = of_rung.not_weighed;
                chosen.rung = Some(number);
                return Ok(if is_ordered {
                    Outcome::Ordered(chosen)
                } else {
                    Outcome::Chosen(chosen)
                });
            }
        }
        Ok(Outcome::NoneOnHand)
    }

    /// The best candidate that meets the original needs, or those of a rung.
    fn best(
        &mut self,
        ladder: Ladder<'_, '_>,
        rung: Option<usize>,
        offer: Offer<'_>,
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Option<Box<ChosenPart>>, Outcome> {
        let level = self.level(ladder.questions, rung, at)?;
        let was_recording = std::mem::replace(&mut self.is_recording, false);
        let found = self.tried(ladder, level, offer, at, selection);
        self.is_recording = was_recording;
        match found? {
            Some(candidate) => self.taken(ladder.choose, candidate, None, at).map(Some),
            None => Ok(None),
        }
    }

    /// What a candidate is as an outcome, all of its lets computed.
    pub(super) fn taken(
        &mut self,
        choose: &Choose,
        mut candidate: Candidate<'a>,
        rung: Option<usize>,
        at: At<'_>,
    ) -> Result<Box<ChosenPart>, Outcome> {
        if S::IS_KEPT {
            // Asked again, so that the trace has the models behind what is taken.
            candidate.lets.clear();
        }
        self.compute_lets(choose, choose.lets.len(), &mut candidate, at)?;
        Ok(Box::new(ChosenPart {
            part: candidate.part,
            piece: candidate.piece,
            setting: candidate.setting,
            lets: candidate.lets.into_iter().map(seen_from_outside).collect(),
            rung,
        }))
    }

    fn tried<'p>(
        &mut self,
        ladder: Ladder<'_, 'p>,
        level: &Level<'p>,
        offer: Offer<'_>,
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Option<Candidate<'a>>, Outcome> {
        let choose = ladder.choose;
        let mut candidates = self
            .sift(choose, offer, &[level], at, selection)?
            .candidates;
        let lets = ladder.questions.lets_scored;
        for candidate in &mut candidates {
            self.compute_lets(choose, lets, candidate, at)?;
        }
        let questions = ladder.questions;
        let totals = self.score(choose, questions, &candidates, at, selection)?;
        let order =
            |left: &usize, right: &usize| better(&choose.ties, &candidates, &totals, *left, *right);
        let Some(best) = (0..candidates.len()).min_by(order) else {
            return Ok(None);
        };
        selection.total = totals.get(best).copied();
        if S::IS_KEPT {
            note_others(&candidates, &totals, Some(best), order, selection);
        }
        let best = candidates.into_iter().nth(best);
        if let (true, Some(best)) = (S::IS_KEPT, &best) {
            let not_weighed = &selection.not_weighed;
            selection.scores = self.scores_by_line(choose, questions, best, at, not_weighed);
        }
        Ok(best)
    }
}

/// A choice with what it chooses from.
#[derive(Clone, Copy)]
pub(super) struct Ladder<'s, 'p> {
    pub(super) choose: &'p Choose,
    pub(super) questions: &'s Questions<'p>,
    pub(super) family: Option<&'s Family>,
    /// What is on hand; the catalogue, where nothing is taken from the stock.
    pub(super) source: Source<'s>,
}

impl<'s> Ladder<'s, '_> {
    fn on_hand(self) -> Offer<'s> {
        Offer {
            source: self.source,
            family: self.family,
        }
    }

    fn to_order(self) -> Offer<'s> {
        Offer {
            source: Source::Order,
            family: self.family,
        }
    }
}

/// Takes what was chosen from the stock.
pub(super) fn take(choose: &Choose, outcome: &Outcome, stock: &mut Stock) {
    if let (Outcome::Chosen(chosen), Some(count)) = (outcome, choose.takes) {
        stock.take(choose.part, chosen.item(), count);
    }
}

/// A selection as the trace keeps it.
pub(super) fn how<S: TraceSink>(selection: Selection) -> How {
    if S::IS_KEPT {
        How::Selection(Box::new(selection))
    } else {
        How::Plain
    }
}
