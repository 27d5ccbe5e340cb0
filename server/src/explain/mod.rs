//! A record explained: why, why not, what was assumed, what the house replaced.
//!
//! The record holds the request and the recommendation with every decision: its steps, rows,
//! reasons and sources. *Why* is rendered from those facts alone, along the graph that the kept
//! rules draw; nothing is evaluated, so that it is the same after any upgrade. What the record does
//! not hold (rows and candidates that were not taken, the nearest change where it was not asked
//! for) is found by evaluating again with the rules and parts that were kept, and the answer says
//! so. Where the engine has other semantics by now that is refused, by name.
//!
//! | module | what it does |
//! | --- | --- |
//! | `facts` | a record, looked up by decision and club |
//! | `graph` | what a decision rested on |
//! | `again` | the evaluation again, and what may be asked of it |
//! | `why_not` | the answer to *why not* |
//! | `not_taken` | all rows of a decision, and its bands |
//! | `text` | the explanation as a terminal shows it |

mod again;
mod facts;
mod graph;
mod not_taken;
pub(crate) mod text;
mod why_not;

use std::collections::BTreeSet;

use loftwright_dsl::outline::Outline;
use loftwright_proto::v1 as pb;
use pb::explain_record_request::Question;

pub(crate) use again::Rules;
pub(crate) use facts::{Facts, came_to};
pub(crate) use graph::display_name;
pub(crate) use not_taken::{NotTaken, not_taken};

/// A question that cannot be answered, and the field of it that is wrong.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{field}: {sentence}")]
pub(crate) struct Unanswerable {
    /// The path of the field: `why.decision`.
    pub(crate) field: &'static str,
    /// What was sent, and what is allowed.
    pub(crate) sentence: String,
}

/// Explains a record. `rules` are those that decided, or why they cannot be read back.
///
/// # Errors
/// [`Unanswerable`], where the record has no such decision, club, row or part.
pub(crate) fn explain(
    facts: &Facts<'_>,
    rules: Result<&Rules, &str>,
    question: Option<&Question>,
) -> Result<pb::Explanation, Unanswerable> {
    let outline = rules.ok().map(|rules| &*rules.outline);
    let mut explanation = pb::Explanation {
        record: Some(facts.reference.clone()),
        instant: facts.instant,
        made_on: facts.recommendation.made_on.clone(),
        ruleset: facts.recommendation.ruleset.clone(),
        assumed: assumed(facts, outline),
        replaced: replaced(facts),
        rules_not_kept: rules.err().map(str::to_owned),
        ..pb::Explanation::default()
    };
    match question {
        None => {
            let decisions = facts.recommendation.decisions.iter();
            explanation.decisions = decisions
                .map(|report| decision(facts, report, Vec::new()))
                .collect();
        }
        Some(Question::Why(why)) => {
            let reports = facts.asked("why.decision", &why.decision, "why.club", &why.club)?;
            explanation.decisions = reports
                .into_iter()
                .map(|report| {
                    let rests_on = graph::rests_on(facts, outline, report);
                    pb::ExplainedDecision {
                        looks_at: graph::looks_at(facts, outline, report),
                        ..decision(facts, report, rests_on)
                    }
                })
                .collect();
            keep_what_is_asked(&mut explanation);
            add_nearest_change(facts, rules, &mut explanation);
        }
        Some(Question::WhyNot(why_not)) => {
            why_not::answer(facts, rules, why_not, &mut explanation)?;
        }
    }
    Ok(explanation)
}

/// Of what was assumed and replaced only what the decisions rest on.
fn keep_what_is_asked(explanation: &mut pb::Explanation) {
    let mut names = BTreeSet::new();
    for decision in &explanation.decisions {
        names.extend(decision.report.iter().map(|report| report.name.clone()));
        names.extend(decision.rests_on.iter().map(|node| node.name.clone()));
    }
    explanation
        .assumed
        .retain(|reading| names.contains(&reading.input));
    explanation
        .replaced
        .retain(|replacement| names.contains(&replacement.decision));
}

fn decision(
    facts: &Facts<'_>,
    report: &pb::DecisionReport,
    rests_on: Vec<pb::ExplainedNode>,
) -> pb::ExplainedDecision {
    let near = facts.recommendation.borderlines.iter();
    let near = near.filter(|near| near.decision == report.name && near.club == report.club);
    let sureness = report.sureness.as_ref();
    pb::ExplainedDecision {
        report: Some(report.clone()),
        looks_at: Vec::new(),
        rests_on,
        borderlines: near.cloned().collect(),
        nearest_change: sureness.and_then(|sureness| sureness.nearest_change.clone()),
        nearest_change_is_new: false,
    }
}

/// The nearest change of the decisions that were asked for, where the record was not asked for it.
fn add_nearest_change(
    facts: &Facts<'_>,
    rules: Result<&Rules, &str>,
    explanation: &mut pb::Explanation,
) {
    let is_known = |report: &pb::DecisionReport| report.sureness.is_some();
    if facts.recommendation.decisions.iter().any(is_known) {
        return;
    }
    let Ok(rules) = rules else {
        return;
    };
    let what = "the nearest change, which the record was not asked for";
    let again = again::sureness(facts, rules, what);
    explanation.evaluated_again = Some(again.told);
    for decision in &mut explanation.decisions {
        let Some(report) = &mut decision.report else {
            continue;
        };
        let same = |other: &&pb::DecisionReport| {
            other.name == report.name && other.club == report.club && other.value == report.value
        };
        if let Some(found) = again.decisions.iter().find(same) {
            let sureness = found.sureness.as_ref();
            decision.nearest_change = sureness.and_then(|sureness| sureness.nearest_change.clone());
            decision.nearest_change_is_new = decision.nearest_change.is_some();
        }
    }
}

/// The readings that the rules assumed, with what rests on them.
fn assumed(facts: &Facts<'_>, outline: Option<&Outline>) -> Vec<pb::AssumedReading> {
    let readings = facts.recommendation.assumed_readings.iter();
    readings
        .map(|reading| pb::AssumedReading {
            input: reading.name.clone(),
            value: reading.text.clone(),
            question: outline.and_then(|outline| graph::question(outline, &reading.name)),
            decisions: graph::rest_on_it(facts, outline, &reading.name),
        })
        .collect()
}

/// What the house decided in the place of those it builds upon, each decision once.
fn replaced(facts: &Facts<'_>) -> Vec<pb::Replacement> {
    let mut found: Vec<pb::Replacement> = Vec::new();
    for report in &facts.recommendation.decisions {
        let Some(replaced) = &report.replaces else {
            continue;
        };
        if found.iter().any(|known| known.decision == report.name) {
            continue;
        }
        found.push(pb::Replacement {
            decision: report.name.clone(),
            layer: report.layer.clone(),
            replaced: replaced.clone(),
            about: report.about.clone(),
        });
    }
    found
}
