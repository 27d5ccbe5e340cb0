//! The engine against the oracle: thousands of made-up players, every outcome of every declaration
//! for every club. `PLAYERS=20000 cargo test -p loftwright-tests --test differential` looks longer.

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::intake::read_player;
use loftwright_engine::parts::Parts;
use loftwright_engine::trace::NoTrace;
use loftwright_tests::generator::{Generator, Random};
use loftwright_tests::oracle::{self, Oracle, Person, Rules};
use loftwright_tests::{engine_side, workshop};

/// One ruleset on both sides.
struct Sides {
    ruleset: &'static str,
    program: Program,
    rules: Rules,
}

impl Sides {
    fn new(ruleset: &'static str) -> Self {
        Sides {
            ruleset,
            program: engine_side::program(ruleset),
            rules: workshop::oracle_rules(ruleset),
        }
    }

    fn generator(&self) -> Generator<'_> {
        let names = workshop::layer_names(self.ruleset);
        let layers: Vec<_> = names.into_iter().map(workshop::trees).collect();
        Generator::new(&self.program, &layers)
    }

    /// The first differences, a line each, and how many there are.
    fn differences(
        &self,
        evaluator: &Evaluator<'_>,
        parts: &Parts,
        oracle_parts: &oracle::Parts,
        person: &Person,
    ) -> (usize, Vec<String>) {
        let text = engine_side::player_text(person);
        let player = read_player(&self.program, &text)
            .unwrap_or_else(|faults| panic!("{}\n{faults:?}", shown(person)));
        let today = Date::parse("2026-05-01").unwrap();
        let evaluation = evaluator.evaluate(parts, &player, today, &mut NoTrace);
        let engine = engine_side::summary(&self.program, parts, &evaluation);
        let built = engine_side::built(&self.program, &evaluation);
        let oracle = Oracle::new(&self.rules, oracle_parts, person, today.days(), built);
        let expected = oracle.summary();
        let mut lines = Vec::new();
        let names: std::collections::BTreeSet<_> = engine.keys().chain(expected.keys()).collect();
        for name in names {
            let (ours, theirs) = (engine.get(name), expected.get(name));
            if ours != theirs {
                let text = |side: Option<&String>| side.cloned().unwrap_or_else(|| "—".to_owned());
                lines.push(format!(
                    "{name}\n  engine: {}\n  oracle: {}",
                    text(ours),
                    text(theirs)
                ));
            }
        }
        let count = lines.len();
        lines.truncate(5);
        (count, lines)
    }

    /// Compares players from a seed on; stops at the first who differs.
    fn compare(&self, folder: &workshop::PartsFolder, seeds: std::ops::Range<u64>) {
        let parts = engine_side::parts(&self.program, folder);
        let oracle_parts = workshop::oracle_parts(&self.rules, folder);
        let generator = self.generator();
        let evaluator = Evaluator::new(&self.program);
        for seed in seeds {
            let person = generator.person(&mut Random(seed));
            let (count, lines) = self.differences(&evaluator, &parts, &oracle_parts, &person);
            assert!(
                count == 0,
                "{}, player {seed}: {count} differences, the first of them\n{}\n\n{}",
                self.ruleset,
                lines.join("\n"),
                shown(&person)
            );
        }
    }
}

/// A player as his file would read.
fn shown(person: &Person) -> String {
    let mut text = String::from("[readings]\n");
    for (name, value) in &person.readings {
        text.push_str(&format!("{name} = {value:?}\n"));
    }
    for club in person.given.values().flatten() {
        text.push_str("\n[[kept]]\n");
        for (name, value) in club {
            text.push_str(&format!("{name} = {value:?}\n"));
        }
    }
    text
}

/// That many players from a seed on, or as many as are asked for.
fn players(first: u64, usual: u64) -> std::ops::Range<u64> {
    let asked = std::env::var("PLAYERS").ok();
    let count = asked.map_or(usual, |text| text.parse().unwrap());
    first..first + count
}

fn without_parts() -> workshop::PartsFolder {
    workshop::PartsFolder::default()
}

#[test]
fn common_decides_as_the_oracle_does() {
    Sides::new("common").compare(&without_parts(), players(0, 1_000));
}

#[test]
fn skerry_decides_as_the_oracle_does() {
    Sides::new("skerry").compare(&without_parts(), players(1_000_000, 1_000));
}

#[test]
fn common_chooses_parts_as_the_oracle_does() {
    Sides::new("common").compare(&workshop::demo_parts(), players(2_000_000, 100));
}

#[test]
fn skerry_chooses_parts_as_the_oracle_does() {
    Sides::new("skerry").compare(&workshop::demo_parts(), players(3_000_000, 100));
}

/// A house that has every form of the language, with made-up parts for every twenty players.
fn corners(seeds: std::ops::Range<u64>) {
    let sides = Sides::new("corners");
    let generator = sides.generator();
    for first in seeds.step_by(20) {
        let folder = generator.parts(&mut Random(first));
        sides.compare(&folder, first..first + 20);
    }
}

#[test]
fn corners_come_out_as_the_oracle_says() {
    corners(players(4_000_000, 600));
}

#[test]
fn more_corners_come_out_as_the_oracle_says() {
    corners(players(5_000_000, 600));
}

#[test]
fn the_demo_players_come_out_as_the_oracle_says() {
    let sides = Sides::new("skerry");
    let folder = workshop::demo_parts();
    let parts = engine_side::parts(&sides.program, &folder);
    let oracle_parts = workshop::oracle_parts(&sides.rules, &folder);
    let evaluator = Evaluator::new(&sides.program);
    for player in workshop::demo_players() {
        let person = Person {
            readings: player.readings,
            given: [("kept".to_owned(), player.kept)].into(),
        };
        let (count, lines) = sides.differences(&evaluator, &parts, &oracle_parts, &person);
        assert!(
            count == 0,
            "{}: {count} differences\n{}",
            player.name,
            lines.join("\n")
        );
    }
}
