//! What was *not* decided: asked for by name, after the fact.
//!
//! An answer says why each decision came out as it did. Whoever asks why another row, another part
//! or another piece was not taken asks an [`Inquiry`]: one evaluation that is kept to be looked
//! into. The same program, parts, player and day come to the same facts as the answer did, so that
//! what is said here fits what was answered. Nothing is decided.

mod candidates;
mod rows;
mod words;

use loftwright_dsl::program::{Node, Program};
use loftwright_dsl::quantity::Date;

use super::recommendation;
use super::view::{Evaluated, View};
use crate::evaluate::{Evaluation, Evaluator};
use crate::parts::Parts;
use crate::picture::{self, Bands};
use crate::player::Player;
use crate::recommendation::{Borderline, Recommendation};
use crate::sure::Depth;
use crate::trace::CompactTrace;

pub use candidates::{CandidateReport, CandidateStanding, LineScore};
pub use rows::{RowReport, RowStanding, TableReport};

/// One evaluation, kept to be asked.
pub struct Inquiry<'a> {
    evaluator: &'a Evaluator<'a>,
    parts: &'a Parts,
    player: &'a Player,
    today: Date,
    evaluation: Evaluation,
    trace: CompactTrace,
}

impl<'a> Inquiry<'a> {
    /// Evaluates.
    pub fn of(
        evaluator: &'a Evaluator<'a>,
        parts: &'a Parts,
        player: &'a Player,
        today: Date,
    ) -> Self {
        let mut trace = CompactTrace::default();
        let evaluation = evaluator.evaluate(parts, player, today, &mut trace);
        Inquiry {
            evaluator,
            parts,
            player,
            today,
            evaluation,
            trace,
        }
    }

    /// The answer, with as much about how sure it is as `depth` says.
    pub fn recommendation(&self, depth: Depth) -> Recommendation {
        let facts = (&self.evaluation, &self.trace);
        recommendation(
            self.evaluator,
            self.parts,
            self.player,
            self.today,
            facts,
            depth,
        )
    }

    /// The rows of a decision and what ruled each out, table by table; `None` where there is no
    /// such decision for the club.
    pub fn rows(&self, decision: &str, club: Option<&str>) -> Option<Vec<TableReport>> {
        let view = self.view();
        let entry = entry_of(&view, decision, club)?;
        rows::tables(&view, entry)
    }

    /// What ruled out each candidate of a choice that has this code: that of a part, of a piece, or
    /// both as `PART / PIECE`. `None` where there is no such choice for the club; nothing in it
    /// where no part has the code.
    pub fn candidates(
        &self,
        choice: &str,
        club: Option<&str>,
        code: &str,
    ) -> Option<Vec<CandidateReport>> {
        let view = self.view();
        let entry = entry_of(&view, choice, club)?;
        let Node::Choose(id) = entry.place.node else {
            return None;
        };
        Some(candidates::reports(self, &view, entry, id, code))
    }

    /// The bands of a decision along each column that one of these inputs moves, with the reading
    /// and its spread on them.
    pub fn bands(&self, decision: &str, club: Option<&str>, inputs: &[&str]) -> Vec<Bands> {
        let near = |input: &&str| Borderline {
            decision: decision.to_owned(),
            club: club.map(str::to_owned),
            input: (*input).to_owned(),
            ..Borderline::default()
        };
        let wanted: Vec<Borderline> = inputs.iter().map(near).collect();
        picture::bands_of(&self.view(), &wanted)
    }

    fn view(&self) -> View<'_> {
        let program: &Program = self.evaluator.program();
        View::new(
            program,
            self.parts,
            self.player,
            self.today,
            &self.evaluation,
            &self.trace,
        )
    }
}

impl std::fmt::Debug for Inquiry<'_> {
    /// Nothing of the player.
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Inquiry").finish_non_exhaustive()
    }
}

fn entry_of<'v, 'a>(
    view: &'v View<'a>,
    name: &str,
    club: Option<&str>,
) -> Option<&'v Evaluated<'a>> {
    view.evaluated().iter().find(|entry| {
        let is_decided = matches!(entry.place.node, Node::Decision(_) | Node::Choose(_));
        is_decided
            && view.name_of(entry.place.node) == name
            && view.club_of(entry.place).as_deref() == club
    })
}
