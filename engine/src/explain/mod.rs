//! The answer rendered from the facts: why each decision came out, what is missing, how sure it is.
//!
//! Nothing is decided here. A [`Recommendation`] is read from an evaluation and its trace with the
//! texts of the program; how sure it is, [`crate::sure`] finds by evaluating again with readings
//! moved. `view::View` gathers what all of it looks at, `sentence` has the sentences for what is
//! not settled.

mod beyond;
mod brief;
mod clubs;
mod decisions;
mod expressions;
mod failures;
mod groups;
mod inquiry;
mod leaves;
mod limits;
mod missing;
mod names;
mod part_build;
mod plan;
mod readings;
mod reads;
mod selection;
mod sentence;
mod sharing;
mod steps;
mod texts;
mod value;
mod view;
mod words;

use loftwright_dsl::program::{Layer, Node};
use loftwright_dsl::quantity::Date;

use crate::SEMANTICS_VERSION;
use crate::evaluate::{Evaluation, Evaluator};
use crate::outcome::Outcome;
use crate::parts::Parts;
use crate::picture::{self, Pictures};
use crate::player::Player;
use crate::recommendation::Recommendation;
use crate::sure::{Depth, how_sure};
use crate::trace::CompactTrace;

pub use brief::{Brief, Briefing, Briefings};
pub(crate) use decisions::{causes_of, value_of};
pub(crate) use expressions::of_choose as expressions_of_choose;
pub use inquiry::{
    CandidateReport, CandidateStanding, Inquiry, LineScore, RowReport, RowStanding, TableReport,
};
pub(crate) use limits::in_force;
pub(crate) use part_build::{code_text, setting_texts};
pub(crate) use reads::Reads;
pub(crate) use sentence::of_entry as unsettled_sentence;
pub(crate) use sentence::of_other_side;
pub(crate) use steps::of_entry as step_reports;
pub use value::shown_value;
pub(crate) use view::{Evaluated, View};
pub(crate) use words::{listed, quoted};

/// The answer for a player: the bag with its reasons, and how sure it is.
///
/// `evaluation` and `trace` are of the evaluator's program with these parts, this player and this
/// day. The same arguments give the same answer, byte for byte.
pub fn recommendation(
    evaluator: &Evaluator<'_>,
    parts: &Parts,
    player: &Player,
    today: Date,
    (evaluation, trace): (&Evaluation, &CompactTrace),
    depth: Depth,
) -> Recommendation {
    let program = evaluator.program();
    let view = View::new(program, parts, player, today, evaluation, trace);
    let sure = how_sure(&view, evaluator, evaluation, depth);
    Recommendation {
        ruleset: Layer {
            name: program.name.clone(),
            title: program.title.clone(),
        },
        digests: program.digests.clone(),
        contract_version: program.contract_version,
        semantics_version: SEMANTICS_VERSION,
        hand: hand(&view),
        clubs: clubs::builds(&view),
        plan: plan::plan_report(&view),
        decisions: decisions::reports(&view, sure.sureness),
        limits: limits::limit_reports(&view),
        cautions: limits::caution_reports(&view),
        missing: missing::missing_readings(&view),
        assumed: missing::assumed_readings(&view),
        borderline: sure.borderline,
        next_reading: sure.next_reading,
    }
}

/// The player's hand, where it is known: a reading, or what the rules make of one.
fn hand(view: &View<'_>) -> Option<String> {
    let entry = view.evaluated().iter().find(|entry| {
        entry.place.member.is_none() && view.name_of(entry.place.node) == "player_hand"
    })?;
    let Outcome::Decided(value) = &entry.outcome else {
        return None;
    };
    let (value_type, shown) = match entry.place.node {
        Node::Input(id) => {
            let input = &view.program.inputs[id];
            (input.value_type, &input.shown)
        }
        Node::Decision(id) => {
            let decision = &view.program.decisions[id];
            (decision.value_type, &decision.shown)
        }
        _ => return None,
    };
    Some(shown_value(view.program, value_type, shown, value).text)
}

/// What can be drawn of an answer; the arguments as for [`recommendation`], and the answer itself.
pub(crate) fn pictures(
    evaluator: &Evaluator<'_>,
    parts: &Parts,
    player: &Player,
    today: Date,
    (evaluation, trace): (&Evaluation, &CompactTrace),
    recommendation: &Recommendation,
) -> Pictures {
    let program = evaluator.program();
    let view = View::new(program, parts, player, today, evaluation, trace);
    picture::pictures(&view, &recommendation.borderline)
}
