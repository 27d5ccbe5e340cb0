//! A request becomes the texts that the engine's intake reads, and its faults become the
//! interface's.

use std::collections::BTreeMap;

use loftwright_engine::intake::{Fault, PlayerText, ReadingText};
use loftwright_proto::v1 as pb;

use crate::rpc::refusal::FieldFault;

/// The group of the contract that holds the clubs a player keeps.
const KEPT: &str = "kept";

/// The readings and clubs of a request, as texts.
pub fn player_text(request: &pb::RecommendRequest) -> PlayerText {
    let readings = request
        .readings
        .iter()
        .map(|(name, reading)| (name.clone(), reading_text(reading)))
        .collect();
    let kept: Vec<BTreeMap<String, String>> =
        request.kept_clubs.iter().map(kept_club_text).collect();
    let given = if kept.is_empty() {
        BTreeMap::new()
    } else {
        BTreeMap::from([(KEPT.to_owned(), kept)])
    };
    PlayerText { readings, given }
}

fn reading_text(reading: &pb::Reading) -> ReadingText {
    ReadingText {
        value: reading.value.clone(),
        spread: reading.spread.clone(),
        shots: reading.shots,
    }
}

fn kept_club_text(club: &pb::KeptClub) -> BTreeMap<String, String> {
    let kind = (!club.kind.is_empty()).then(|| club.kind.clone());
    [
        ("kind", &kind),
        ("loft", &club.loft),
        ("length", &club.length),
        ("shaft_mass", &club.shaft_mass),
        ("carry", &club.carry),
        ("bought_on", &club.bought_on),
    ]
    .into_iter()
    .filter_map(|(name, text)| Some((name.to_owned(), text.clone()?)))
    .collect()
}

/// The request that says the same as the texts: what the demonstration and a client of our own
/// send.
pub fn request(ruleset: &str, subject: &str, player: &PlayerText) -> pb::RecommendRequest {
    let readings = player
        .readings
        .iter()
        .map(|(name, reading)| {
            let reading = pb::Reading {
                value: reading.value.clone(),
                spread: reading.spread.clone(),
                shots: reading.shots,
            };
            (name.clone(), reading)
        })
        .collect();
    let kept_clubs = player
        .given
        .get(KEPT)
        .into_iter()
        .flatten()
        .map(kept_club)
        .collect();
    pb::RecommendRequest {
        ruleset: ruleset.to_owned(),
        subject: subject.to_owned(),
        readings,
        kept_clubs,
        request_id: String::new(),
        preview: true,
        view: pb::RecommendationView::Full.into(),
        ticket: false,
        supersedes: String::new(),
    }
}

fn kept_club(fields: &BTreeMap<String, String>) -> pb::KeptClub {
    let field = |name: &str| fields.get(name).cloned();
    pb::KeptClub {
        kind: field("kind").unwrap_or_default(),
        loft: field("loft"),
        length: field("length"),
        shaft_mass: field("shaft_mass"),
        carry: field("carry"),
        bought_on: field("bought_on"),
    }
}

/// The intake's faults under the request's own paths.
pub fn faults(faults: Vec<Fault>) -> Vec<FieldFault> {
    faults
        .into_iter()
        .map(|fault| FieldFault {
            field: match fault.field.strip_prefix("kept[") {
                Some(rest) => format!("kept_clubs[{rest}"),
                None => fault.field,
            },
            sentence: fault.message,
        })
        .collect()
}
