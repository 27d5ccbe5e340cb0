//! A choice from its needs to its outcome: what is on hand, then the ladder, rung by rung.
//!
//! Each rung starts from the original needs with the one line of the same subject replaced. The
//! trace keeps why the original needs left nothing, and the scores of what was taken in the end.

use loftwright_dsl::program::{Choose, RungKind};

use super::candidate::{Candidate, seen_from_outside};
use super::losers::note_scores;
use super::needs::Line;
use super::offers::{Source, each_candidate};
use super::prefers::{better, lets_scored};
use super::stock::Stock;
use crate::evaluate::expression::{Asker, At};
use crate::outcome::{ChosenPart, Outcome};
use crate::trace::{How, Selection, TraceSink};

impl<'a, S: TraceSink> Asker<'a, S> {
    /// A part for the club at hand; takes it from the stock.
    pub(in crate::evaluate) fn choose(
        &mut self,
        choose: &Choose,
        at: At<'_>,
        stock: &mut Stock,
    ) -> (Outcome, How) {
        if let Some(condition) = &choose.only_when
            && let Some(open) = self.does_not_apply(condition, at)
        {
            return (open, How::OnlyWhen);
        }
        let mut selection = Selection::default();
        let outcome = self.select(choose, at, stock, &mut selection);
        if let (Outcome::Chosen(chosen), Some(count)) = (&outcome, choose.takes) {
            stock.take(choose.part, chosen.part, chosen.piece, count);
        }
        let how = if S::IS_KEPT {
            How::Selection(Box::new(selection))
        } else {
            How::Plain
        };
        (outcome, how)
    }

    fn select(
        &mut self,
        choose: &Choose,
        at: At<'_>,
        stock: &Stock,
        selection: &mut Selection,
    ) -> Outcome {
        let source = match choose.takes {
            Some(count) => Source::Stock(stock, count),
            None => Source::Catalogue,
        };
        match self.climb(choose, at, source, selection) {
            Ok(outcome) | Err(outcome) => outcome,
        }
    }

    fn climb(
        &mut self,
        choose: &Choose,
        at: At<'_>,
        source: Source<'_>,
        selection: &mut Selection,
    ) -> Result<Outcome, Outcome> {
        let nobody = Candidate::nobody(self.world, choose);
        let at = At {
            candidate: Some(&nobody),
            ..at
        };
        let lines = self.lines(choose, None, at)?;
        let found = self.best(choose, &lines, source, at, selection)?;
        if let Some(chosen) = found {
            return Ok(Outcome::Chosen(chosen));
        }
        for (number, rung) in choose.rungs.iter().enumerate() {
            // Why nothing was found the first time stays in the trace.
            let mut of_rung = Selection::default();
            let (found, is_ordered) = match &rung.kind {
                RungKind::Needs { replaces, needs } => {
                    let lines = self.lines(choose, Some((*replaces, needs)), at)?;
                    (self.best(choose, &lines, source, at, &mut of_rung)?, false)
                }
                RungKind::Orders => (
                    self.best(choose, &lines, Source::Order, at, &mut of_rung)?,
                    true,
                ),
                RungKind::LeavesOpen => return Ok(Outcome::LeftOpen),
            };
            if let Some(chosen) = found {
                selection.scores = of_rung.scores;
                selection.total = of_rung.total;
                selection.runners_up = of_rung.runners_up;
                selection.not_weighed = of_rung.not_weighed;
                let chosen = ChosenPart {
                    rung: Some(number),
                    ..chosen
                };
                return Ok(if is_ordered {
                    Outcome::Ordered(chosen)
                } else {
                    Outcome::Chosen(chosen)
                });
            }
        }
        Ok(Outcome::NoneOnHand)
    }

    /// The best candidate that meets the lines.
    fn best(
        &mut self,
        choose: &Choose,
        lines: &[Line<'_>],
        source: Source<'_>,
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Option<ChosenPart>, Outcome> {
        let was_recording = std::mem::replace(&mut self.is_recording, false);
        let found = self.tried(choose, lines, source, at, selection);
        self.is_recording = was_recording;
        let Some(mut candidate) = found? else {
            return Ok(None);
        };
        if S::IS_KEPT {
            // Asked again, so that the trace has the models behind what is taken.
            candidate.lets.clear();
        }
        self.compute_lets(choose, choose.lets.len(), &mut candidate, at)?;
        Ok(Some(ChosenPart {
            part: candidate.part,
            piece: candidate.piece,
            setting: candidate.setting,
            lets: candidate.lets.into_iter().map(seen_from_outside).collect(),
            rung: None,
        }))
    }

    fn tried(
        &mut self,
        choose: &Choose,
        lines: &[Line<'_>],
        source: Source<'_>,
        at: At<'_>,
        selection: &mut Selection,
    ) -> Result<Option<Candidate<'a>>, Outcome> {
        let world = self.world;
        let mut candidates: Vec<Candidate<'a>> = Vec::new();
        let mut stopped = None;
        each_candidate(world, choose, source, |mut candidate| {
            if stopped.is_some() {
                return;
            }
            selection.candidates += 1;
            let is_order = matches!(source, Source::Order);
            match self.first_failed(choose, lines, &mut candidate, at, is_order) {
                Ok(None) => candidates.push(candidate),
                Ok(Some(line)) => {
                    if let (true, Some(line)) = (S::IS_KEPT, lines.get(line)) {
                        self.note_failed(line, &candidate, at, selection);
                    }
                }
                Err(outcome) => stopped = Some(outcome),
            }
        });
        if let Some(outcome) = stopped {
            return Err(outcome);
        }
        let lets = lets_scored(choose);
        for candidate in &mut candidates {
            self.compute_lets(choose, lets, candidate, at)?;
        }
        let scores = self.score(choose, &candidates, at, selection)?;
        let order = |left: &usize, right: &usize| {
            better(&choose.ties, &candidates, &scores.totals, *left, *right)
        };
        let Some(best) = (0..candidates.len()).min_by(order) else {
            return Ok(None);
        };
        if S::IS_KEPT {
            note_scores(choose, &candidates, &scores, best, selection);
        }
        Ok(candidates.into_iter().nth(best))
    }
}
