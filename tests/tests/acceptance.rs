//! What the shipped rules promise at the bench, asked of the engine.

use std::collections::BTreeMap;

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::evaluate;
use loftwright_engine::fit::fit;
use loftwright_engine::intake::{PlayerText, ReadingText, read_player};
use loftwright_engine::parts::Parts;
use loftwright_engine::recommendation::{Ending, Recommendation};
use loftwright_engine::trace::{CompactTrace, NoTrace};
use loftwright_tests::{engine_side, workshop};

struct Bench {
    program: Program,
    parts: Parts,
    readings: BTreeMap<String, String>,
}

impl Bench {
    /// The demo's first player at the bench of a ruleset.
    fn of(ruleset: &str) -> Self {
        let program = engine_side::program(ruleset);
        let parts = engine_side::parts(&program, &workshop::demo_parts());
        let players = workshop::demo_players();
        let steady = players
            .iter()
            .find(|player| player.name == "steady-right-hander")
            .expect("the demo's player");
        // The house asks for a reading of its own that common does not know.
        let mut readings = steady.readings.clone();
        readings.retain(|name, _| program.inputs.iter().any(|input| input.name == *name));
        Bench {
            program,
            parts,
            readings,
        }
    }

    fn text(&self) -> PlayerText {
        let reading = |(name, value): (&String, &String)| {
            let text = ReadingText {
                value: value.clone(),
                ..ReadingText::default()
            };
            (name.clone(), text)
        };
        PlayerText {
            readings: self.readings.iter().map(reading).collect(),
            given: BTreeMap::new(),
        }
    }

    fn with(&mut self, name: &str, value: &str) -> &mut Self {
        self.readings.insert(name.to_owned(), value.to_owned());
        self
    }

    fn without(&mut self, name: &str) -> &mut Self {
        self.readings.remove(name);
        self
    }

    fn fit(&self) -> Recommendation {
        let player = read_player(&self.program, &self.text()).expect("readings that are right");
        fit(&self.program, &self.parts, &player, day())
    }
}

fn day() -> Date {
    Date::parse("2026-11-25").expect("a date")
}

/// The values of a decision along the bag; where it has none, how it ended.
fn values(recommendation: &Recommendation, name: &str) -> Vec<String> {
    recommendation
        .decisions
        .iter()
        .filter(|report| report.name == name)
        .map(|report| match &report.value {
            Some(value) => value.text.clone(),
            None => format!("{:?}", report.ending),
        })
        .collect()
}

#[test]
fn bounce_turns_at_five_and_eight_degrees_exactly() {
    let mut bench = Bench::of("common");
    for (reading, bounce) in [
        ("-4.9 deg", "low"),
        ("-4.9999999999 deg", "low"),
        ("-5 deg", "standard"),
        ("-5.0000000000 deg", "standard"),
        ("-5.0000000001 deg", "standard"),
        ("-7.9999999999 deg", "standard"),
        ("-8 deg", "standard"),
        ("-8.0000000001 deg", "high"),
        ("-8.1 deg", "high"),
    ] {
        let found = values(
            &bench.with("wedge_attack_angle", reading).fit(),
            "wedge_bounce",
        );
        assert!(!found.is_empty());
        assert!(
            found.iter().all(|value| value == bounce),
            "{reading}: {found:?}"
        );
    }
}

#[test]
fn without_the_angle_the_wedges_wait_and_the_rest_of_the_bag_is_there() {
    let mut bench = Bench::of("common");
    let whole = bench.fit();
    let partial = bench.without("wedge_attack_angle").fit();
    let waiting: Vec<_> = partial
        .decisions
        .iter()
        .filter(|report| report.name == "wedge_bounce")
        .collect();
    assert!(!waiting.is_empty());
    for report in waiting {
        assert_eq!(report.ending, Ending::Needs);
        assert_eq!(report.needs, ["wedge_attack_angle"]);
    }
    assert!(
        partial
            .missing
            .iter()
            .any(|missing| missing.input == "wedge_attack_angle")
    );
    let heads = |recommendation: &Recommendation| {
        let clubs = recommendation
            .clubs
            .iter()
            .filter(|club| club.kind != "wedge");
        clubs
            .map(|club| format!("{} {:?}", club.name, club.head))
            .collect::<Vec<_>>()
    };
    assert_eq!(heads(&partial), heads(&whole));
    assert!(heads(&whole).len() > 8);
}

#[test]
fn a_bound_in_inches_and_a_reading_in_millimetres_meet_exactly() {
    let mut bench = Bench::of("common");
    // The rules turn at 34.5 in; 876.3 mm is 34.5 in, exactly.
    for (reading, change) in [
        ("876.3 mm", "0 in"),
        ("34.5 in", "0 in"),
        ("34 1/2 in", "0 in"),
        ("876.2999999999 mm", "-1/2 in"),
        ("34.4999999999 in", "-1/2 in"),
        ("876.3000000001 mm", "0 in"),
    ] {
        let found = values(
            &bench.with("wrist_to_floor", reading).fit(),
            "length_change",
        );
        assert_eq!(found, [change], "{reading}");
    }
}

#[test]
fn the_first_wedge_is_like_the_irons_and_each_later_one_softer_and_flatter() {
    let bench = Bench::of("common");
    let answer = bench.fit();
    let irons = values(&answer, "iron_flex");
    let flexes = values(&answer, "wedge_flex");
    assert_eq!(flexes.first(), irons.last());
    assert_eq!(flexes, ["stiff", "regular plus 1/2", "regular"]);
    let degrees = |name: &str| -> Vec<f64> {
        let texts = values(&answer, name);
        texts
            .iter()
            .map(|text| text.trim_end_matches(" deg").parse().expect("degrees"))
            .collect()
    };
    let (irons, wedges) = (degrees("iron_lie"), degrees("wedge_lie"));
    assert_eq!(wedges.first(), irons.last());
    assert!(
        wedges
            .windows(2)
            .all(|pair| (pair[0] - pair[1] - 0.5).abs() < 1e-12),
        "{wedges:?}"
    );
}

#[test]
fn every_club_of_every_player_has_a_build_and_the_bag_holds_fourteen_at_most() {
    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let players = workshop::demo_players();
    assert_eq!(players.len(), 6);
    for file in players {
        let readings = file.readings.iter().map(|(name, value)| {
            let text = ReadingText {
                value: value.clone(),
                ..ReadingText::default()
            };
            (name.clone(), text)
        });
        let text = PlayerText {
            readings: readings.collect(),
            given: BTreeMap::from([("kept".to_owned(), file.kept.clone())]),
        };
        let player = read_player(&program, &text).expect("a player of the demo");
        let answer = fit(&program, &parts, &player, day());
        assert!((7..=14).contains(&answer.clubs.len()), "{}", file.name);
        // The same bytes twice, and the same outcomes without a trace.
        assert_eq!(
            answer,
            fit(&program, &parts, &player, day()),
            "{}",
            file.name
        );
        let mut trace = CompactTrace::default();
        let traced = evaluate(&program, &parts, &player, day(), &mut trace);
        let untraced = evaluate(&program, &parts, &player, day(), &mut NoTrace);
        let summary = |evaluation| engine_side::summary(&program, &parts, evaluation);
        assert_eq!(summary(&traced), summary(&untraced), "{}", file.name);
    }
}

#[test]
fn order_of_files_and_declarations_changes_neither_digest_nor_answer() {
    use loftwright_dsl::check::check;
    let plain = engine_side::layers("skerry");
    let mut shuffled = plain.clone();
    for layer in &mut shuffled {
        layer.files.reverse();
        for (name, text) in &mut layer.files {
            *name = format!("other-{name}");
            *text = format!("# a note\n{text}\n");
        }
    }
    let program = |layers| check(layers, 1).program.expect("the shipped rules check");
    let (one, other) = (program(&plain), program(&shuffled));
    assert_eq!(one.digests, other.digests);
    let bench = Bench::of("skerry");
    let fit_by = |program: &Program| {
        let player = read_player(program, &bench.text()).expect("readings that are right");
        let parts = engine_side::parts(program, &workshop::demo_parts());
        fit(program, &parts, &player, day())
    };
    assert_eq!(fit_by(&one), fit_by(&other));
}

#[test]
fn broken_rules_are_findings_and_never_a_panic() {
    use loftwright_dsl::check::check;
    let layers = engine_side::layers("common");
    let texts: Vec<String> = layers[1]
        .files
        .iter()
        .map(|(_, text)| text.clone())
        .filter(|text| text.len() > 400)
        .collect();
    let mut seed = 11_u64;
    let mut next = |below: usize| {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(seed >> 33).expect("31 bits") % below
    };
    let mut refused = 0;
    for round in 0..60 {
        let mut broken = layers.clone();
        let place = broken[1]
            .files
            .iter()
            .position(|(_, text)| *text == texts[round % texts.len()])
            .expect("one of them");
        let mut lines: Vec<String> = broken[1].files[place]
            .1
            .lines()
            .map(str::to_owned)
            .collect();
        let (one, other) = (next(lines.len()), next(lines.len()));
        match next(4) {
            0 => lines.swap(one, other),
            1 => {
                lines.remove(one);
            }
            2 => lines.truncate(one),
            _ => {
                let cut = next(lines[one].chars().count() + 1);
                lines[one] = lines[one].chars().take(cut).collect();
            }
        }
        broken[1].files[place].1 = lines.join("\n");
        let output = check(&broken, 1);
        assert_eq!(output.program.is_none(), output.has_errors());
        refused += usize::from(output.has_errors());
    }
    assert!(refused > 10, "{refused}");
}
