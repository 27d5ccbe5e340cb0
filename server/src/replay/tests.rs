//! Ten thousand recommendations of wedges, made, written as records and evaluated again.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::explain::Briefing;
use loftwright_engine::fit::fit_to_depth;
use loftwright_engine::intake::{self, PlayerText, ReadingText};
use loftwright_engine::parts::Parts;
use loftwright_engine::{CONTRACT_RULES, CONTRACT_VERSION};
use loftwright_proto::v1 as pb;

use super::compared::Side;
use super::digest::ComparedDigest;
use super::summary::Summary;
use super::{NotComparable, Replayed, Replays};
use crate::audit::columns::KnownTexts;
use crate::registry::{Ruleset, StockIdentity, source_of};
use crate::rpc::convert;
use crate::rpc::convert::body::{Body, BodyHead};

/// The smallest ruleset that gives the engine all it reads, with a bag of two wedges beside driver
/// and putter.
fn wedges(edit: impl Fn(String) -> String) -> Ruleset {
    let text = include_str!("../../../tests/corpus/base.rules").to_owned();
    let text = ["fairway_count", "hybrid_count", "iron_count"]
        .into_iter()
        .fold(text, |text, name| {
            let whole = |count: u8| {
                format!("decide {name} : count\n  source common practice\n  gives  {count}\n")
            };
            text.replace(&whole(1), &whole(0))
                .replace(&whole(2), &whole(0))
        });
    let layer = |name: &str, file: &str, text: String| LayerSource {
        name: name.to_owned(),
        files: vec![(file.to_owned(), text)],
    };
    let layers = [
        layer("contract", "contract.rules", CONTRACT_RULES.to_owned()),
        layer("base", "base.rules", edit(text)),
    ];
    let output = check(&layers, CONTRACT_VERSION);
    let findings = &output.diagnostics;
    let program = output.program.unwrap_or_else(|| panic!("{findings:?}"));
    Ruleset {
        source: source_of(&output.folder),
        parts: Parts::new(&program, std::collections::BTreeMap::new()),
        program,
        stock: StockIdentity {
            name: "none".to_owned(),
            digest: String::new(),
            as_of: None,
        },
    }
}

fn text_of(number: usize) -> PlayerText {
    let reading = |value: String| ReadingText {
        value,
        ..ReadingText::default()
    };
    let turf = ["firm", "normal", "soft"][number % 3];
    let tenths = |number: usize| format!("{}.{}", number / 10, number % 10);
    let readings = [
        ("player_hand", "right".to_owned()),
        ("head_speed", format!("{} mph", 60 + number % 60)),
        (
            "wrist_to_floor",
            format!("{} in", tenths(300 + number % 100)),
        ),
        ("attack_angle", format!("-{} deg", tenths(number % 150))),
        ("turf", turf.to_owned()),
    ];
    PlayerText {
        readings: readings
            .into_iter()
            .map(|(name, value)| (name.to_owned(), reading(value)))
            .collect(),
        given: std::collections::BTreeMap::new(),
    }
}

fn day() -> Date {
    Date::parse("2026-05-01").expect("a day")
}

fn answer(ruleset: &Ruleset, request: &pb::RecommendRequest) -> pb::Recommendation {
    let text = convert::player::player_text(request);
    let player = intake::read_player(&ruleset.program, &text).expect("a player");
    let view = pb::RecommendationView::Reasons;
    let depth = convert::depth_of(view);
    let fitted = fit_to_depth(&ruleset.program, &ruleset.parts, &player, day(), depth);
    convert::recommendation(&fitted, ruleset, day(), view, None)
}

/// A recorded body.
fn body(ruleset: &Ruleset, number: usize) -> Vec<u8> {
    body_with(ruleset, number, &known(ruleset))
}

fn body_with(ruleset: &Ruleset, number: usize, known: &KnownTexts) -> Vec<u8> {
    let request = convert::player::request("base", "player-7", &text_of(number));
    let recommendation = answer(ruleset, &request);
    let body = Body {
        request,
        recommendation,
    };
    body.to_bytes(known).expect("bytes")
}

/// The texts of the rules.
fn known(ruleset: &Ruleset) -> KnownTexts {
    KnownTexts::of_source(&ruleset.source.bytes).expect("texts")
}

fn replayed(candidate: &Ruleset, body: &[u8], known: &KnownTexts) -> Replayed {
    let evaluator = Evaluator::new(&candidate.program);
    let mut replays = Replays::new(&evaluator, candidate.parts.clone());
    replays.replay(body, known)
}

/// Four hundred players' records, each evaluated again twenty-five times: what makes records takes
/// longer than what replays them. `benches/examples/replays.rs` does it with as many players.
#[test]
fn ten_thousand_records_under_their_own_revision_are_identical_to_the_bit() {
    let ruleset = wedges(|text| text);
    let evaluator = Evaluator::new(&ruleset.program);
    let mut replays = Replays::new(&evaluator, ruleset.parts.clone());
    let texts = known(&ruleset);
    let mut counts = Summary::default();
    for number in 0..400 {
        let bytes = body_with(&ruleset, number, &texts);
        for position in 0..25 {
            counts.add(position, &replays.replay(&bytes, &texts));
        }
        if number % 8 == 0 {
            let read = Body::of_bytes(&bytes, &texts).expect("a body");
            let again = Body {
                recommendation: answer(&ruleset, &read.request),
                request: read.request,
            };
            assert!(
                again.to_bytes(&texts).as_deref() == Some(&bytes[..]),
                "record {number}"
            );
        }
    }
    assert_eq!((counts.same, counts.changed), (10_000, 0));
    assert!(counts.not_comparable.is_empty());
}

#[test]
fn a_moved_bound_changes_those_beyond_it_by_the_rows_that_are_named() {
    let ruleset = wedges(|text| text);
    let candidate = wedges(|text| {
        text.replace(
            "5 through 8 deg gives standard",
            "5 through 7 deg gives standard",
        )
        .replace("over 8 deg      gives high", "over 7 deg      gives high")
    });
    let evaluator = Evaluator::new(&candidate.program);
    let mut replays = Replays::new(&evaluator, candidate.parts.clone());
    let mut counts = Summary::default();
    // A blow of 7.1 through 8 deg turns from standard to high: 10 of the 150 tenths of a degree.
    let texts = known(&ruleset);
    for number in 0..150 {
        let bytes = body_with(&ruleset, number, &texts);
        let found = replays.replay(&bytes, &texts);
        let is_between = (71..=80).contains(&number);
        assert_eq!(
            matches!(found, Replayed::Changed(_)),
            is_between,
            "{number}: {found:?}"
        );
        counts.add(number as u64, &found);
    }
    assert_eq!((counts.same, counts.changed), (140, 10));
    let decisions = counts.decisions();
    let [bounce] = decisions.as_slice() else {
        panic!("{decisions:?}");
    };
    assert_eq!(
        (bounce.name.as_str(), bounce.recommendations),
        ("wedge_bounce", 10)
    );
    assert_eq!(
        bounce.most_frequent,
        ("standard".to_owned(), "high".to_owned())
    );
    assert_eq!(bounce.example, 71);
    let rows = counts.rows();
    let [(rows, count)] = rows.as_slice() else {
        panic!("{rows:?}");
    };
    // Two wedges each.
    assert_eq!(*count, 20);
    let row = |row: &Option<super::past::DecidingRow>| {
        row.as_ref()
            .map(|row| (row.table, row.row, row.text.clone()))
    };
    assert_eq!(
        row(&rows.old),
        Some((1, Some(2), "5 through 8 deg gives standard".to_owned()))
    );
    assert_eq!(
        row(&rows.new),
        Some((1, Some(3), "over 7 deg gives high".to_owned()))
    );
}

#[test]
fn a_decision_that_is_gone_or_new_is_a_change_and_a_reading_that_is_gone_is_named() {
    let ruleset = wedges(|text| text);
    let (bytes, texts) = (body(&ruleset, 60), known(&ruleset));
    let renamed = wedges(|text| text.replace("shaft_flex", "flex_of_shaft"));
    let Replayed::Changed(changed) = replayed(&renamed, &bytes, &texts) else {
        panic!("a decision has another name");
    };
    let side = |outcome: &str, side: &Side| assert_eq!(side.outcome, outcome);
    let names: Vec<&str> = changed.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["shaft_flex", "flex_of_shaft"]);
    // 60 of 60 mph through 119 begins anew: 60 mph.
    side("soft", &changed[0].old);
    side("not there", &changed[0].new);
    side("not there", &changed[1].old);
    side("soft", &changed[1].new);

    let narrower = wedges(|text| text.replace("input turf : turf_kind", "input lawn : turf_kind"));
    assert_eq!(
        replayed(&narrower, &bytes, &texts),
        Replayed::NotComparable(NotComparable::Readings(vec!["readings.turf".to_owned()]))
    );
    assert_eq!(
        replayed(&ruleset, &bytes[..bytes.len() - 1], &texts),
        Replayed::NotComparable(NotComparable::Damaged)
    );
}

/// The digest at the head of a body is told of the message, the other of the evaluation.
#[test]
fn what_a_record_says_and_what_an_evaluation_says_have_one_digest() {
    let ruleset = wedges(|text| text);
    let bytes = body(&ruleset, 9);
    let head = BodyHead::of_bytes(&bytes).expect("a head");
    let player = intake::read_player(&ruleset.program, &text_of(9)).expect("a player");
    let evaluator = Evaluator::new(&ruleset.program);
    let briefs = Briefing::of(&evaluator, &ruleset.parts, &player, day()).briefs();
    assert_eq!(ComparedDigest::of_briefs(&briefs), head.compared);
    assert_ne!(ComparedDigest::of_briefs(&briefs[1..]), head.compared);

    // Nobody reads a body whose head says something else than its decisions.
    let at = bytes
        .windows(32)
        .position(|window| window == head.compared.as_bytes())
        .expect("the digest");
    let mut other = bytes.clone();
    other[at] ^= 1;
    assert!(Body::of_bytes(&bytes, &known(&ruleset)).is_some());
    assert!(Body::of_bytes(&other, &known(&ruleset)).is_none());
}

#[test]
fn the_unit_in_which_a_number_is_shown_changes_nothing() {
    let ruleset = wedges(|text| text);
    let bytes = body(&ruleset, 1);
    let shown = wedges(|text| {
        let plain = "decide club_length : length, for each club\n";
        let in_centimetres = "decide club_length : length, for each club, shown in cm\n";
        text.replace(plain, in_centimetres)
    });
    let request = convert::player::request("base", "player-7", &text_of(1));
    let lengths = |ruleset: &Ruleset| {
        let decisions = answer(ruleset, &request).decisions.into_iter();
        let lengths = decisions.filter(|one| one.name == "club_length");
        lengths
            .map(|one| one.value.expect("a value").text)
            .collect::<Vec<_>>()
    };
    assert_ne!(
        lengths(&shown),
        lengths(&ruleset),
        "people read something else"
    );
    let found = replayed(&shown, &bytes, &known(&ruleset));
    assert_eq!(found, Replayed::Same);
}
