//! `GET /records/ID/why/DECISION`: one decision, for one club.
//!
//! The chain from the reading to the reason stands first, as it was recorded. What is below *not
//! otherwise* and in the bands is evaluated again with the kept rules, and says so.

use axum::http::StatusCode;
use loftwright_proto::v1 as pb;
use maud::{Markup, html};
use pb::explain_record_request::Question;
use pb::why_not_question::Other;

use super::graph_drawing::picture;
use super::layout::{segment, table};
use super::query::Query;
use super::record::why_address;
use super::refused::PageFault;
use super::step_list::steps;
use super::{Page, Site, bands, graph, layout, reads};
use crate::explain::text::{kind_word, nearest_change};
use crate::explain::{NotTaken, came_to, display_name, not_taken};
use crate::registry::Principal;
use crate::rpc::refusal::Refusal;

/// The page of a decision.
pub(super) async fn page(
    site: &Site,
    who: &Principal,
    (id, decision): (&str, &str),
    query: &Query,
) -> Page {
    let explainable = site.explainer.explainable(id).await?;
    let reports = explainable.body.recommendation.decisions.iter();
    let clubs: Vec<String> = reports
        .filter(|report| report.name == decision)
        .filter_map(|report| report.club.clone())
        .collect();
    let club = match query.field("club") {
        "" => clubs.first().cloned().unwrap_or_default(),
        club => club.to_owned(),
    };
    let part = query.field("part").to_owned();
    let question = Question::Why(pb::WhyQuestion {
        decision: decision.to_owned(),
        club: club.clone(),
    });
    let explanation = site.explainer.explain(id, Some(question)).await?;
    let explained = explanation.decisions.first();
    let explained = explained.ok_or_else(PageFault::no_such_page)?;
    let report = explained.report.clone().unwrap_or_default();
    reads::note(site, who, id, decision).await?;
    let not_taken = explainable.look(decision, &club, not_taken).await;
    let not_taken = not_taken.map_err(PageFault::from)?;
    let asked_part = match part.as_str() {
        "" => None,
        part => Some(ask_part(site, id, decision, &club, part).await),
    };
    let name = display_name(decision, report.club.as_deref());
    let body = html! {
        p.crumb {
            a href="/records" { "Records" } " / "
            a href=(format!("/records/{}", segment(id))) { "Record " code { (id) } }
        }
        h1 { "Why " (name) }
        p.answer { b { (came_to(&report)) } }
        @if let Some(about) = &report.about { p.lead { (about) } }
        (clubs_nav(id, decision, &clubs, &club))
        section aria-labelledby="how" {
            h2 id="how" { "How it came out" }
            (steps(&report))
            (origin(&report))
        }
        (turned_by(explained, &report))
        (bands::section(&not_taken.bands))
        section aria-labelledby="graph" {
            h2 id="graph" { "What it rested on" }
            @if explained.rests_on.is_empty() { p { "It looks at nothing." } }
            @else {
                (picture(&graph::of_decision(explained)))
                (nodes(&explained.rests_on))
            }
        }
        (otherwise(id, decision, &club, &not_taken, asked_part.as_ref()))
        @for sentence in told(&explanation, &not_taken) { p.again { (sentence) "." } }
    };
    let title = format!("Why {name}, record {id}");
    Ok(layout::answer(StatusCode::OK, layout::page(&title, &body)))
}

/// What was evaluated again, and what could not be, each once.
fn told(explanation: &pb::Explanation, not_taken: &NotTaken) -> Vec<String> {
    let again = explanation.evaluated_again.iter();
    let mut said: Vec<String> = again.map(|again| again.sentence.clone()).collect();
    said.extend(
        explanation
            .rules_not_kept
            .iter()
            .map(|why| format!("the graph has only what the record holds: {why}")),
    );
    said.extend(not_taken.told.clone());
    said
}

async fn ask_part(
    site: &Site,
    id: &str,
    decision: &str,
    club: &str,
    part: &str,
) -> Result<pb::WhyNot, Refusal> {
    let question = Question::WhyNot(pb::WhyNotQuestion {
        decision: decision.to_owned(),
        club: club.to_owned(),
        other: Some(Other::Part(part.to_owned())),
    });
    let explanation = site.explainer.explain(id, Some(question)).await?;
    Ok(explanation.why_not.unwrap_or_default())
}

fn clubs_nav(id: &str, decision: &str, clubs: &[String], here: &str) -> Markup {
    if clubs.len() < 2 {
        return html! {};
    }
    html! {
        nav.clubs aria-label="The same decision for other clubs" {
            @for club in clubs {
                a href=(why_address(id, decision, Some(club)))
                    aria-current=[(club == here).then_some("page")] { (club) }
            }
        }
    }
}

fn origin(report: &pb::DecisionReport) -> Markup {
    let source = report.source.as_deref().unwrap_or("no source given");
    html! {
        p.source {
            "Source: " (source) ". Ruleset: " (report.layer)
            @if let Some(replaced) = &report.replaces { ", in place of " (replaced) }
            "."
        }
        @if !report.needs.is_empty() { p { "It needs " (report.needs.join(", ")) "." } }
        @if !report.blocked_by.is_empty() { p { "It waits for " (report.blocked_by.join(", ")) "." } }
    }
}

fn turned_by(explained: &pb::ExplainedDecision, report: &pb::DecisionReport) -> Markup {
    let sureness = report.sureness.as_ref();
    html! {
        @if explained.nearest_change.is_some() || sureness.is_some() {
            section aria-labelledby="turns" {
                h2 id="turns" { "What turns it" }
                @if let Some(change) = &explained.nearest_change { p { (nearest_change(change)) "." } }
                @if let Some(sureness) = sureness {
                    p {
                        "It came out the same in " (sureness.same) " of " (sureness.of) " plausible sets of readings"
                        @if let Some(next) = &sureness.runner_up { "; " (next.outcome) " in " (next.count) }
                        "."
                    }
                }
            }
        }
    }
}

fn nodes(nodes: &[pb::ExplainedNode]) -> Markup {
    let rows = html! {
        @for node in nodes {
            tr {
                th scope="row" { (display_name(&node.name, node.club.as_deref())) }
                td { (kind_word(node.kind())) }
                td { (node.value.as_deref().unwrap_or("–")) }
                td { (node.words.as_deref().unwrap_or("–")) }
                td { @if node.looks_at.is_empty() { "–" } @else { (node.looks_at.join(", ")) } }
            }
        }
    };
    table(
        "What it rested on, readings first",
        &[
            "Name",
            "What",
            "Value",
            "Question, expression or subject",
            "Looks at",
        ],
        &rows,
    )
}

/// The rows that did not decide, or the form that asks for a part.
fn otherwise(
    id: &str,
    decision: &str,
    club: &str,
    not_taken: &NotTaken,
    asked: Option<&Result<pb::WhyNot, Refusal>>,
) -> Markup {
    let rows = html! {
        @for row in &not_taken.rows {
            tr class=[(row.standing == "decided").then_some("taken")] {
                th scope="row" {
                    @if not_taken.tables > 1 { (row.table) "." }
                    (row.row)
                }
                td { code { (row.rule) } }
                td { (row.standing) }
                td { (row.because.as_deref().unwrap_or("–")) }
            }
        }
    };
    html! {
        @if !not_taken.rows.is_empty() {
            section aria-labelledby="otherwise" {
                h2 id="otherwise" { "Why not otherwise" }
                (table(
                    "Every row, and what ruled it out",
                    &["Row", "As it is written", "Standing", "Its reason"],
                    &rows,
                ))
            }
        }
        @if not_taken.is_choice {
            section aria-labelledby="otherwise" {
                h2 id="otherwise" { "Why not another part" }
                form.filter method="get" action=(why_address(id, decision, None)) {
                    input type="hidden" name="club" value=(club);
                    div {
                        label for="part" { "Code of a part or piece" }
                        input id="part" name="part" autocomplete="off" required;
                    }
                    div.do { button type="submit" { "Ask" } }
                }
                @match asked {
                    Some(Ok(why_not)) => (candidates(why_not)),
                    Some(Err(refusal)) => p.open role="status" { (sentence_of(refusal)) "." },
                    None => {}
                }
            }
        }
    }
}

fn sentence_of(refusal: &Refusal) -> String {
    match refusal {
        Refusal::Faults(faults) => faults
            .iter()
            .map(|fault| fault.sentence.clone())
            .collect::<Vec<_>>()
            .join("; "),
        other => other.to_string(),
    }
}

fn candidates(why_not: &pb::WhyNot) -> Markup {
    html! {
        p.answer role="status" { (why_not.answer) "." }
        @for candidate in &why_not.candidates {
            @if why_not.candidates.len() > 1 { p { b { (candidate.code) } " " (candidate.standing) "." } }
            @if !candidate.scores.is_empty() {
                (table(
                    &format!("What {} scored", candidate.code),
                    &["Preference", "Of at most", "It", "The one taken"],
                    &scores(&candidate.scores),
                ))
            }
        }
    }
}

fn scores(scores: &[pb::PreferenceScore]) -> Markup {
    let shown =
        |scored: &Option<String>| scored.clone().unwrap_or_else(|| "not weighed".to_owned());
    html! {
        @for score in scores {
            tr {
                th scope="row" { code { (score.prefers) } }
                td { (score.weight) }
                td { (shown(&score.own)) }
                td { (shown(&score.taken)) }
            }
        }
    }
}
