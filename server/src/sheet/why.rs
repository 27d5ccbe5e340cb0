//! Why: for each decision its value, what was looked at, the row, the reason and the source.
//!
//! Decisions along the bag that came about in the same way stand together. The short form gives
//! each decision a sentence or two: it leaves out what does not apply, steps that changed nothing,
//! who else was weighed, and all but the first of many ways. The full form keeps every step.

use loftwright_proto::v1 as pb;

use super::text::{Writer, clubs_in_short, root_cause};

/// Up to how many ways of coming about the short form shows of one decision; of more it shows one.
const WAYS_SHOWN: usize = 3;

/// Up to how many values along the bag the short form lists.
const VALUES_SHOWN: usize = 5;

/// The source that the short form does not repeat.
const COMMON_PRACTICE: &str = "common practice";

/// The reports of one decision: of one club, or of all the clubs it is decided for.
type Reports<'a> = Vec<&'a pb::DecisionReport>;

/// Writes the reasons.
pub(super) fn why(writer: &mut Writer, decisions: &[pb::DecisionReport], is_full: bool) {
    if decisions.is_empty() {
        return;
    }
    writer.section("Why");
    if !is_full {
        writer.line(
            "  Common practice where no source is named. --full shows every step of every club.",
        );
    }
    for reports in by_name(decisions) {
        if is_full {
            in_full(writer, &reports);
        } else {
            in_short(writer, &reports);
        }
    }
}

/// Whether the short form tells of it: what waits for readings stands below, under each reading.
fn is_told_in_short(report: &pb::DecisionReport) -> bool {
    !matches!(
        report.ending(),
        pb::Ending::DoesNotApply | pb::Ending::Needs | pb::Ending::Blocked
    )
}

fn is_choice(report: &pb::DecisionReport) -> bool {
    matches!(
        report.ending(),
        pb::Ending::Chosen | pb::Ending::Ordered | pb::Ending::LeftOpen | pb::Ending::NoneOnHand
    )
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

/// One decision in a sentence or two.
fn in_short(writer: &mut Writer, reports: &Reports<'_>) {
    let told: Reports<'_> = reports
        .iter()
        .copied()
        .filter(|report| is_told_in_short(report))
        .collect();
    let Some(first) = told.first() else {
        return;
    };
    let mut said = vec![format!("{}.", values(&told, true))];
    let ways = ways(&told, false);
    let shown = if ways.len() > WAYS_SHOWN {
        1
    } else {
        WAYS_SHOWN
    };
    for (lines, clubs) in ways.iter().take(shown) {
        let text = sentences(lines);
        said.push(match (ways.len(), clubs.as_str()) {
            (1, _) | (_, "") => text,
            (_, clubs) => format!("{clubs}: {text}"),
        });
    }
    if ways.len() > shown {
        said.push("Others likewise, by their own rows.".to_owned());
    }
    said.extend(origin(first));
    writer.indented(&format!("  {}: ", first.name), 6, &said.join(" "));
}

/// One decision with every step of every club.
fn in_full(writer: &mut Writer, reports: &Reports<'_>) {
    let Some(first) = reports.first() else {
        return;
    };
    let source = first.source.as_deref().unwrap_or("no source given");
    writer.line("");
    writer.indented(
        &format!("  {}: ", first.name),
        6,
        &format!("{} [{source}; {}]", values(reports, false), layers(first)),
    );
    if let Some(about) = &first.about {
        writer.paragraph("      ", about);
    }
    let ways = ways(reports, true);
    for (lines, clubs) in &ways {
        if ways.len() > 1 && !clubs.is_empty() {
            writer.paragraph("      ", &format!("{clubs}:"));
        }
        for line in lines {
            writer.indented("        ", 10, line);
        }
    }
}

/// Where a decision comes from, where that is not the trade's common practice in its usual layer.
fn origin(report: &pb::DecisionReport) -> Option<String> {
    let source = report
        .source
        .clone()
        .filter(|source| source != COMMON_PRACTICE);
    let layer = report.replaces.is_some().then(|| layers(report));
    let said: Vec<String> = source.into_iter().chain(layer).collect();
    (!said.is_empty()).then(|| format!("[{}]", said.join("; ")))
}

fn layers(report: &pb::DecisionReport) -> String {
    match &report.replaces {
        Some(replaced) => format!("{} in place of {replaced}", report.layer),
        None => report.layer.clone(),
    }
}

/// Lines as sentences, each ended once.
fn sentences(lines: &[String]) -> String {
    let ended = lines.iter().map(|line| {
        let is_ended = line.ends_with(['.', '!', '?']);
        if is_ended {
            line.clone()
        } else {
            format!("{line}.")
        }
    });
    ended.collect::<Vec<_>>().join(" ")
}

/// `high for every wedge`, `4 iron 38 in, 5 iron 37 1/2 in`.
fn values(reports: &Reports<'_>, is_short: bool) -> String {
    let all = clubs(reports);
    let bundles = bundled(reports, |report| vec![ending_text(report)]);
    if is_short && bundles.len() > 1 && reports.iter().all(|report| is_choice(report)) {
        return "by club, as in the first table".to_owned();
    }
    if is_short && bundles.len() > VALUES_SHOWN {
        let end = |report: Option<&&pb::DecisionReport>| {
            report.map_or_else(String::new, |report| {
                let club = report.club.as_deref().unwrap_or_default();
                format!("{club} {}", ending_text(report))
            })
        };
        return format!("{} … {}", end(reports.first()), end(reports.last()));
    }
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
    // Of a choice, the first step says how many were looked at and why most were not taken.
    let most = if is_full || !is_choice(report) {
        usize::MAX
    } else {
        1
    };
    let mut lines = Vec::new();
    let mut value_before: Option<&String> = None;
    for step in report.steps.iter().take(most) {
        let changes = step.value.is_none() || step.value.as_ref() != value_before;
        if is_full || changes || step.because.is_some() {
            lines.push(step_line(report, step));
        }
        value_before = step.value.as_ref().or(value_before);
    }
    lines.extend(report.beyond_literature.iter().cloned());
    lines.extend(report.explanation.as_deref().map(|explanation| {
        let said = if is_full {
            explanation
        } else {
            root_cause(explanation)
        };
        said.to_owned()
    }));
    lines
}

/// What was looked at, the row, the rule as it is written, and its reason.
fn step_line(report: &pb::DecisionReport, step: &pb::StepReport) -> String {
    let readings: Vec<String> = step
        .readings
        .iter()
        .map(|reading| format!("{} {}", reading.name, reading.text))
        .collect();
    let row = step.row.map(|row| match step.table {
        Some(table) if table > 1 => format!("table {table} row {row}"),
        _ => format!("row {row}"),
    });
    let looked_at: Vec<String> = readings.into_iter().chain(row).collect();
    // A choice's steps are sentences already.
    let rule = if is_choice(report) {
        step.rule.clone()
    } else {
        format!("`{}`", step.rule)
    };
    let mut line = match looked_at.as_slice() {
        [] => rule,
        looked_at => format!("{}: {rule}", looked_at.join(", ")),
    };
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
