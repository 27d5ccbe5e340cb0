//! `GET /records/ID`: a record as a whole.

use std::collections::BTreeSet;

use axum::http::StatusCode;
use loftwright_proto::v1 as pb;
use maud::{Markup, html};

use super::graph_drawing::picture;
use super::layout::{segment, short_code, table};
use super::list::instant;
use super::{Page, Site, graph, layout, reads};
use crate::audit::act::RecordRead;
use crate::explain::came_to;
use crate::registry::Principal;
use crate::rpc::explaining::Explainable;
use crate::rpc::recording::store_refusal;
use crate::sheet::cells::{settled_part, settled_text};
use crate::sheet::text::clubs_in_short;

/// The page of a record.
pub(super) async fn page(site: &Site, who: &Principal, id: &str) -> Page {
    let explainable = site.explainer.explainable(id).await?;
    reads::note(site, who, id, RecordRead::WHOLE).await?;
    let later = site
        .recording
        .store
        .about(explainable.reference.position)
        .await;
    let later = later.map_err(store_refusal)?;
    let drawn = graph::of_record(&explainable);
    let decisions = decisions(&explainable);
    let plate = plate(&explainable);
    let near = near(&explainable.body.recommendation.borderlines, id);
    let recommendation = explainable.body.recommendation.clone();
    let explanation = explainable.explain(None).await?;
    let title = format!("Record {id}");
    let body = html! {
        p.crumb { a href="/records" { "Records" } }
        h1 { "Record " code { (id) } }
        (plate)
        section aria-labelledby="bag" {
            h2 id="bag" { "The bag" }
            (bag(&recommendation.clubs))
        }
        section aria-labelledby="why" {
            h2 id="why" { "What was decided" }
            p { "Each decision leads to its readings, its rows and what would have turned it." }
            (decisions)
        }
        section aria-labelledby="graph" {
            h2 id="graph" { "What rested on what" }
            p {
                "From left to right: what stands left was decided first, and a line leads to \
                 what looked at it. The table above has the same decisions in the same order."
            }
            (picture(&drawn))
        }
        (near)
        (assumed(&explanation))
        (replaced(&explanation))
        (limits(&recommendation))
        (missing(&recommendation))
        section aria-labelledby="proof" {
            h2 id="proof" { "Proof" }
            p {
                "The record, its rules, its parts and the proof that it is in the log, in one \
                 file that needs no service to be verified:"
            }
            pre { "loftwright export-record " (id) " -o evidence.loftwright\nloftwright verify-log evidence.loftwright --key KEYS --checkpoint KEPT" }
            @if later.is_empty() { p { "No later record speaks of this one but views of it like this." } }
            @else {
                p { "Later records that speak of this one, by place: " (numbers(&later)) ". Each view of this page is one of them." }
            }
        }
    };
    Ok(layout::answer(StatusCode::OK, layout::page(&title, &body)))
}

fn numbers(places: &[u64]) -> String {
    const SHOWN: usize = 12;
    let texts: Vec<String> = places.iter().take(SHOWN).map(u64::to_string).collect();
    match places.len() - texts.len() {
        0 => texts.join(", "),
        more => format!("{} and {more} more", texts.join(", ")),
    }
}

/// What the record is of, on a plate.
fn plate(explainable: &Explainable) -> Markup {
    let recommendation = &explainable.body.recommendation;
    let ruleset = recommendation.ruleset.as_ref();
    let parts = recommendation.parts.as_ref();
    html! {
        dl.plate {
            div { dt { "Player" } dd { (explainable.body.request.subject) } }
            div { dt { "Made on" } dd { (recommendation.made_on) } }
            div { dt { "Recorded" } dd { (instant(explainable.instant)) } }
            @if let Some(ruleset) = ruleset {
                div {
                    dt { "Rules" }
                    dd {
                        a href=(format!("/rulesets/{}/revisions/{}", segment(&ruleset.name), ruleset.revision)) {
                            (ruleset.title) ", " (short_code(&ruleset.revision))
                        }
                    }
                }
                div { dt { "Contract, semantics" } dd { (ruleset.contract_version) ", " (ruleset.semantics_version) } }
            }
            @if let Some(parts) = parts {
                div { dt { "Parts" } dd { (parts.name) " " (short_code(&parts.digest)) } }
            }
        }
    }
}

fn bag(clubs: &[pb::ClubBuild]) -> Markup {
    if clubs.is_empty() {
        return html! { p.none { "The set itself is not decided: see what is missing." } };
    }
    let part = |settled: Option<&pb::SettledPart>| {
        settled_part(settled).map_or_else(
            || "–".to_owned(),
            |part| match &part.piece_id {
                Some(piece) => format!("{} #{piece}", part.part_id),
                None => part.part_id.clone(),
            },
        )
    };
    let value =
        |settled: Option<&pb::SettledValue>| settled_text(settled).unwrap_or("–").to_owned();
    let rows = html! {
        @for club in clubs {
            tr {
                th scope="row" { (club.name) }
                @if club.is_kept { td colspan="7" { "the player's own" } }
                @else {
                    td { (value(club.loft.as_ref())) }
                    td { (value(club.length.as_ref())) }
                    td { (value(club.lie.as_ref())) }
                    td { code { (part(club.head.as_ref())) } }
                    td { code { (part(club.shaft.as_ref())) } }
                    td { code { (part(club.grip.as_ref())) } }
                    td { (value(club.carry.as_ref())) }
                }
            }
        }
    };
    let heads = [
        "Club", "Loft", "Length", "Lie", "Head", "Shaft", "Grip", "Carry",
    ];
    table("The bag, club by club", &heads, &rows)
}

/// Every decision by name, with what it came to for which clubs.
fn decisions(explainable: &Explainable) -> Markup {
    let recommendation = &explainable.body.recommendation;
    let id = &explainable.reference.id;
    let mut seen = BTreeSet::new();
    let first_of_name = recommendation
        .decisions
        .iter()
        .filter(|report| seen.insert(&report.name));
    let rows = html! {
        @for first in first_of_name {
            tr {
                th scope="row" {
                    a href=(why_address(id, &first.name, None)) { (first.name) }
                }
                td { (outcomes(recommendation, &first.name)) }
                td { (marks(recommendation, first)) }
                td { (first.source.as_deref().unwrap_or("no source given")) }
            }
        }
    };
    table(
        "Decisions and choices in the order in which they were made",
        &["Decision", "Came to", "To note", "Source"],
        &rows,
    )
}

/// The address of a decision's page.
pub(super) fn why_address(id: &str, decision: &str, club: Option<&str>) -> String {
    let address = format!("/records/{}/why/{}", segment(id), segment(decision));
    match club {
        Some(club) => format!("{address}?club={}", segment(club)),
        None => address,
    }
}

/// `standard`, or for which clubs what.
fn outcomes(recommendation: &pb::Recommendation, name: &str) -> Markup {
    const SHOWN: usize = 4;
    let reports = recommendation.decisions.iter();
    let reports: Vec<_> = reports.filter(|report| report.name == name).collect();
    let all: Vec<String> = reports
        .iter()
        .filter_map(|report| report.club.clone())
        .collect();
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for report in &reports {
        let text = came_to(report);
        let club = report.club.clone();
        match found.iter_mut().find(|(known, _)| *known == text) {
            Some((_, clubs)) => clubs.extend(club),
            None => found.push((text, club.into_iter().collect())),
        }
    }
    let is_alike = found.len() == 1;
    let more = found.len().saturating_sub(SHOWN);
    html! {
        @for (text, clubs) in found.iter().take(SHOWN) {
            span.came {
                b { (text) }
                @if !clubs.is_empty() {
                    " " span.of { @if is_alike { "every club" } @else { (clubs_in_short(clubs, &all)) } }
                }
            }
        }
        @if more > 0 { span.came { span.of { "and " (more) " more" } } }
    }
}

/// What is to be noted of a decision: near a bound, of the house, open.
fn marks(recommendation: &pb::Recommendation, first: &pb::DecisionReport) -> Markup {
    let is_near = recommendation
        .borderlines
        .iter()
        .any(|near| near.decision == first.name);
    let is_open = recommendation.decisions.iter().any(|report| {
        report.name == first.name
            && matches!(report.ending(), pb::Ending::Needs | pb::Ending::Blocked)
    });
    html! {
        @if is_near { span.mark.near { "near a bound" } " " }
        @if let Some(replaced) = &first.replaces { span.mark.house { "house, not " (replaced) } " " }
        @if is_open { span.mark.needs-readings { "open" } }
    }
}

fn near(borderlines: &[pb::Borderline], id: &str) -> Markup {
    if borderlines.is_empty() {
        return html! {};
    }
    let rows = html! {
        @for near in borderlines {
            tr {
                th scope="row" {
                    a href=(why_address(id, &near.decision, near.club.as_deref())) {
                        (near.decision)
                        @if let Some(club) = &near.club { ", " (club) }
                    }
                }
                td { (near.input) " " (near.reading) }
                td { (near.bound) }
                td { (near.distance_in_spreads) }
                td { (near.other_side.as_deref().unwrap_or("more than one row")) }
            }
        }
    };
    html! {
        section aria-labelledby="near" {
            h2 id="near" { "Near a bound" }
            p {
                "Within one spread of the bound of the row that decided: another measurement \
                 might turn it."
            }
            (table(
                "Readings near a bound",
                &["Decision", "Reading", "Bound", "Spreads away", "Beyond it"],
                &rows,
            ))
        }
    }
}

fn assumed(explanation: &pb::Explanation) -> Markup {
    if explanation.assumed.is_empty() {
        return html! {};
    }
    let rows = html! {
        @for reading in &explanation.assumed {
            tr {
                th scope="row" { (reading.input) }
                td { (reading.value) }
                td {
                    @if reading.decisions.is_empty() { "no decision" }
                    @else { (reading.decisions.join(", ")) }
                }
                td { (reading.question.as_deref().unwrap_or("–")) }
            }
        }
    };
    html! {
        section aria-labelledby="assumed" {
            h2 id="assumed" { "Assumed" }
            p { "No reading was given; the rules' own default stood in." }
            (table(
                "Readings that were assumed",
                &["Reading", "Assumed", "Rests on it", "The question"],
                &rows,
            ))
        }
    }
}

fn replaced(explanation: &pb::Explanation) -> Markup {
    if explanation.replaced.is_empty() {
        return html! {};
    }
    html! {
        section aria-labelledby="house" {
            h2 id="house" { "The house in place of the trade" }
            ul.house {
                @for one in &explanation.replaced {
                    li {
                        b { (one.decision) } ": " (one.layer) " in place of " (one.replaced) ". "
                        @if let Some(about) = &one.about { (about) }
                    }
                }
            }
        }
    }
}

fn limits(recommendation: &pb::Recommendation) -> Markup {
    let told = recommendation.limits.iter();
    let told: Vec<_> = told
        .filter(|limit| limit.answer() != pb::LimitAnswer::NotAsked)
        .collect();
    let word = |limit: &pb::LimitReport| match limit.answer() {
        pb::LimitAnswer::Holds => "holds",
        pb::LimitAnswer::Broken => "broken",
        _ => "not known",
    };
    let rows = html! {
        @for limit in &told {
            tr {
                th scope="row" { (limit.name) @if let Some(club) = &limit.club { ", " (club) } }
                td { span class=(format!("mark {}", word(limit).replace(' ', "-"))) { (word(limit)) } }
                td { code { (limit.condition) } }
                td { (limit.text.as_deref().unwrap_or("–")) }
                td { (limit.source.as_deref().unwrap_or("–")) }
            }
        }
    };
    html! {
        @if !told.is_empty() {
            section aria-labelledby="limits" {
                h2 id="limits" { "Limits" }
                (table(
                    "Limits and their answers",
                    &["Limit", "Answer", "Condition", "It says", "Source"],
                    &rows,
                ))
            }
        }
        @if !recommendation.cautions.is_empty() {
            section aria-labelledby="cautions" {
                h2 id="cautions" { "Cautions" }
                ul.cautions {
                    @for caution in &recommendation.cautions {
                        li {
                            (caution.text)
                            @if !caution.clubs.is_empty() { " (" (caution.clubs.join(", ")) ")" }
                        }
                    }
                }
            }
        }
    }
}

fn missing(recommendation: &pb::Recommendation) -> Markup {
    if recommendation.missing_readings.is_empty() {
        return html! {};
    }
    let rows = html! {
        @for reading in &recommendation.missing_readings {
            tr {
                th scope="row" { (reading.input) }
                td { (reading.question.as_deref().unwrap_or("–")) }
                td { (reading.decisions.join(", ")) }
            }
        }
    };
    html! {
        section aria-labelledby="missing" {
            h2 id="missing" { "Missing" }
            (table(
                "Readings that were not given",
                &["Reading", "The question", "Waits for it"],
                &rows,
            ))
        }
    }
}
