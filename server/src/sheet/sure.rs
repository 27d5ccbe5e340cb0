//! How sure each decision is, the least sure first, and the reading to take next.

use loftwright_proto::v1 as pb;

use super::rest::{in_brackets, some_names};
use super::text::Writer;

/// What is known of one decision, for one club or for each.
struct Told<'a> {
    reports: Vec<(&'a pb::DecisionReport, &'a pb::Sureness)>,
}

/// Every decision that plausible readings turn, the least sure first; what none turns is counted.
pub(super) fn how_sure(writer: &mut Writer, decisions: &[pb::DecisionReport], bag: &[String]) {
    let known: Vec<(&pb::DecisionReport, &pb::Sureness)> = decisions
        .iter()
        .filter_map(|report| Some((report, report.sureness.as_ref()?)))
        .collect();
    let Some((_, first)) = known.first() else {
        return;
    };
    writer.section(&format!(
        "How sure: in how many of {} plausible sets of readings it comes out the same",
        first.of
    ));
    let mut told: Vec<Told<'_>> = Vec::new();
    let unsure = known
        .iter()
        .filter(|(_, sureness)| sureness.same < sureness.of);
    for (report, sureness) in unsure {
        let same = |told: &&mut Told<'_>| told.name() == report.name;
        match told.iter_mut().find(same) {
            Some(told) => told.reports.push((report, sureness)),
            None => told.push(Told {
                reports: vec![(report, sureness)],
            }),
        }
    }
    // A stable sort: equals stay in the order of evaluation.
    told.sort_by_key(|told| (told.moves(), told.least()));
    let steady = known.len() - told.iter().map(|told| told.reports.len()).sum::<usize>();
    for told in told {
        writer.indented(&format!("  {}: ", told.head(bag)), 6, &told.text());
    }
    writer.line(&format!(
        "  {steady} others come out the same in all of them."
    ));
}

impl Told<'_> {
    fn name(&self) -> &str {
        self.reports.first().map_or("", |(report, _)| &report.name)
    }

    fn head(&self, bag: &[String]) -> String {
        let clubs = self.reports.iter();
        let clubs: Vec<String> = clubs
            .filter_map(|(report, _)| report.club.clone())
            .collect();
        format!("{}{}", self.name(), in_brackets(&clubs, bag))
    }

    /// Whether it is a number that moves with the readings.
    fn moves(&self) -> bool {
        self.reports
            .iter()
            .all(|(_, sureness)| sureness.moves_with_readings)
    }

    fn least(&self) -> u32 {
        let same = self.reports.iter().map(|(_, sureness)| sureness.same);
        same.min().unwrap_or(0)
    }

    /// What is to be said of the club that is least sure, which speaks for the others.
    fn text(&self) -> String {
        let most = self.reports.iter().map(|(_, sureness)| sureness.same).max();
        let Some((report, sureness)) = self.reports.iter().min_by_key(|(_, one)| one.same) else {
            return String::new();
        };
        let text = told_of(report, sureness);
        let all_alike = self
            .reports
            .iter()
            .all(|(report, sureness)| told_of(report, sureness) == text);
        match &report.club {
            Some(club) if !all_alike => {
                let most = most.unwrap_or(sureness.same);
                let shares = if most == sureness.same || sureness.moves_with_readings {
                    String::new()
                } else {
                    format!("{} to {most}; ", sureness.same)
                };
                format!("{shares}{club} {text}")
            }
            _ => text,
        }
    }
}

fn told_of(report: &pb::DecisionReport, sureness: &pb::Sureness) -> String {
    let value = match &report.value {
        Some(value) => value.text.clone(),
        None => "without a value".to_owned(),
    };
    if let (true, Some(range)) = (sureness.moves_with_readings, &sureness.range) {
        return format!("{value}, from {} through {}", range.lowest, range.highest);
    }
    let mut text = format!("{value} in {}", sureness.same);
    if let Some(next) = &sureness.runner_up {
        text.push_str(&format!(", {} in {}", next.outcome, next.count));
    }
    if let Some(change) = &sureness.nearest_change {
        let is_next = sureness
            .runner_up
            .as_ref()
            .is_some_and(|next| next.outcome == change.outcome);
        let outcome = if is_next {
            "turns".to_owned()
        } else {
            format!("{} comes", change.outcome)
        };
        let distance = match change.distance_in_spreads.as_str() {
            "0" => "right where it is".to_owned(),
            "1" => "1 spread away".to_owned(),
            spreads => format!("{spreads} spreads away"),
        };
        text.push_str(&format!(
            "; {outcome} at {} {}, {distance}",
            change.input, change.reading
        ));
    }
    text
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
