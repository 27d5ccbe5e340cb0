//! `GET /records`: the records, newest first, with a filter as a plain form.

use axum::http::StatusCode;
use loftwright_proto::v1 as pb;
use maud::{Markup, html};

use super::query::Query;
use super::{Page, Site, layout};
use crate::audit::leaf::LeafKind;
use crate::rpc::listing;
use crate::store::Outcome;

/// Records of a page.
const PAGE_SIZE: i32 = 40;

/// A page of the list.
pub(super) async fn page(site: &Site, query: &Query) -> Page {
    let page = listing::list(&site.recording, &request(query)).await?;
    let body = html! {
        h1 { "Records" }
        p.lead {
            "What was recommended, confirmed, published and erased, newest first. An entry is never \
             changed; what came later stands above it."
        }
        (filter(query))
        @if page.records.is_empty() {
            p.none { "No record fits." }
        } @else {
            (layout::table("Records, newest first", &HEADS, &rows(&page.records)))
        }
        nav.pages aria-label="Further records" {
            @if !query.field("token").is_empty() {
                a href=(format!("/records?{}", query.with("token", ""))) { "The newest" }
            }
            @if !page.next_page_token.is_empty() {
                a rel="next" href=(format!("/records?{}", query.with("token", &page.next_page_token))) {
                    "Older records"
                }
            }
        }
    };
    Ok(layout::answer(
        StatusCode::OK,
        layout::page("Records", &body),
    ))
}

const HEADS: [&str; 6] = ["Record", "Made", "What", "Ruleset", "Came out", "By"];

fn request(query: &Query) -> pb::ListRecordsRequest {
    let field = |name| query.field(name).to_owned();
    let outcome = Outcome::of_text(query.field("outcome"));
    let kind = field("kind");
    pb::ListRecordsRequest {
        page_size: PAGE_SIZE,
        page_token: field("token"),
        first_day: field("from"),
        last_day: field("through"),
        ruleset: field("ruleset"),
        revision: field("revision"),
        outcome: listing::outcome_message(outcome).into(),
        kinds: if kind.is_empty() {
            Vec::new()
        } else {
            vec![kind]
        },
    }
}

fn filter(query: &Query) -> Markup {
    let choice = |name: &str, any: &str, words: &[&str]| {
        let chosen = query.field(name);
        html! {
            select id=(name) name=(name) {
                option value="" selected[chosen.is_empty()] { (any) }
                @for word in words {
                    option value=(word) selected[chosen == *word] { (word) }
                }
            }
        }
    };
    let kinds = LeafKind::ALL.map(LeafKind::text);
    let outcomes = Outcome::ALL.map(Outcome::text);
    html! {
        form.filter method="get" action="/records" aria-label="Filter" {
            div { label for="from" { "From day" } input id="from" name="from" type="date" value=(query.field("from")); }
            div { label for="through" { "Through day" } input id="through" name="through" type="date" value=(query.field("through")); }
            div { label for="kind" { "What" } (choice("kind", "anything", &kinds)) }
            div { label for="outcome" { "Came out" } (choice("outcome", "any way", &outcomes)) }
            div { label for="ruleset" { "Ruleset" } input id="ruleset" name="ruleset" autocomplete="off" value=(query.field("ruleset")); }
            div { label for="revision" { "Revision" } input id="revision" name="revision" autocomplete="off" value=(query.field("revision")); }
            div.do { button type="submit" { "Show" } a href="/records" { "Without a filter" } }
        }
    }
}

fn rows(records: &[pb::RecordSummary]) -> Markup {
    html! { @for record in records { (row(record)) } }
}

fn row(record: &pb::RecordSummary) -> Markup {
    let id = record.record.as_ref().map_or("", |record| &record.id);
    let is_shown = record.kind == LeafKind::Recommendation.text() && !record.erased;
    let outcome = listing::outcome_of(record.outcome()).map_or("", Outcome::text);
    html! {
        tr {
            th scope="row" {
                @if is_shown { a href=(format!("/records/{id}")) { code { (id) } } }
                @else { code { (id) } }
            }
            td { (instant(record.instant)) }
            td {
                (record.kind)
                @if let Some(about) = record.about { ", of record " (about) }
            }
            td {
                @match (&record.ruleset, &record.revision) {
                    (Some(name), Some(revision)) => {
                        a href=(format!("/rulesets/{}/revisions/{revision}", layout::segment(name))) {
                            (name) " " (layout::short_code(revision))
                        }
                    }
                    (Some(name), None) => (name),
                    _ => "–",
                }
            }
            td {
                @if record.erased { span.mark.gone { "erased" } }
                @else if outcome.is_empty() { "–" }
                @else { span class=(format!("mark {}", outcome.replace(' ', "-"))) { (outcome) } }
            }
            td { (record.principal) }
        }
    }
}

/// An instant to the second, as text and for programs.
pub(super) fn instant(instant: Option<prost_types::Timestamp>) -> Markup {
    let text = instant.map(|instant| {
        prost_types::Timestamp {
            nanos: 0,
            ..instant
        }
        .to_string()
    });
    let text = text.unwrap_or_default();
    let shown = text.replace('T', " ").replace('Z', " UTC");
    html! { time datetime=(text) { (shown) } }
}
