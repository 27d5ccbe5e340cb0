//! What every decision and choice came to, without the reasons: what is held against another
//! evaluation of the same player.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Node, Program};
use loftwright_dsl::quantity::Date;

use super::decisions::{self, ending_of, value_of};
use super::view::View;
use crate::evaluate::{Evaluation, Evaluator};
use crate::parts::Parts;
use crate::player::Player;
use crate::recommendation::{DecisionReport, Ending, ShownValue};
use crate::trace::{CompactTrace, Entry};

/// What one decision or choice came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brief<'a> {
    /// Its name in the ruleset.
    pub name: &'a str,
    /// The club, where it is decided for each.
    pub club: Option<String>,
    /// How it ended.
    pub ending: Ending,
    /// The value, or the part's code.
    pub value: Option<ShownValue>,
}

/// One evaluation, and what it is told from.
pub struct Briefing<'a> {
    program: &'a Program,
    parts: &'a Parts,
    player: &'a Player,
    today: Date,
    evaluation: Evaluation,
    trace: CompactTrace,
}

impl<'a> Briefing<'a> {
    /// Evaluates.
    pub fn of(
        evaluator: &Evaluator<'a>,
        parts: &'a Parts,
        player: &'a Player,
        today: Date,
    ) -> Self {
        let mut trace = CompactTrace::default();
        let evaluation = evaluator.evaluate(parts, player, today, &mut trace);
        Briefing {
            program: evaluator.program(),
            parts,
            player,
            today,
            evaluation,
            trace,
        }
    }

    fn view(&self) -> View<'_> {
        View::new(
            self.program,
            self.parts,
            self.player,
            self.today,
            &self.evaluation,
            &self.trace,
        )
    }

    /// What every decision and choice came to, as far as a recommendation tells it, in its order.
    pub fn briefs(&self) -> Vec<Brief<'a>> {
        let view = self.view();
        let told = decisions::told(&view);
        let entries = self.trace.entries.iter().filter(|entry| told(&entry.place));
        let brief = |entry| brief(self.program, &view, entry);
        entries.filter_map(brief).collect()
    }

    /// The same with the reasons, without how sure each is.
    pub fn reports(&self) -> Vec<DecisionReport> {
        decisions::reports(&self.view(), BTreeMap::new())
    }
}

fn brief<'a>(program: &'a Program, view: &View<'_>, entry: &Entry) -> Option<Brief<'a>> {
    let node = entry.place.node;
    matches!(node, Node::Decision(_) | Node::Choose(_)).then(|| Brief {
        name: program.name_of(node),
        club: view.club_of(entry.place),
        ending: ending_of(&entry.outcome),
        value: value_of(view, entry),
    })
}
