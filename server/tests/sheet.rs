//! The build sheet of an answer made by hand, word for word.

use loftwright_proto::v1 as pb;
use loftwright_server::sheet::{SheetOptions, build_sheet};

fn value(text: &str, exact: &str) -> pb::Value {
    pb::Value {
        text: text.to_owned(),
        kind: pb::ValueKind::Quantity.into(),
        exact: exact.to_owned(),
        measure: String::new(),
    }
}

fn settled(text: &str, exact: &str) -> Option<pb::SettledValue> {
    Some(pb::SettledValue {
        state: Some(pb::settled_value::State::Value(value(text, exact))),
    })
}

fn open(explanation: &str) -> pb::NotSettled {
    pb::NotSettled {
        explanation: explanation.to_owned(),
    }
}

fn open_value(explanation: &str) -> Option<pb::SettledValue> {
    Some(pb::SettledValue {
        state: Some(pb::settled_value::State::NotSettled(open(explanation))),
    })
}

fn part(id: &str, piece: Option<&str>) -> pb::PartBuild {
    pb::PartBuild {
        part_id: id.to_owned(),
        piece_id: piece.map(str::to_owned),
        ..pb::PartBuild::default()
    }
}

fn settled_part(part: pb::PartBuild) -> Option<pb::SettledPart> {
    Some(pb::SettledPart {
        state: Some(pb::settled_part::State::Part(part)),
    })
}

fn field(name: &str, text: &str, exact: &str) -> pb::NamedValue {
    pb::NamedValue {
        name: name.to_owned(),
        value: Some(value(text, exact)),
    }
}

fn driver() -> pb::ClubBuild {
    let mut head = part("D-1", Some("P7"));
    head.fields = vec![
        field("stamped_loft", "10.5 deg", "10.5"),
        field("measured_loft", "10.1 deg", "10.1"),
    ];
    head.setting = vec![pb::NamedText {
        name: "position".to_owned(),
        text: "plus one".to_owned(),
    }];
    pb::ClubBuild {
        name: "driver".to_owned(),
        kind: "driver".to_owned(),
        loft: settled("11 deg", "11"),
        length: settled("44 1/2 in", "1.1303"),
        lie: settled("58 deg", "58"),
        delivered_loft: settled("11.1 deg", "11.1"),
        bend: settled("0 deg", "0"),
        head: settled_part(head),
        shaft: settled_part(pb::PartBuild {
            is_ordered: true,
            lead_time_days: Some(12),
            says: Some("None of this mass on the rack.".to_owned()),
            ..part("S-60", None)
        }),
        grip: Some(pb::SettledPart {
            state: Some(pb::settled_part::State::NotSettled(open(
                "blocked by `hand_grip`: needs `hand_length`",
            ))),
        }),
        grip_wraps: open_value("blocked by `wraps` of the driver: needs `hand_length`"),
        swingweight: settled("C9.5", "29.5"),
        target_swingweight: settled("D2", "32"),
        head_mass_change: settled("4.1 g", "0.0041"),
        ..pb::ClubBuild::default()
    }
}

fn iron(name: &str, bend: (&str, &str), delivered: &str, is_kept: bool) -> pb::ClubBuild {
    let mut head = part("I-1", Some("P9"));
    head.fields = vec![
        field("stamped_loft", "42 deg", "42"),
        field("measured_loft", "41.6 deg", "41.6"),
    ];
    pb::ClubBuild {
        name: name.to_owned(),
        kind: "iron".to_owned(),
        is_kept,
        loft: settled("41 deg", "41"),
        length: settled("36 in", "0.9144"),
        lie: settled("64 deg", "64"),
        bend: settled(bend.0, bend.1),
        delivered_loft: (!is_kept)
            .then(|| settled(&format!("{delivered} deg"), delivered))
            .flatten(),
        head: if is_kept { None } else { settled_part(head) },
        ..pb::ClubBuild::default()
    }
}

fn bounce(club: &str) -> pb::DecisionReport {
    pb::DecisionReport {
        name: "wedge_bounce".to_owned(),
        club: Some(club.to_owned()),
        group: Some("wedge".to_owned()),
        ending: pb::Ending::Decided.into(),
        value: Some(value("high", "high")),
        steps: vec![pb::StepReport {
            readings: vec![pb::NamedText {
                name: "steepness".to_owned(),
                text: "8.1 deg".to_owned(),
            }],
            table: Some(1),
            row: Some(3),
            rule: "over 8 deg gives high".to_owned(),
            value: Some("high".to_owned()),
            because: Some("A steep blow digs.".to_owned()),
        }],
        source: Some("common practice".to_owned()),
        layer: "house".to_owned(),
        replaces: Some("common".to_owned()),
        ..pb::DecisionReport::default()
    }
}

fn recommendation() -> pb::Recommendation {
    pb::Recommendation {
        preview: true,
        ruleset: Some(pb::RulesetIdentity {
            name: "house".to_owned(),
            title: "A house".to_owned(),
            meaning_digest: "0123456789abcdef".to_owned(),
            text_digest: "fedcba9876543210".to_owned(),
            contract_version: 1,
            semantics_version: 1,
            revision: "0".repeat(64),
        }),
        made_on: "2026-05-01".to_owned(),
        clubs: vec![
            driver(),
            iron("7 iron", ("0 deg", "0"), "", true),
            iron("8 iron", ("-0.5 deg", "-0.5"), "41.1", false),
            iron("9 iron", ("1 deg", "1"), "42.6", false),
        ],
        decisions: vec![bounce("wedge 1"), bounce("wedge 2")],
        limits: vec![pb::LimitReport {
            name: "most_clubs".to_owned(),
            answer: pb::LimitAnswer::Broken.into(),
            condition: "number of clubs at most 14".to_owned(),
            text: Some("More than fourteen clubs.".to_owned()),
            source: Some("Rules of Golf, Rule 4.1b(1)".to_owned()),
            ..pb::LimitReport::default()
        }],
        cautions: vec![pb::CautionReport {
            name: "bending".to_owned(),
            clubs: ["7 iron", "8 iron", "9 iron"].map(str::to_owned).to_vec(),
            text: "Eyes covered.".to_owned(),
            source: None,
            at: vec!["bending".to_owned()],
        }],
        missing_readings: vec![pb::MissingReading {
            input: "hand_length".to_owned(),
            question: Some("How long is the hand?".to_owned()),
            decisions: vec!["hand_grip".to_owned(), "club_grip".to_owned()],
        }],
        borderlines: vec![pb::Borderline {
            decision: "wedge_bounce".to_owned(),
            club: Some("wedge 1".to_owned()),
            input: "wedge_attack_angle".to_owned(),
            reading: "-8.1 deg".to_owned(),
            bound: "8 deg".to_owned(),
            distance_in_spreads: "0.08".to_owned(),
            other_side: Some("standard".to_owned()),
        }],
        next_reading: Some(pb::NextReading {
            input: "hand_length".to_owned(),
            question: Some("How long is the hand?".to_owned()),
            state: pb::ReadingState::Missing.into(),
            decisions: vec!["hand_grip".to_owned(), "club_grip".to_owned()],
            outcomes: 9,
            settles: None,
        }),
        ..pb::Recommendation::default()
    }
}

/// As a full view has it: the less sure decision first, a number that moves last.
fn with_sureness(mut recommendation: pb::Recommendation) -> pb::Recommendation {
    let mut steady = bounce("wedge 1");
    steady.name = "steady".to_owned();
    steady.sureness = Some(pb::Sureness {
        same: 64,
        of: 64,
        ..pb::Sureness::default()
    });
    let mut moving = bounce("wedge 1");
    moving.name = "wedge_spin".to_owned();
    moving.sureness = Some(pb::Sureness {
        same: 2,
        of: 64,
        range: Some(pb::OutcomeRange {
            lowest: "8900 rpm".to_owned(),
            highest: "9700 rpm".to_owned(),
        }),
        moves_with_readings: true,
        ..pb::Sureness::default()
    });
    for (place, report) in recommendation.decisions.iter_mut().enumerate() {
        report.sureness = Some(pb::Sureness {
            same: if place == 0 { 41 } else { 37 },
            of: 64,
            runner_up: Some(pb::OutcomeCount {
                outcome: "standard".to_owned(),
                count: 20,
            }),
            nearest_change: Some(pb::NearestChange {
                input: "wedge_attack_angle".to_owned(),
                reading: "-8 deg".to_owned(),
                distance_in_spreads: "0.08".to_owned(),
                outcome: "standard".to_owned(),
            }),
            ..pb::Sureness::default()
        });
    }
    recommendation.decisions.extend([steady, moving]);
    if let Some(next) = &mut recommendation.next_reading {
        next.settles = Some(pb::SettledCount { least: 7, most: 9 });
    }
    recommendation
}

#[test]
fn the_sheet_of_an_answer() {
    let options = SheetOptions {
        player: "somebody".to_owned(),
        ..SheetOptions::default()
    };
    insta::assert_snapshot!("short", build_sheet(&recommendation(), &options));
}

#[test]
fn the_sheet_with_every_step() {
    let options = SheetOptions {
        player: "somebody".to_owned(),
        is_full: true,
        ..SheetOptions::default()
    };
    let answer = with_sureness(recommendation());
    insta::assert_snapshot!("full", build_sheet(&answer, &options));
}

#[test]
fn a_set_that_is_not_decided_is_said_so() {
    let recommendation = pb::Recommendation {
        clubs: Vec::new(),
        ..recommendation()
    };
    let sheet = build_sheet(&recommendation, &SheetOptions::default());
    assert!(
        sheet.contains("The set itself is not decided yet"),
        "{sheet}"
    );
}

#[test]
fn what_lies_beyond_the_literature_stands_under_the_decision() {
    let warning = "`a_model` rests on more than was measured: the spin comes to 9000 rpm";
    let mut recommendation = recommendation();
    for report in &mut recommendation.decisions {
        report.beyond_literature = vec![warning.to_owned()];
    }
    for is_full in [false, true] {
        let options = SheetOptions {
            is_full,
            ..SheetOptions::default()
        };
        let sheet = build_sheet(&recommendation, &options);
        let words: Vec<&str> = sheet.split_whitespace().collect();
        let sheet = words.join(" ");
        let decision = sheet.find("wedge_bounce: ").unwrap_or(usize::MAX);
        let said = sheet.find(warning).unwrap_or_default();
        assert!(decision < said, "{sheet}");
        // The same of both wedges is said once.
        assert_eq!(sheet.matches(warning).count(), 1);
    }
}
