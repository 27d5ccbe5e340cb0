//! The explanation as a terminal shows it, in the manner of the build sheet.

use loftwright_proto::v1 as pb;

use super::facts::came_to;
use super::graph::display_name;
use crate::sheet::text::{Writer, clubs_in_short};

/// How many names a line lists before it counts the rest.
const NAMES_LISTED: usize = 8;

/// The explanation as text, within 100 columns.
pub(crate) fn text(explanation: &pb::Explanation, is_coloured: bool) -> String {
    let mut writer = Writer::new(is_coloured);
    head(&mut writer, explanation);
    match &explanation.why_not {
        Some(why_not) => not_taken(&mut writer, why_not),
        None if is_asked(explanation) => {
            let all = clubs_of(&explanation.decisions);
            for (decision, clubs) in alike(&explanation.decisions) {
                in_full(&mut writer, &decision, &clubs_in_short(&clubs, &all));
            }
        }
        None => in_short(&mut writer, explanation),
    }
    if explanation.why_not.is_none() {
        assumed(&mut writer, explanation);
        replaced(&mut writer, explanation);
    }
    foot(&mut writer, explanation);
    writer.into_text()
}

/// Whether decisions were asked for by name: only then is their graph there.
fn is_asked(explanation: &pb::Explanation) -> bool {
    let mut names = explanation.decisions.iter().filter_map(|decision| {
        let report = decision.report.as_ref()?;
        Some(report.name.as_str())
    });
    let first = names.next();
    first.is_some() && names.all(|name| Some(name) == first)
}

fn head(writer: &mut Writer, explanation: &pb::Explanation) {
    let id = explanation
        .record
        .as_ref()
        .map_or("", |record| record.id.as_str());
    writer.heading(&format!("Record {id}"));
    let instant = explanation.instant.as_ref().map(ToString::to_string);
    writer.line(&format!(
        "  made on {}, recorded {}",
        explanation.made_on,
        instant.unwrap_or_default()
    ));
    if let Some(ruleset) = &explanation.ruleset {
        let short = ruleset.revision.get(..12).unwrap_or(&ruleset.revision);
        writer.line(&format!(
            "  by {} revision {short}, contract {}, semantics {}",
            ruleset.name, ruleset.contract_version, ruleset.semantics_version
        ));
    }
}

/// Every decision with its value.
fn in_short(writer: &mut Writer, explanation: &pb::Explanation) {
    writer.section("Decisions");
    let reports = explanation
        .decisions
        .iter()
        .filter_map(|one| one.report.as_ref());
    for report in reports {
        let name = display_name(&report.name, report.club.as_deref());
        writer.indented(&format!("  {name}: "), 6, &came_to(report));
    }
    writer.line("");
    writer.paragraph(
        "  ",
        "Ask for one of them with --why DECISION or --why DECISION/CLUB.",
    );
}

fn clubs_of(decisions: &[pb::ExplainedDecision]) -> Vec<String> {
    let reports = decisions.iter().filter_map(|one| one.report.as_ref());
    reports.filter_map(|report| report.club.clone()).collect()
}

/// Decisions that came about in the same way, each once without its club, with the clubs.
fn alike(decisions: &[pb::ExplainedDecision]) -> Vec<(pb::ExplainedDecision, Vec<String>)> {
    let mut bundles: Vec<(pb::ExplainedDecision, Vec<String>)> = Vec::new();
    for decision in decisions {
        let mut bare = decision.clone();
        let club = bare.report.as_mut().and_then(|report| report.club.take());
        bare.rests_on.iter_mut().for_each(|node| node.club = None);
        bare.borderlines
            .iter_mut()
            .for_each(|near| near.club = None);
        match bundles.iter_mut().find(|(known, _)| *known == bare) {
            Some((_, clubs)) => clubs.extend(club),
            None => bundles.push((bare, club.into_iter().collect())),
        }
    }
    bundles
}

/// One decision: the steps, what it rested on, what turns it.
fn in_full(writer: &mut Writer, decision: &pb::ExplainedDecision, clubs: &str) {
    let Some(report) = &decision.report else {
        return;
    };
    let name = match clubs {
        "" => report.name.clone(),
        clubs => format!("{} ({clubs})", report.name),
    };
    writer.section(&format!("Why {name}: {}", came_to(report)));
    if let Some(about) = &report.about {
        writer.paragraph("  ", about);
    }
    let source = report.source.as_deref().unwrap_or("no source given");
    let layer = match &report.replaces {
        Some(replaced) => format!("{}, in place of {replaced}", report.layer),
        None => report.layer.clone(),
    };
    writer.indented("  source  ", 10, &format!("{source}; {layer}"));
    for step in &report.steps {
        let line = step_text(step);
        let first = match (step.table, step.row) {
            (Some(table), Some(row)) if table > 1 => format!("  table {table} row {row}  "),
            (_, Some(row)) => format!("  row {row}  "),
            _ => "  step  ".to_owned(),
        };
        writer.indented(&first, 10, &line);
    }
    for (label, sentence) in report
        .explanation
        .iter()
        .map(|sentence| ("open", sentence))
        .chain(
            report
                .beyond_literature
                .iter()
                .map(|sentence| ("note", sentence)),
        )
    {
        writer.indented(&format!("  {label}    "), 10, sentence);
    }
    if !report.needs.is_empty() {
        writer.indented("  needs   ", 10, &report.needs.join(", "));
    }
    if !report.blocked_by.is_empty() {
        writer.indented(
            "  waits   ",
            10,
            &format!("for {}", report.blocked_by.join(", ")),
        );
    }
    rested_on(writer, &decision.rests_on);
    turned_by(writer, decision);
}

fn step_text(step: &pb::StepReport) -> String {
    let readings: Vec<String> = step
        .readings
        .iter()
        .map(|reading| format!("{} {}", reading.name, reading.text))
        .collect();
    let mut text = match readings.as_slice() {
        [] => step.rule.clone(),
        readings => format!("{}: {}", readings.join(", "), step.rule),
    };
    if let Some(value) = &step.value {
        text.push_str(&format!(" → {value}"));
    }
    if let Some(because) = &step.because {
        text.push_str(&format!(". {because}"));
    }
    text
}

fn rested_on(writer: &mut Writer, nodes: &[pb::ExplainedNode]) {
    if nodes.is_empty() {
        return;
    }
    writer.line("");
    writer.line("  It rested on, readings first:");
    for node in nodes {
        let name = display_name(&node.name, node.club.as_deref());
        let value = node.value.clone();
        let from = match some(&node.looks_at) {
            looks_at if looks_at.is_empty() => None,
            looks_at => Some(format!("from {looks_at}")),
        };
        let said: Vec<String> = value.into_iter().chain(from).collect();
        let first = format!("  {:<9} ", kind_word(node.kind()));
        let text = match said.as_slice() {
            [] => name,
            said => format!("{name}: {}", said.join(", ")),
        };
        writer.indented(&first, 14, &text);
    }
}

/// The word for what something in the graph is.
pub(crate) fn kind_word(kind: pb::ExplainedKind) -> &'static str {
    match kind {
        pb::ExplainedKind::Reading => "reading",
        pb::ExplainedKind::Assumed => "assumed",
        pb::ExplainedKind::Missing => "not given",
        pb::ExplainedKind::Computed => "computed",
        pb::ExplainedKind::Decision => "decision",
        pb::ExplainedKind::Choice => "choice",
        pb::ExplainedKind::Group => "clubs",
        pb::ExplainedKind::Unspecified => "",
    }
}

fn some(names: &[String]) -> String {
    // A choice looks at a great many things.
    const SHOWN: usize = 4;
    match names.get(..SHOWN) {
        Some(first) if names.len() > SHOWN => {
            format!("{} and {} more", first.join(", "), names.len() - SHOWN)
        }
        _ => names.join(", "),
    }
}

fn turned_by(writer: &mut Writer, decision: &pb::ExplainedDecision) {
    for near in &decision.borderlines {
        let other = match &near.other_side {
            Some(other) => format!("; beyond it {other}"),
            None => String::new(),
        };
        writer.indented(
            "  near    ",
            10,
            &format!(
                "{} {} is {} spreads from the bound {}{other}",
                near.input, near.reading, near.distance_in_spreads, near.bound
            ),
        );
    }
    if let Some(change) = &decision.nearest_change {
        writer.indented("  turns   ", 10, &nearest_change(change));
    }
}

/// The nearest change in a sentence.
pub(crate) fn nearest_change(change: &pb::NearestChange) -> String {
    let distance = match change.distance_in_spreads.as_str() {
        "0" => "right where it is".to_owned(),
        "1" => "1 spread away".to_owned(),
        spreads => format!("{spreads} spreads away"),
    };
    format!(
        "{} comes at {} {}, {distance}: the nearest change that was found along one reading",
        change.outcome, change.input, change.reading
    )
}

fn not_taken(writer: &mut Writer, why_not: &pb::WhyNot) {
    let name = display_name(&why_not.decision, why_not.club.as_deref());
    writer.section(&format!("Why not {} for {name}", why_not.asked));
    writer.indented("  came out  ", 12, &why_not.came_out);
    writer.indented("  answer    ", 12, &why_not.answer);
    for row in &why_not.rows {
        writer.line("");
        let place = match row.table {
            0 | 1 => format!("  row {}  ", row.row),
            table => format!("  table {table} row {}  ", row.row),
        };
        writer.indented(&place, 10, &format!("`{}`", row.rule));
        writer.paragraph("          ", &row.standing);
        if let Some(because) = &row.because {
            writer.paragraph("          ", because);
        }
    }
    if why_not.candidates.len() == 1 && why_not.candidates.iter().all(|one| one.scores.is_empty()) {
        return;
    }
    for candidate in &why_not.candidates {
        writer.line("");
        let setting: Vec<String> = candidate
            .setting
            .iter()
            .map(|field| format!(", {} {}", field.name, field.text))
            .collect();
        let first = format!("  {}{}  ", candidate.code, setting.concat());
        // Of one alone the answer says it.
        if why_not.candidates.len() > 1 {
            writer.indented(&first, 6, &candidate.standing);
        }
        if !candidate.scores.is_empty() {
            let rows: Vec<Vec<String>> = candidate.scores.iter().map(score_row).collect();
            writer.table(&["prefers", "of", "it", "the one taken"], &rows);
        }
    }
}

fn score_row(score: &pb::PreferenceScore) -> Vec<String> {
    let shown = |scored: &Option<String>| scored.clone().unwrap_or_else(|| "-".to_owned());
    vec![
        score.prefers.clone(),
        score.weight.clone(),
        shown(&score.own),
        shown(&score.taken),
    ]
}

fn assumed(writer: &mut Writer, explanation: &pb::Explanation) {
    if explanation.assumed.is_empty() {
        return;
    }
    writer.section("Assumed, since no reading was given");
    for reading in &explanation.assumed {
        let names = match reading.decisions.get(..NAMES_LISTED) {
            Some(first) if reading.decisions.len() > NAMES_LISTED => format!(
                "{} and {} more",
                first.join(", "),
                reading.decisions.len() - NAMES_LISTED
            ),
            _ => reading.decisions.join(", "),
        };
        let rests = match names.as_str() {
            "" => "no decision rests on it".to_owned(),
            names => format!("{names} rest on it"),
        };
        writer.indented(
            &format!("  {} {}: ", reading.input, reading.value),
            6,
            &rests,
        );
    }
}

fn replaced(writer: &mut Writer, explanation: &pb::Explanation) {
    if explanation.replaced.is_empty() {
        return;
    }
    writer.section("Decided by the house in place of the trade");
    for replacement in &explanation.replaced {
        let about = replacement.about.as_deref().unwrap_or_default();
        let first = format!(
            "  {} ({} in place of {}): ",
            replacement.decision, replacement.layer, replacement.replaced
        );
        writer.indented(&first, 6, about);
    }
}

fn foot(writer: &mut Writer, explanation: &pb::Explanation) {
    let again = explanation.evaluated_again.as_ref();
    let said = again.map(|again| again.sentence.clone());
    let kept = explanation.rules_not_kept.as_ref();
    let kept = kept.map(|why| format!("the graph has only what the record holds: {why}"));
    for sentence in said.into_iter().chain(kept) {
        writer.line("");
        writer.indented("  ", 2, &sentence);
    }
}
