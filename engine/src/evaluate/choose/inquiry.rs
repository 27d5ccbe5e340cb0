//! Candidates that somebody asks for by name, tried once more after the fact.
//!
//! Lines and scores are those of the choice itself: nothing of how a part is chosen is said twice.
//! What other clubs took plays no part here; whoever asks looks at the outcomes for that.

use std::rc::Rc;

use loftwright_dsl::program::{Choose, Expression, Needs, Node};
use loftwright_dsl::quantity::{Date, Rational};

use super::candidate::Candidate;
use super::questions::Questions;
use crate::evaluate::expression::{Along, Asker, At};
use crate::evaluate::prepare::Evaluator;
use crate::evaluate::state::Evaluation;
use crate::outcome::{Outcome, Place, State};
use crate::parts::{OnHand, Parts};
use crate::player::Player;
use crate::shelf::Item;
use crate::trace::{CompactTrace, Selection, TraceSink};

/// What is asked of a choice.
pub(crate) struct Asked<'q> {
    /// The choice, and the club.
    pub(crate) place: Place,
    /// The rung of the ladder whose needs are to be met; the original ones where it has none.
    pub(crate) rung: Option<usize>,
    /// What is tried.
    pub(crate) items: &'q [Item],
    /// Whether what is measured on each piece counts as met, as for a piece that is ordered.
    pub(crate) to_order: bool,
}

/// A candidate that was tried, in one of its settings where it has several.
#[derive(Clone, Debug)]
pub(crate) struct Tried<'p> {
    pub(crate) item: Item,
    pub(crate) setting: Option<usize>,
    pub(crate) came_to: CameTo<'p>,
}

/// What trying came to.
#[derive(Clone, Debug)]
pub(crate) enum CameTo<'p> {
    /// It fails a line.
    Fails {
        /// Which, counted from 0.
        line: usize,
        needs: &'p Needs,
        /// What the parts of the condition that name something are, in the order written.
        named: Vec<State>,
    },
    /// It meets all of them.
    Meets {
        /// The score of each preference; `None` where the line was not weighed.
        scores: Vec<Option<Rational>>,
        total: Rational,
    },
}

impl<'a> Evaluator<'a> {
    /// Tries candidates of a choice of this evaluator's program. `named` says which parts of a
    /// condition name something.
    ///
    /// # Errors
    /// How the choice ends where the ruleset's side of a line is open.
    pub(crate) fn try_again(
        &'a self,
        evaluation: &'a Evaluation,
        (parts, player, today): (&'a Parts, &'a Player, Date),
        asked: &Asked<'_>,
        named: &dyn Fn(&'a Expression) -> Vec<&'a Expression>,
    ) -> Result<Vec<Tried<'a>>, Outcome> {
        let Node::Choose(id) = asked.place.node else {
            return Ok(Vec::new());
        };
        let choose = &self.program().chooses[id];
        let world = self.world(parts, player, today);
        // Models that are asked on the way are nobody's: they are not recorded.
        let mut nowhere = CompactTrace::default();
        let mut asker = Asker::new(world, evaluation, &mut nowhere, asked.place);
        asker.is_recording = false;
        let each = choose.for_each.as_ref();
        let order = each.map_or_else(Vec::new, |each| {
            let size = evaluation.members(each.group).map_or(0, <[_]>::len);
            asker.order_along(each, size)
        });
        asker.turn_to(asked.place.member);
        let club = each.map(|each| each.group).zip(asked.place.member);
        let position = order
            .iter()
            .position(|club| Some(*club) == asked.place.member);
        let at = At {
            club,
            along: position.map(|position| Along {
                order: &order,
                position,
            }),
            ..At::default()
        };
        asker.try_items(choose, asked, at, named)
    }
}

impl<'a, S: TraceSink> Asker<'a, S> {
    fn try_items<'p>(
        &mut self,
        choose: &'p Choose,
        asked: &Asked<'_>,
        at: At<'_>,
        named: &dyn Fn(&'p Expression) -> Vec<&'p Expression>,
    ) -> Result<Vec<Tried<'p>>, Outcome> {
        let nobody = Candidate::nobody(self.world, choose);
        let at = At {
            candidate: Some(&nobody),
            ..at
        };
        let questions = Questions::of(choose, &Rc::default());
        let lines = &self.level(&questions, asked.rung, at)?.lines;
        let mut tried = Vec::new();
        let mut meeting = Vec::new();
        for mut candidate in self.candidates_of(choose, asked.items) {
            let item = Item {
                part: candidate.part,
                piece: candidate.piece,
            };
            let failed = self.first_failed(choose, lines, 0, &mut candidate, at, asked.to_order)?;
            let Some(line) = failed.and_then(|place| lines.get(place)) else {
                self.compute_lets(choose, questions.lets_scored, &mut candidate, at)?;
                meeting.push(candidate);
                continue;
            };
            let of_candidate = At {
                candidate: Some(&candidate),
                ..at
            };
            let mut states = Vec::new();
            for expression in named(&line.needs.condition) {
                states.push(self.of_candidate(expression, of_candidate)?);
            }
            tried.push(Tried {
                item,
                setting: candidate.setting,
                came_to: CameTo::Fails {
                    line: line.index,
                    needs: line.needs,
                    named: states,
                },
            });
        }
        let mut selection = Selection::default();
        let totals = self.score(choose, &questions, &meeting, at, &mut selection)?;
        for (candidate, total) in meeting.iter().zip(totals) {
            let not_weighed = &selection.not_weighed;
            let scores = self.scores_by_line(choose, &questions, candidate, at, not_weighed);
            tried.push(Tried {
                item: Item {
                    part: candidate.part,
                    piece: candidate.piece,
                },
                setting: candidate.setting,
                came_to: CameTo::Meets { scores, total },
            });
        }
        Ok(tried)
    }

    /// The items as candidates, each in each of its settings.
    fn candidates_of(&self, choose: &Choose, items: &[Item]) -> Vec<Candidate<'a>> {
        let mut found = Vec::new();
        for item in items {
            let Some(record) = self.world.parts.of(choose.part).get(item.part) else {
                continue;
            };
            let part = Candidate::of_part(self.world, choose.part, item.part, record).tried();
            let candidate = match (item.piece, &record.on_hand) {
                (Some(index), OnHand::Pieces(pieces)) => match pieces.get(index) {
                    Some(piece) => part.with_piece(index, &piece.fields),
                    None => continue,
                },
                _ => part,
            };
            candidate.in_each_setting(choose, &mut |candidate| found.push(candidate));
        }
        found
    }
}
