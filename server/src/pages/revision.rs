//! `GET /rulesets/NAME/revisions/REVISION`: the rules of a revision.

use std::collections::BTreeMap;

use axum::http::StatusCode;
use loftwright_dsl::outline::{Detail, NodeFact, NodeKind, Outline, StepFact, TableFact};
use loftwright_proto::v1 as pb;
use maud::{Markup, html};

use super::layout::{segment, table};
use super::refused::PageFault;
use super::{Page, Site, layout};
use crate::registry::hash_of;
use crate::rpc::row_statistics::row_statistics;

/// The counts of rows, by decision, table and row.
type ByRow<'a> = BTreeMap<(&'a str, u32, u32), &'a pb::RowCount>;

fn by_row(counts: &pb::RowStatisticsResponse) -> ByRow<'_> {
    let rows = counts.rows.iter();
    rows.map(|count| ((count.decision.as_str(), count.table, count.row), count))
        .collect()
}

/// The page of a revision.
pub(super) async fn page(site: &Site, name: &str, revision: &str) -> Page {
    let not_here = || PageFault::not_found("no such revision of that ruleset is kept here");
    let digest = hash_of(revision).ok_or_else(not_here)?;
    let contract_version = {
        let ledger = site.registry.ledger();
        ledger
            .revision(name, revision)
            .map(|published| published.contract_version)
    };
    let explainer = &site.explainer;
    let outline = explainer.outline_of_revision(name, digest, contract_version);
    let outline = outline
        .await?
        .filter(|outline| outline.name == name)
        .ok_or_else(not_here)?;
    let asked = pb::RowStatisticsRequest {
        ruleset: name.to_owned(),
        revision: revision.to_owned(),
    };
    // A revision of another log, of which only the source is here, has no counts.
    let counts = row_statistics(&site.registry, &site.recording, &asked).await;
    let counts = counts.ok();
    let by_row = counts.as_ref().map(by_row);
    let records = format!("/records?revision={}", segment(revision));
    let body = html! {
        p.crumb { a href="/records" { "Records" } }
        h1 { (outline.title) }
        dl.plate {
            div { dt { "Ruleset" } dd { (outline.name) } }
            div { dt { "Revision" } dd { code.long { (revision) } } }
            div { dt { "Builds on" } dd { (layers(&outline)) } }
            div { dt { "Records" } dd { a href=(records) { "decided by it" } } }
        }
        @match &counts {
            Some(counts) => p.lead {
                "Counted over " (counts.recommendations) " recommendations and " (counts.builds)
                " confirmed builds of this revision."
            },
            None => p.lead { "How often its rows decided is not counted here." },
        }
        @for node in outline.nodes.iter().filter(|node| is_ruled(node)) {
            (declaration(node, by_row.as_ref()))
        }
    };
    let title = format!(
        "{}, revision {}",
        outline.title,
        revision.get(..12).unwrap_or(revision)
    );
    Ok(layout::answer(StatusCode::OK, layout::page(&title, &body)))
}

fn layers(outline: &Outline) -> String {
    let names: Vec<&str> = outline
        .layers
        .iter()
        .map(|layer| layer.name.as_str())
        .collect();
    match names.split_last() {
        Some((_, below)) if !below.is_empty() => below.join(", "),
        _ => "nothing".to_owned(),
    }
}

fn is_ruled(node: &NodeFact) -> bool {
    matches!(node.kind, NodeKind::Decision | NodeKind::Choice)
}

fn declaration(node: &NodeFact, counts: Option<&ByRow<'_>>) -> Markup {
    let id = format!("d-{}", node.name);
    html! {
        section.declaration aria-labelledby=(id) {
            h2 id=(id) { (node.name) @if let Some(group) = &node.for_each { span.of { " for each " (group) } } }
            @if let Some(about) = &node.about { p { (about) } }
            p.source {
                "Source: " (node.source.as_deref().unwrap_or("no source given")) ". Ruleset: " (node.layer)
                @if let Some(replaced) = &node.replaces { ", in place of " (replaced) }
                "."
            }
            @match &node.detail {
                Detail::Decision { steps, .. } => (steps_of(node, steps, counts)),
                Detail::Choice(choice) => ul.lines {
                    @for line in &choice.lines {
                        li {
                            span.place { (line.word) } " " code { (line.text) }
                            @if let Some(weight) = &line.weight { ", weight " (weight) }
                            @if let Some(when) = &line.when { ", when " code { (when) } }
                            @if let Some(because) = &line.because { span.because { " " (because) } }
                        }
                    }
                },
                _ => {}
            }
        }
    }
}

fn steps_of(node: &NodeFact, steps: &[StepFact], counts: Option<&ByRow<'_>>) -> Markup {
    let mut number = 0_u32;
    html! {
        @for step in steps {
            @match step {
                StepFact::Gives { verb, value, because } => p.rule-line {
                    span.place { (verb) } " " code { (value) }
                    @if let Some(because) = because { span.because { " " (because) } }
                },
                StepFact::Line { text } => p.rule-line { code { (text) } },
                StepFact::Table(rows) => {
                    ({ number += 1; rows_of(node, rows, number, counts) })
                }
            }
        }
    }
}

fn rows_of(node: &NodeFact, rows: &TableFact, number: u32, counts: Option<&ByRow<'_>>) -> Markup {
    let mut heads: Vec<&str> = vec!["Row"];
    heads.extend(rows.columns.iter().map(String::as_str));
    heads.extend(["Does", "Its reason"]);
    if counts.is_some() {
        heads.extend(["Decided", "Near a bound", "Overridden"]);
    }
    let body = html! {
        @for (index, row) in rows.rows.iter().enumerate() {
            tr {
                th scope="row" { (index + 1) }
                @if row.conditions.is_empty() { td colspan=(rows.columns.len().max(1)) { "otherwise" } }
                @for condition in &row.conditions { td { code { (condition) } } }
                td { code { (row.result) } }
                td { (row.because.as_deref().unwrap_or("–")) }
                @if let Some(counts) = counts {
                    @let counted = counted(counts, node, number, index);
                    td.count { (counted.0) } td.count { (counted.1) } td.count { (counted.2) }
                }
            }
        }
    };
    let order = if rows.is_first {
        ", the first that fits"
    } else {
        ""
    };
    let caption = format!("{}: table {number}, {}{order}", node.name, rows.opening);
    html! {
        (table(&caption, &heads, &body))
        @if let Some(if_unknown) = &rows.if_unknown { p { "If unknown: " code { (if_unknown) } } }
    }
}

/// How often a row decided, was near a bound, and was overridden.
fn counted(counts: &ByRow<'_>, node: &NodeFact, table: u32, index: usize) -> (u64, u64, u64) {
    let row = u32::try_from(index).unwrap_or(u32::MAX).saturating_add(1);
    let found = counts.get(&(node.name.as_str(), table, row));
    found.map_or((0, 0, 0), |count| {
        (count.decided, count.borderline, count.overridden)
    })
}
