//! Why: for each decision its value, what was looked at, the row, the reason and the source.
//!
//! Decisions along the bag that came about in the same way stand together. The short form leaves out
//! what does not apply and what only repeats the tables; the full form keeps every step.

use loftwright_proto::v1 as pb;

use super::text::{Writer, clubs_in_short};

/// How many ways of coming about the short form shows of one decision.
const WAYS_SHOWN: usize = 3;

/// The reports of one decision: of one club, or of all the clubs it is decided for.
type Reports<'a> = Vec<&'a pb::DecisionReport>;

/// Writes the reasons.
pub(super) fn why(writer: &mut Writer, decisions: &[pb::DecisionReport], is_full: bool) {
    if decisions.is_empty() {
        return;
    }
    writer.section("Why");
    for reports in by_name(decisions) {
        let applies = reports
            .iter()
            .any(|report| report.ending() != pb::Ending::DoesNotApply);
        if applies || is_full {
            decision(writer, &reports, is_full);
        }
    }
    if !is_full {
        writer.line("");
        writer.line("  (--full shows every step of every club)");
    }
}

/// The reports by name, in the order of the first of each name.
fn by_name(decisions: &[pb::DecisionReport]) -> Vec<Reports<'_>> {
    let mut bundles: Vec<Reports<'_>> = Vec::new();
    for report in decisions {
        let same = |bundle: &&mut Reports<'_>| {
            bundle
                .first()
                .is_some_and(|first| first.name == report.name)
        };
        match bundles.iter_mut().find(same) {
            Some(bundle) => bundle.push(report),
            None => bundles.push(vec![report]),
        }
    }
    bundles
}

fn decision(writer: &mut Writer, reports: &Reports<'_>, is_full: bool) {
    let Some(first) = reports.first() else {
        return;
    };
    let source = first.source.as_deref().unwrap_or("no source given");
    let layer = match &first.replaces {
        Some(replaced) => format!("; {} in place of {replaced}", first.layer),
        None => String::new(),
    };
    writer.paragraph(
        &format!("  {}: ", first.name),
        &format!("{} [{source}{layer}]", values(reports)),
    );
    if is_full && let Some(about) = &first.about {
        writer.paragraph("      ", about);
    }
    let ways = ways(reports, is_full);
    let shown = if is_full { ways.len() } else { WAYS_SHOWN };
    for (lines, clubs) in ways.iter().take(shown) {
        let prefix = match (ways.len(), clubs.as_str()) {
            (1, _) | (_, "") => String::new(),
            (_, clubs) => format!("{clubs}: "),
        };
        for (place, line) in lines.iter().enumerate() {
            let prefix = if place == 0 { prefix.as_str() } else { "" };
            writer.paragraph("      ", &format!("{prefix}{line}"));
        }
    }
    if ways.len() > shown {
        writer.line(&format!(
            "      and {} more ways for other clubs",
            ways.len() - shown
        ));
    }
}

/// `high for every wedge`, `4 iron 38 in, 5 iron 37 1/2 in`.
fn values(reports: &Reports<'_>) -> String {
    let all = clubs(reports);
    let bundles = bundled(reports, |report| vec![ending_text(report)]);
    let texts: Vec<String> = bundles
        .iter()
        .map(|(texts, members)| {
            let text = texts.join("");
            match members.first().and_then(|first| first.group.as_ref()) {
                Some(group) if bundles.len() == 1 => format!("{text} for every {group}"),
                _ => match clubs_in_short(&clubs(members), &all) {
                    clubs if clubs.is_empty() => text,
                    clubs => format!("{clubs} {text}"),
                },
            }
        })
        .collect();
    texts.join("; ")
}

fn ending_text(report: &pb::DecisionReport) -> String {
    let value = report.value.as_ref().map(|value| value.text.clone());
    match (value, report.ending()) {
        (Some(value), pb::Ending::Ordered) => format!("{value} (ordered)"),
        (Some(value), _) => value,
        (None, pb::Ending::DoesNotApply) => "does not apply".to_owned(),
        (None, pb::Ending::LeftOpen) => "left open".to_owned(),
        (None, pb::Ending::NoneOnHand) => "none on hand".to_owned(),
        (None, _) => "open".to_owned(),
    }
}

/// The ways in which the decision came about, each with its clubs.
fn ways(reports: &Reports<'_>, is_full: bool) -> Vec<(Vec<String>, String)> {
    let all = clubs(reports);
    bundled(reports, |report| lines(report, is_full))
        .into_iter()
        .filter(|(lines, _)| !lines.is_empty())
        .map(|(lines, members)| (lines, clubs_in_short(&clubs(&members), &all)))
        .collect()
}

/// The lines of one report: its steps, and the sentence where it did not come to a value.
fn lines(report: &pb::DecisionReport, is_full: bool) -> Vec<String> {
    let mut lines: Vec<String> = report
        .steps
        .iter()
        .filter(|step| is_full || !is_idle(step))
        .map(step_line)
        .collect();
    lines.extend(report.explanation.clone());
    lines
}

/// Whether a step left the value as it was and gave no reason.
fn is_idle(step: &pb::StepReport) -> bool {
    step.because.is_none() && step.rule.trim_end().ends_with("keeps")
}

fn step_line(step: &pb::StepReport) -> String {
    let readings: Vec<String> = step
        .readings
        .iter()
        .map(|reading| format!("{} {}", reading.name, reading.text))
        .collect();
    let mut line = readings.join(", ");
    if !line.is_empty() {
        line.push_str(": ");
    }
    if let Some(row) = step.row {
        match step.table {
            Some(table) if table > 1 => line.push_str(&format!("table {table} row {row}, ")),
            _ => line.push_str(&format!("row {row}, ")),
        }
    }
    line.push_str(&step.rule);
    if let Some(because) = &step.because {
        line.push_str(&format!(". {because}"));
    }
    line
}

/// Bundles reports for which `key` says the same, in the order of the first of each.
fn bundled<'a>(
    reports: &Reports<'a>,
    key: impl Fn(&pb::DecisionReport) -> Vec<String>,
) -> Vec<(Vec<String>, Reports<'a>)> {
    let mut bundles: Vec<(Vec<String>, Reports<'a>)> = Vec::new();
    for report in reports {
        let said = key(report);
        match bundles.iter_mut().find(|(other, _)| *other == said) {
            Some((_, members)) => members.push(report),
            None => bundles.push((said, vec![report])),
        }
    }
    bundles
}

fn clubs(reports: &Reports<'_>) -> Vec<String> {
    reports
        .iter()
        .filter_map(|report| report.club.clone())
        .collect()
}
