//! How a part was chosen, step by step: what failed, what was preferred, who came next.

use loftwright_dsl::program::{Choose, Node, Prefers, Rung, RungKind};

use loftwright_dsl::quantity::{Rational, Rounding};

use super::failures::failed_lines;
use super::part_build::code_text;
use super::sharing;
use super::view::{Evaluated, View};
use super::words::quoted;
use crate::outcome::{ChosenPart, Outcome};
use crate::recommendation::StepReport;
use crate::trace::{RunnerUp, Selection};

/// How many of those that came next are told.
const RUNNERS_UP_SHOWN: usize = 3;

/// The steps of a choice.
pub(crate) fn steps(
    view: &View<'_>,
    entry: &Evaluated<'_>,
    selection: &Selection,
) -> Vec<StepReport> {
    let Node::Choose(id) = entry.place.node else {
        return Vec::new();
    };
    let choose = &view.program.chooses[id];
    let mut steps = sharing::families(view, choose, selection);
    steps.push(candidates_step(view, choose, selection));
    steps.extend(selection.together.map(sharing::assignment));
    let (Outcome::Chosen(chosen) | Outcome::Ordered(chosen)) = &entry.outcome else {
        return steps;
    };
    steps.extend(rung_step(choose, chosen));
    for (index, prefers) in choose.prefers.iter().enumerate() {
        steps.push(preference_step(selection, index, prefers));
    }
    let rule = match selection.together {
        Some(_) => "all clubs share the stock together",
        None => "the highest sum of scores",
    };
    steps.push(StepReport {
        rule: rule.to_owned(),
        value: Some(match selection.total {
            Some(total) => format!(
                "{}, score {}",
                code_text(view, choose.part, chosen.part, chosen.piece),
                score_text(total)
            ),
            None => code_text(view, choose.part, chosen.part, chosen.piece),
        }),
        ..StepReport::default()
    });
    let next = selection.runners_up.iter().take(RUNNERS_UP_SHOWN);
    steps.extend(next.map(|runner_up| runner_up_step(view, choose, runner_up)));
    steps
}

fn candidates_step(view: &View<'_>, choose: &Choose, selection: &Selection) -> StepReport {
    let lines = failed_lines(view, choose, selection);
    let count = selection.candidates;
    let part = &view.program.parts[choose.part];
    let looked_at = match count {
        0 => format!("no {} is on hand", part.name),
        1 => format!("1 candidate of {}", part.plural),
        _ => format!("{count} candidates of {}", part.plural),
    };
    StepReport {
        rule: match lines.as_slice() {
            [] => looked_at,
            lines => format!("{looked_at}: {}", lines.join(", ")),
        },
        ..StepReport::default()
    }
}

/// What the ladder did, where it led to the part.
fn rung_step(choose: &Choose, chosen: &ChosenPart) -> Option<StepReport> {
    let rung: &Rung = choose.rungs.get(chosen.rung?)?;
    let (rule, because) = match &rung.kind {
        RungKind::Needs { needs, .. } => (
            format!("if none on hand, needs {}", needs.text),
            needs.because.clone(),
        ),
        RungKind::Orders => ("if none on hand, orders".to_owned(), None),
        RungKind::LeavesOpen => ("if none on hand, leaves open".to_owned(), None),
    };
    Some(StepReport {
        rule,
        value: rung.says.clone(),
        because,
        ..StepReport::default()
    })
}

fn preference_step(selection: &Selection, index: usize, prefers: &Prefers) -> StepReport {
    let weight = prefers.weight.to_text();
    let score = selection.scores.get(index).copied().flatten();
    let value = if selection.not_weighed.contains(&index) {
        "not weighed: what it rests on is not known".to_owned()
    } else {
        match score {
            Some(score) => format!("scores {} of {weight}", score_text(score)),
            None => "not asked".to_owned(),
        }
    };
    StepReport {
        rule: format!("prefers {}", prefers.text),
        value: Some(value),
        because: prefers.because.clone(),
        ..StepReport::default()
    }
}

/// A score to 1/100; the trace holds it exactly.
pub(super) fn score_text(score: Rational) -> String {
    let hundredth = Rational::fraction(1, 100).unwrap_or(Rational::ONE);
    score
        .rounded_to(hundredth, Rounding::Nearest)
        .unwrap_or(score)
        .to_text()
}

fn runner_up_step(view: &View<'_>, choose: &Choose, runner_up: &RunnerUp) -> StepReport {
    let code = code_text(view, choose.part, runner_up.part, runner_up.piece);
    let group = choose.for_each.as_ref().map(|each| each.group);
    let rule = match group.zip(runner_up.taken_for) {
        Some((group, club)) => {
            format!(
                "{} goes to the {}",
                quoted(&code),
                view.club_name(group, club)
            )
        }
        None => format!("{} came next", quoted(&code)),
    };
    StepReport {
        rule,
        value: Some(format!("score {}", score_text(runner_up.total))),
        ..StepReport::default()
    }
}
