//! How sure each decision is, the least sure first, and the reading to take next.

use loftwright_proto::v1 as pb;

use super::rest::{in_brackets, some_names};
use super::text::Writer;

/// What of a decision's sureness is told, for the clubs of which the same is to be said.
struct Told {
    /// How many of the plausible sets of readings give the same outcome.
    same: u32,
    moves: bool,
    name: String,
    clubs: Vec<String>,
    text: String,
}

/// Every decision that plausible readings turn; those that none turns are counted.
pub(super) fn how_sure(writer: &mut Writer, decisions: &[pb::DecisionReport], bag: &[String]) {
    let known: Vec<(&pb::DecisionReport, &pb::Sureness)> = decisions
        .iter()
        .filter_map(|report| Some((report, report.sureness.as_ref()?)))
        .collect();
    let Some((_, first)) = known.first() else {
        return;
    };
    writer.section(&format!(
        "How sure: of {} plausible sets of readings so many give the same",
        first.of
    ));
    let mut told: Vec<Told> = Vec::new();
    let mut steady = 0_usize;
    for (report, sureness) in &known {
        if sureness.same == sureness.of {
            steady += 1;
            continue;
        }
        let text = told_of(report, sureness);
        let club = report.club.clone();
        match told
            .iter_mut()
            .find(|told| told.name == report.name && told.text == text)
        {
            Some(told) => told.clubs.extend(club),
            None => told.push(Told {
                same: sureness.same,
                moves: sureness.moves_with_readings,
                name: report.name.clone(),
                clubs: club.into_iter().collect(),
                text,
            }),
        }
    }
    // A stable sort: equals stay in the order of evaluation.
    told.sort_by_key(|told| (told.moves, told.same));
    for told in told {
        let clubs = in_brackets(&told.clubs, bag);
        writer.indented(&format!("  {}{clubs}: ", told.name), 6, &told.text);
    }
    writer.line(&format!("  {steady} outcomes are the same in all of them."));
}

fn told_of(report: &pb::DecisionReport, sureness: &pb::Sureness) -> String {
    let value = match &report.value {
        Some(value) => value.text.clone(),
        None => "without a value".to_owned(),
    };
    if let (true, Some(range)) = (sureness.moves_with_readings, &sureness.range) {
        return format!(
            "{value}, moves from {} through {}",
            range.lowest, range.highest
        );
    }
    let mut text = format!("{value} in {}", sureness.same);
    if let Some(next) = &sureness.runner_up {
        text.push_str(&format!(", {} in {}", next.outcome, next.count));
    }
    if let Some(change) = &sureness.nearest_change {
        text.push_str(&format!(
            "; {} at {} {} ({} away)",
            change.outcome,
            change.input,
            change.reading,
            spreads(&change.distance_in_spreads)
        ));
    }
    text
}

fn spreads(count: &str) -> String {
    match count {
        "1" => "1 spread".to_owned(),
        count => format!("{count} spreads"),
    }
}

/// The reading that would settle most.
pub(super) fn next_reading(writer: &mut Writer, next: Option<&pb::NextReading>) {
    let Some(next) = next else {
        return;
    };
    writer.section("Next reading");
    let outcomes = match next.outcomes {
        1 => "1 outcome".to_owned(),
        many => format!("{many} outcomes"),
    };
    let names = some_names(&next.decisions);
    let first = format!("  {}: ", next.input);
    let text = match next.state() {
        pb::ReadingState::Missing => {
            let settles = match &next.settles {
                Some(settles) if settles.least == settles.most => {
                    format!("; it settles {} of them", settles.most)
                }
                Some(settles) => {
                    format!("; it settles {} to {} of them", settles.least, settles.most)
                }
                None => String::new(),
            };
            format!("not given, and {outcomes} wait for it{settles} ({names})")
        }
        pb::ReadingState::Assumed => {
            format!("was assumed; asking may turn {outcomes} ({names})")
        }
        pb::ReadingState::Uncertain | pb::ReadingState::Unspecified => {
            format!("taking it again, or more often, may turn {outcomes} ({names})")
        }
    };
    writer.indented(&first, 6, &text);
    if let Some(question) = &next.question {
        writer.paragraph("      ", question);
    }
}
