//! Players: readings under old and new names, ranges, spreads, shots, clubs; all faults at once.

use std::collections::BTreeMap;

use loftwright_dsl::program::Value;
use loftwright_dsl::quantity::Rational;
use loftwright_engine::intake::{
    Fault, FaultKind, MOST_FAULTS, MOST_KEPT_CLUBS, MOST_READINGS, PlayerText, ReadingText,
    first_faults, read_player,
};
use loftwright_engine::player::Player;

use crate::support::{fields, input, lines, program, readings};

fn player(text: &PlayerText) -> Player {
    match read_player(&program(), text) {
        Ok(player) => player,
        Err(faults) => panic!("{:#?}", lines(&faults)),
    }
}

fn faults(text: &PlayerText) -> Vec<String> {
    match read_player(&program(), text) {
        Ok(player) => panic!("{player:?}"),
        Err(faults) => lines(&faults),
    }
}

fn measured(name: &str, value: &str, spread: Option<&str>, shots: Option<u32>) -> PlayerText {
    let mut text = PlayerText::default();
    let reading = ReadingText {
        value: value.to_owned(),
        spread: spread.map(str::to_owned),
        shots,
    };
    text.readings.insert(name.to_owned(), reading);
    text
}

fn brings(clubs: Vec<BTreeMap<String, String>>) -> PlayerText {
    PlayerText {
        given: BTreeMap::from([("kept".to_owned(), clubs)]),
        ..PlayerText::default()
    }
}

#[test]
fn the_same_length_in_two_units_is_the_same_player() {
    let inches = player(&readings(&[("wrist_to_floor", "34.5 in")]));
    let millimetres = player(&readings(&[("wrist_to_floor", "876.3 mm")]));
    assert_eq!(inches, millimetres);
}

#[test]
fn a_reading_keeps_its_spread_and_shots() {
    let program = program();
    let read = player(&measured(
        "wedge_attack_angle",
        "-6.5 deg",
        Some("1.2 deg"),
        Some(7),
    ));
    let reading = &read.readings[&input(&program, "wedge_attack_angle")];
    let number = |above, below| Rational::fraction(above, below).expect("a fraction");
    assert_eq!(reading.value, Value::Number(number(-13, 2)));
    assert_eq!(reading.spread, Some(number(6, 5)));
    assert_eq!(reading.shots, 7);
    let read = player(&readings(&[("age", "41")]));
    let reading = &read.readings[&input(&program, "age")];
    assert_eq!((reading.spread, reading.shots), (None, 1));
}

#[test]
fn a_spread_is_a_difference_of_the_type() {
    let program = program();
    let read = player(&measured(
        "range_temperature",
        "20 degC",
        Some("9 degF"),
        None,
    ));
    let id = input(&program, "range_temperature");
    assert_eq!(read.readings[&id].spread, Some(Rational::whole(5)));
    let read = player(&measured("feel", "D2", Some("0.5 point"), None));
    let half = Rational::fraction(1, 2).ok();
    assert_eq!(read.readings[&input(&program, "feel")].spread, half);
    assert_eq!(
        faults(&measured("feel", "D2", Some("D1"), None)),
        [
            "readings.feel.spread: `D1` is a swingweight; a swingweight_change is needed, such as \
          `1 point`"
        ]
    );
    assert_eq!(
        faults(&measured(
            "wedge_attack_angle",
            "-5 deg",
            Some("0 deg"),
            None
        )),
        [
            "readings.wedge_attack_angle.spread: the spread `0 deg` is not above zero; an angle \
          above zero is needed"
        ]
    );
    assert_eq!(
        faults(&measured(
            "wedge_attack_angle",
            "-5 deg",
            Some("-1 deg"),
            None
        )),
        [
            "readings.wedge_attack_angle.spread: the spread `-1 deg` is not above zero; an angle \
          above zero is needed"
        ]
    );
    assert_eq!(
        faults(&measured("sore_hands", "yes", Some("1"), Some(3))),
        [
            "readings.sore_hands.spread: a yes or no has no spread; leave it out",
            "readings.sore_hands.shots: a yes or no is not measured by shots; leave them out",
        ]
    );
    assert_eq!(
        faults(&measured("first_visit", "2026-05-01", Some("3 days"), None)),
        ["readings.first_visit.spread: a date has no spread; leave it out"]
    );
}

#[test]
fn shots_are_counted_from_one_to_a_thousand() {
    for shots in [1, 1_000] {
        player(&measured("wedge_attack_angle", "-5 deg", None, Some(shots)));
    }
    for shots in [0, 1_001] {
        assert_eq!(
            faults(&measured("wedge_attack_angle", "-5 deg", None, Some(shots))),
            [format!(
                "readings.wedge_attack_angle.shots: {shots} shots were sent; a whole number from 1 \
                 through 1000 is allowed"
            )]
        );
    }
}

#[test]
fn both_ends_of_a_range_belong_to_it() {
    for text in ["-20 deg", "10 deg"] {
        player(&readings(&[("wedge_attack_angle", text)]));
    }
    for text in ["-20.0000000001 deg", "10.0000000001 deg"] {
        faults(&readings(&[("wedge_attack_angle", text)]));
    }
    // 48 in is 1219.2 mm.
    player(&readings(&[("wrist_to_floor", "1219.2 mm")]));
    assert_eq!(
        faults(&readings(&[("wrist_to_floor", "1219.3 mm")])),
        [
            "readings.wrist_to_floor: `1219.3 mm` (≈48.0039 in) is out of range; a length from \
          18.1 in through 48 in is allowed"
        ]
    );
}

#[test]
fn a_range_is_shown_in_the_unit_of_the_input() {
    let cases = [
        (
            "wedge_attack_angle",
            "11 deg",
            "an angle from -20 deg through 10 deg",
        ),
        ("age", "3", "a whole number from 4 through 110"),
        ("feel", "A0", "a swingweight from C0 through E5"),
        (
            "range_temperature",
            "46 degC",
            "a temperature from -10 degC through 45 degC",
        ),
        ("handicap", "54.1", "a number from -8 through 54"),
    ];
    for (name, text, allowed) in cases {
        assert_eq!(
            faults(&readings(&[(name, text)])),
            [format!(
                "readings.{name}: `{text}` is out of range; {allowed} is allowed"
            )]
        );
    }
}

#[test]
fn an_example_lies_within_the_range() {
    assert_eq!(
        faults(&readings(&[("wrist_to_floor", "tall"), ("age", "old")])),
        [
            "readings.age: `old` is not a whole number; a whole number from 4 through 110 is \
             needed, such as `4`",
            "readings.wrist_to_floor: `tall` is not a number; a length from 18.1 in through 48 in \
             is needed, such as `34 1/2 in`",
        ]
    );
    assert_eq!(
        faults(&readings(&[("wrist_to_floor", "3,4 m")])),
        [
            "readings.wrist_to_floor: `3,4 m` has a decimal comma, and `3.4 m` is out of range; a length \
             from \
          18.1 in through 48 in is allowed"
        ]
    );
}

#[test]
fn an_earlier_name_is_read_as_the_current_one() {
    let old = player(&readings(&[("wedge_aoa", "-6.5 deg")]));
    let new = player(&readings(&[("wedge_attack_angle", "-6.5 deg")]));
    assert_eq!(old, new);
    assert_eq!(
        faults(&readings(&[
            ("wedge_aoa", "-6.5 deg"),
            ("wedge_attack_angle", "-6.5 deg")
        ])),
        [
            "readings.wedge_aoa: `wedge_aoa` and `wedge_attack_angle` are the same reading under \
             two \
          names; send `wedge_attack_angle` alone"
        ]
    );
}

#[test]
fn names_that_cannot_be_sent() {
    assert_eq!(
        faults(&readings(&[
            ("today", "2026-05-01"),
            ("wedge_attack_angel", "-5 deg"),
            ("wedge_ao", "-5 deg"),
            ("steepness", "5 deg"),
            ("made_count", "5"),
            ("wingspan", "5 ft"),
        ])),
        [
            "readings.made_count: `made_count` is worked out by the rules; it is not sent",
            "readings.steepness: `steepness` is worked out by the rules; it is not sent",
            "readings.today: `today` is filled by the engine; it is not sent",
            "readings.wedge_ao: `house` has no input `wedge_ao`; did you mean \
             `wedge_attack_angle`?",
            "readings.wedge_attack_angel: `house` has no input `wedge_attack_angel`; did you mean \
             `wedge_attack_angle`?",
            "readings.wingspan: `house` has no input `wingspan`",
        ]
    );
}

#[test]
fn clubs_are_read_in_their_order() {
    let putter = fields(&[("kind", "putter"), ("length", "34 in")]);
    let iron = fields(&[("kind", "iron"), ("length", "37 in"), ("loft", "30 deg")]);
    let read = player(&brings(vec![putter, iron]));
    let clubs: Vec<_> = read.given.values().flatten().collect();
    let kinds: Vec<_> = clubs.iter().map(|club| club[0].clone()).collect();
    assert_eq!(kinds, [Some(Value::Word(2)), Some(Value::Word(1))]);
    assert_eq!(clubs[0][1], None);
    assert_eq!(clubs[1][1], Some(Value::Number(Rational::whole(30))));
    assert_eq!(player(&brings(Vec::new())), player(&PlayerText::default()));
}

#[test]
fn every_fault_of_the_clubs_is_named() {
    let text = brings(vec![
        fields(&[("kind", "puter"), ("length", "34 in")]),
        fields(&[("kind", "iron"), ("lenght", "37 in"), ("loft", "90 deg")]),
    ]);
    assert_eq!(
        faults(&text),
        [
            "kept[1].kind: `puter` is not a value of `club_kind`; allowed are `driver`, `iron`, \
             `putter`; did you mean `putter`?",
            "kept[2].lenght: there is no field `lenght`; allowed are `kind`, `loft`, `length`, \
             `bought_on`; did you mean `length`?",
            "kept[2].loft: `90 deg` is out of range; an angle from -15 deg through 80 deg is \
             allowed",
            "kept[2].length: `length` is missing; a length from 18 in through 60 in is needed, \
             such \
             as `34 1/2 in`",
        ]
    );
}

#[test]
fn clubs_of_other_groups_are_not_brought() {
    let mut text = PlayerText::default();
    text.given.insert("kpet".to_owned(), Vec::new());
    text.given.insert("made".to_owned(), Vec::new());
    assert_eq!(
        faults(&text),
        [
            "kpet: there is no group `kpet`; clubs are sent for `kept`; did you mean `kept`?",
            "made: the clubs of `made` are made by the engine; clubs are sent for `kept`",
        ]
    );
}

#[test]
fn a_bag_is_the_most_he_brings() {
    let putters = |count| {
        let putter = || fields(&[("kind", "putter"), ("length", "34 in")]);
        brings(std::iter::repeat_with(putter).take(count).collect())
    };
    player(&putters(MOST_KEPT_CLUBS));
    assert_eq!(
        faults(&putters(MOST_KEPT_CLUBS + 1)),
        ["kept: 15 clubs were sent; at most 14 are read"]
    );
}

#[test]
fn fields_and_readings_are_limited() {
    let many = |count: usize| -> PlayerText {
        let names = (0..count).map(|place| format!("reading_{place:04}"));
        PlayerText {
            readings: names.map(|name| (name, ReadingText::default())).collect(),
            ..PlayerText::default()
        }
    };
    let at_limit = faults(&many(MOST_READINGS));
    assert!(!at_limit.iter().any(|line| line.contains("at most")));
    assert_eq!(
        faults(&many(MOST_READINGS + 1))[0],
        "readings: 1001 readings were sent; at most 1000 are read"
    );
    let wide: BTreeMap<_, _> = (0..201)
        .map(|place| (format!("field_{place}"), "1".to_owned()))
        .collect();
    assert_eq!(
        faults(&brings(vec![wide])),
        ["kept[1]: 201 fields were sent; at most 200 are read of one"]
    );
}

#[test]
fn all_faults_come_at_once_and_the_answer_has_an_end() {
    let mut text = readings(&[
        ("age", "NaN"),
        ("wrist_to_floor", "34 kg"),
        ("sore_hands", "maybe"),
    ]);
    text.given = brings(vec![fields(&[("kind", "iron")])]).given;
    let faults = read_player(&program(), &text).expect_err("faults");
    let paths: Vec<_> = faults.iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(
        paths,
        [
            "readings.age",
            "readings.sore_hands",
            "readings.wrist_to_floor",
            "kept[1].length"
        ]
    );
    let sent: Vec<_> = faults.iter().map(|fault| fault.sent.as_str()).collect();
    assert_eq!(sent, ["NaN", "maybe", "34 kg", ""]);
    let fault = |place: usize| Fault {
        kind: FaultKind::Unreadable,
        field: place.to_string(),
        sent: String::new(),
        message: String::new(),
        first: None,
    };
    let (first, rest) = first_faults((0..MOST_FAULTS + 3).map(fault).collect());
    assert_eq!((first.len(), rest), (50, 3));
    let (first, rest) = first_faults((0..MOST_FAULTS).map(fault).collect());
    assert_eq!((first.len(), rest), (50, 0));
}
