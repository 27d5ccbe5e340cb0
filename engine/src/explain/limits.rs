//! Limits with their answers, and the cautions that are raised.

use loftwright_dsl::program::{CautionId, LimitId, Node, Value};

use super::decisions::source_text;
use super::sentence;
use super::texts::filled;
use super::view::{Evaluated, View};
use crate::outcome::{Outcome, Place};
use crate::recommendation::{CautionReport, LimitAnswer, LimitReport};
use crate::trace::How;

/// Every limit, for every club it holds for, in the order of evaluation.
pub(crate) fn limit_reports(view: &View<'_>) -> Vec<LimitReport> {
    let report = |entry: &Evaluated<'_>| match entry.place.node {
        Node::Limit(id) => Some(limit_report(view, entry, id)),
        _ => None,
    };
    view.evaluated().iter().filter_map(report).collect()
}

fn limit_report(view: &View<'_>, entry: &Evaluated<'_>, id: LimitId) -> LimitReport {
    let limit = &view.program.limits[id];
    let (answer, text) = match &entry.outcome {
        _ if !in_force(entry) => (
            LimitAnswer::NotAsked,
            Some(format!("not in force on {}", view.today)),
        ),
        Outcome::Decided(Value::Flag(true)) => (LimitAnswer::Holds, None),
        Outcome::Decided(Value::Flag(false)) => {
            let says = (!limit.says.is_empty()).then(|| filled(view, entry.place, &limit.says));
            (LimitAnswer::Broken, says)
        }
        Outcome::DoesNotApply => (LimitAnswer::NotAsked, sentence::of_entry(view, entry)),
        _ => (LimitAnswer::NotKnown, sentence::of_entry(view, entry)),
    };
    LimitReport {
        name: limit.name.clone(),
        club: view.club_of(entry.place),
        answer,
        condition: limit.text.clone(),
        text,
        source: source_text(&limit.origin),
    }
}

/// Whether a limit or caution was in force on the day.
pub(crate) fn in_force(entry: &Evaluated<'_>) -> bool {
    !matches!(entry.how, How::Condition { in_force: false })
}

/// The cautions that are raised; one report for all clubs of which it says the same.
pub(crate) fn caution_reports(view: &View<'_>) -> Vec<CautionReport> {
    let mut reports: Vec<CautionReport> = Vec::new();
    for entry in view.evaluated() {
        let Node::Caution(id) = entry.place.node else {
            continue;
        };
        if !in_force(entry) || *entry.outcome != Outcome::Decided(Value::Flag(true)) {
            continue;
        }
        let report = caution_report(view, entry.place, id);
        let same =
            |known: &&mut CautionReport| known.name == report.name && known.text == report.text;
        match reports.iter_mut().find(same) {
            Some(known) => known.clubs.extend(report.clubs),
            None => reports.push(report),
        }
    }
    reports
}

fn caution_report(view: &View<'_>, place: Place, id: CautionId) -> CautionReport {
    let caution = &view.program.cautions[id];
    CautionReport {
        name: caution.name.clone(),
        clubs: view.club_of(place).into_iter().collect(),
        text: match caution.says.as_slice() {
            [] => caution.text.clone(),
            says => filled(view, place, says),
        },
        source: source_text(&caution.origin),
        at: view.program.works_of(caution).collect(),
    }
}
