//! Reasons: decisions, limits, cautions, and what is missing or close.

use loftwright_engine::recommendation::{
    Borderline, CautionReport, DecisionReport, Ending, LimitAnswer, LimitReport, MissingReading,
    StepReport,
};
use loftwright_proto::v1 as pb;

use super::sure;
use super::value::{named_texts, value};

/// Every decision and choice.
pub(crate) fn decisions(reports: &[DecisionReport]) -> Vec<pb::DecisionReport> {
    reports.iter().map(decision).collect()
}

fn decision(report: &DecisionReport) -> pb::DecisionReport {
    pb::DecisionReport {
        name: report.name.clone(),
        club: report.club.clone(),
        group: report.group.clone(),
        ending: ending(report.ending).into(),
        value: report.value.as_ref().map(value),
        explanation: report.explanation.clone(),
        needs: report.needs.clone(),
        blocked_by: report.blocked_by.clone(),
        steps: report.steps.iter().map(step).collect(),
        about: report.about.clone(),
        source: report.source.clone(),
        layer: report.layer.clone(),
        replaces: report.replaces.clone(),
        beyond_literature: report.beyond_literature.clone(),
        sureness: report.sureness.as_ref().map(sure::sureness),
    }
}

fn ending(ending: Ending) -> pb::Ending {
    match ending {
        Ending::Decided => pb::Ending::Decided,
        Ending::Needs => pb::Ending::Needs,
        Ending::Blocked => pb::Ending::Blocked,
        Ending::DoesNotApply => pb::Ending::DoesNotApply,
        Ending::Contradicted => pb::Ending::Contradicted,
        Ending::OutsideRange => pb::Ending::OutsideRange,
        Ending::Infeasible => pb::Ending::Infeasible,
        Ending::Faulted => pb::Ending::Faulted,
        Ending::Chosen => pb::Ending::Chosen,
        Ending::Ordered => pb::Ending::Ordered,
        Ending::LeftOpen => pb::Ending::LeftOpen,
        Ending::NoneOnHand => pb::Ending::NoneOnHand,
    }
}

fn step(step: &StepReport) -> pb::StepReport {
    let number = |number: Option<usize>| number.and_then(|number| u32::try_from(number).ok());
    pb::StepReport {
        readings: named_texts(&step.readings),
        table: number(step.table),
        row: number(step.row),
        rule: step.rule.clone(),
        value: step.value.clone(),
        because: step.because.clone(),
    }
}

pub(super) fn limits(reports: &[LimitReport]) -> Vec<pb::LimitReport> {
    let limit = |report: &LimitReport| pb::LimitReport {
        name: report.name.clone(),
        club: report.club.clone(),
        answer: answer(report.answer).into(),
        condition: report.condition.clone(),
        text: report.text.clone(),
        source: report.source.clone(),
    };
    reports.iter().map(limit).collect()
}

fn answer(answer: LimitAnswer) -> pb::LimitAnswer {
    match answer {
        LimitAnswer::Holds => pb::LimitAnswer::Holds,
        LimitAnswer::Broken => pb::LimitAnswer::Broken,
        LimitAnswer::NotKnown => pb::LimitAnswer::NotKnown,
        LimitAnswer::NotAsked => pb::LimitAnswer::NotAsked,
    }
}

pub(super) fn cautions(reports: &[CautionReport]) -> Vec<pb::CautionReport> {
    let caution = |report: &CautionReport| pb::CautionReport {
        name: report.name.clone(),
        clubs: report.clubs.clone(),
        text: report.text.clone(),
        source: report.source.clone(),
        at: report.at.clone(),
    };
    reports.iter().map(caution).collect()
}

pub(super) fn missing(readings: &[MissingReading]) -> Vec<pb::MissingReading> {
    let missing = |reading: &MissingReading| pb::MissingReading {
        input: reading.input.clone(),
        question: reading.ask.clone(),
        decisions: reading.decisions.clone(),
    };
    readings.iter().map(missing).collect()
}

pub(super) fn borderlines(borderlines: &[Borderline]) -> Vec<pb::Borderline> {
    let borderline = |near: &Borderline| pb::Borderline {
        decision: near.decision.clone(),
        club: near.club.clone(),
        input: near.input.clone(),
        reading: near.reading.clone(),
        bound: near.bound.clone(),
        distance_in_spreads: near.spreads.clone(),
        other_side: near.other_side.clone(),
    };
    borderlines.iter().map(borderline).collect()
}
