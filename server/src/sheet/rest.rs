//! What is missing, assumed or close to turning; limits; cautions.

use loftwright_proto::v1 as pb;

use super::text::{Writer, clubs_in_short, listed, root_cause};
use crate::ticket::heading;

/// How many names of decisions are listed before the rest is counted.
const NAMES_LISTED: usize = 6;

/// Readings that are missing or assumed.
pub(super) fn missing(writer: &mut Writer, recommendation: &pb::Recommendation) {
    if !recommendation.missing_readings.is_empty() {
        writer.section("Missing readings");
        for reading in &recommendation.missing_readings {
            let question = reading.question.as_deref().unwrap_or_default();
            writer.paragraph(&format!("  {}: ", reading.input), question);
            writer.paragraph("      ", &format!("for {}", some_names(&reading.decisions)));
        }
    }
    if !recommendation.assumed_readings.is_empty() {
        writer.section("Assumed");
        let assumed: Vec<String> = recommendation
            .assumed_readings
            .iter()
            .map(|reading| format!("{} {}", reading.name, reading.text))
            .collect();
        writer.paragraph("  ", &listed(&assumed));
    }
}

pub(super) fn in_brackets(clubs: &[String], bag: &[String]) -> String {
    if clubs.is_empty() {
        String::new()
    } else {
        format!(" ({})", clubs_in_short(clubs, bag))
    }
}

pub(super) fn some_names(names: &[String]) -> String {
    match names.get(..NAMES_LISTED) {
        Some(first) if names.len() > NAMES_LISTED => {
            format!(
                "{} and {} more",
                first.join(", "),
                names.len() - NAMES_LISTED
            )
        }
        _ => listed(names),
    }
}

/// Decisions that another measurement might turn; the same of several clubs once.
pub(super) fn borderlines(writer: &mut Writer, borderlines: &[pb::Borderline], bag: &[String]) {
    if borderlines.is_empty() {
        return;
    }
    writer.section("Borderline: within one spread of a bound; measure again before building");
    let mut bundles: Vec<(&pb::Borderline, Vec<String>)> = Vec::new();
    for near in borderlines {
        let club = near.club.clone();
        let same = |other: &pb::Borderline| {
            let without_club = |one: &pb::Borderline| pb::Borderline {
                club: None,
                ..one.clone()
            };
            without_club(other) == without_club(near)
        };
        match bundles.iter_mut().find(|(other, _)| same(other)) {
            Some((_, clubs)) => clubs.extend(club),
            None => bundles.push((near, club.into_iter().collect())),
        }
    }
    for (near, clubs) in bundles {
        let clubs = in_brackets(&clubs, bag);
        let other = match &near.other_side {
            Some(other) => format!("; beyond it {other}"),
            None => String::new(),
        };
        let distance = match near.distance_in_spreads.as_str() {
            "0" => "is exactly at".to_owned(),
            "1" => "is one spread from".to_owned(),
            spreads => format!("is {spreads} spreads from"),
        };
        writer.paragraph(
            "  ",
            &format!(
                "{}{clubs}: {} {} {distance} {}{other}",
                near.decision, near.input, near.reading, near.bound
            ),
        );
    }
}

/// Limits: those broken and not known by name, the others counted.
pub(super) fn limits(writer: &mut Writer, limits: &[pb::LimitReport], bag: &[String]) {
    if limits.is_empty() {
        return;
    }
    writer.section("Limits");
    let count = |answer: pb::LimitAnswer| {
        limits
            .iter()
            .filter(|limit| limit.answer() == answer)
            .count()
    };
    writer.line(&format!(
        "  {} hold, {} broken, {} not known, {} not asked",
        count(pb::LimitAnswer::Holds),
        count(pb::LimitAnswer::Broken),
        count(pb::LimitAnswer::NotKnown),
        count(pb::LimitAnswer::NotAsked),
    ));
    for (answer, word) in [
        (pb::LimitAnswer::Broken, "BROKEN"),
        (pb::LimitAnswer::NotKnown, "not known"),
    ] {
        for bundle in bundled(limits, answer) {
            let (limit, clubs) = bundle;
            let clubs = in_brackets(&clubs, bag);
            let text = said(limit);
            let source = limit.source.as_deref().map(|source| format!(" [{source}]"));
            writer.paragraph(
                "  ",
                &format!(
                    "{word}: {}{clubs}: {text}{}",
                    limit.name,
                    source.unwrap_or_default()
                ),
            );
        }
    }
}

fn said(limit: &pb::LimitReport) -> &str {
    root_cause(limit.text.as_deref().unwrap_or(&limit.condition))
}

/// The limits with an answer; the same text for several clubs once.
fn bundled(
    limits: &[pb::LimitReport],
    answer: pb::LimitAnswer,
) -> Vec<(&pb::LimitReport, Vec<String>)> {
    let mut bundles: Vec<(&pb::LimitReport, Vec<String>)> = Vec::new();
    for limit in limits.iter().filter(|limit| limit.answer() == answer) {
        let same = |other: &pb::LimitReport| other.name == limit.name && said(other) == said(limit);
        match bundles.iter_mut().find(|(other, _)| same(other)) {
            Some((_, clubs)) => clubs.extend(limit.club.clone()),
            None => bundles.push((limit, limit.club.clone().into_iter().collect())),
        }
    }
    bundles
}

/// Cautions, each with the work that it stands at and the clubs it is raised for.
pub(super) fn cautions(writer: &mut Writer, cautions: &[pb::CautionReport], bag: &[String]) {
    if cautions.is_empty() {
        return;
    }
    writer.section("Cautions");
    for caution in cautions {
        let clubs = in_brackets(&caution.clubs, bag);
        let source = caution
            .source
            .as_deref()
            .map(|source| format!(" [{source}]"));
        let works: Vec<String> = caution
            .at
            .iter()
            .map(|work| heading(work).to_owned())
            .collect();
        let works = match works.as_slice() {
            [] => String::new(),
            works => format!("{}: ", listed(works)),
        };
        let source = source.unwrap_or_default();
        writer.paragraph("  - ", &format!("{works}{}{clubs}{source}", caution.text));
    }
    writer.paragraph(
        "  ",
        "Local codes, the makers' instructions and licensed practice come before this sheet.",
    );
}
