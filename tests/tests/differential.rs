//! The engine against the oracle: thousands of made-up players, every outcome of every declaration
//! for every club. `PLAYERS=20000 cargo test -p loftwright-tests --test differential` looks longer.

use loftwright_engine::evaluate::Evaluator;
use loftwright_tests::generator::Random;
use loftwright_tests::house::house;
use loftwright_tests::oracle::Person;
use loftwright_tests::program_generator::rules_text;
use loftwright_tests::sides::Sides;
use loftwright_tests::{engine_side, workshop};

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

/// A house with made-up parts for every twenty players.
fn with_made_up_parts(ruleset: &str, seeds: std::ops::Range<u64>) {
    let sides = Sides::new(ruleset);
    let generator = sides.generator();
    for first in seeds.step_by(20) {
        let folder = generator.parts(&mut Random(first));
        sides.compare(&folder, first..first + 20);
    }
}

#[test]
fn corners_come_out_as_the_oracle_says() {
    with_made_up_parts("corners", players(4_000_000, 600));
}

#[test]
fn more_corners_come_out_as_the_oracle_says() {
    with_made_up_parts("corners", players(5_000_000, 600));
}

#[test]
fn stocks_are_shared_as_the_oracle_says() {
    with_made_up_parts("sharing", players(6_000_000, 400));
}

#[test]
fn edges_come_out_as_the_oracle_says() {
    with_made_up_parts("edges", players(7_000_000, 400));
}

/// What is replaced twice, and what rests on it.
#[test]
fn a_third_layer_comes_out_as_the_oracle_says() {
    with_made_up_parts("upstairs", players(8_000_000, 200));
}

/// Rules that nobody wrote: a house made up from a seed, ten players of it each.
#[test]
fn made_up_houses_come_out_as_the_oracle_says() {
    for seed in players(0, 40) {
        let mut layers = engine_side::layers("base");
        layers.push(house("made_up.rules", &rules_text(seed)));
        let sides = Sides::of_layers(&layers);
        let folder = sides.generator().parts(&mut Random(seed));
        sides.compare(&folder, 10 * seed..10 * seed + 10);
    }
}

#[test]
fn the_demo_players_come_out_as_the_oracle_says() {
    let sides = Sides::new("skerry");
    let folder = workshop::demo_parts();
    let parts = engine_side::parts(&sides.program, &folder);
    let oracle_parts = sides.oracle_parts(&folder);
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
