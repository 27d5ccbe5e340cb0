//! The same answer whatever the order of files and declarations, traced or not, once or twice.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::evaluate;
use loftwright_engine::fit::fit;
use loftwright_engine::intake::read_player;
use loftwright_engine::trace::{CompactTrace, NoTrace};
use loftwright_tests::generator::{Generator, Random};
use loftwright_tests::layout::shuffled;
use loftwright_tests::oracle::Person;
use loftwright_tests::workshop::{self, PartsFolder};
use loftwright_tests::{engine_side, generator};

fn day() -> Date {
    Date::parse("2026-05-01").unwrap()
}

fn program(layers: &[LayerSource]) -> Program {
    let output = check(layers, CONTRACT_VERSION);
    let findings = engine_side::rendered(&output);
    output.program.unwrap_or_else(|| panic!("{findings}"))
}

fn corpus_of(ruleset: &str, program: &Program) -> (Vec<Person>, PartsFolder) {
    let layers: Vec<_> = workshop::layer_names(ruleset)
        .into_iter()
        .map(workshop::trees)
        .collect();
    let generator = Generator::new(program, &layers);
    let people = (0..25)
        .map(|seed| generator.person(&mut generator::Random(seed)))
        .collect();
    let folder = match ruleset {
        "corners" => generator.parts(&mut Random(1)),
        _ => workshop::demo_parts(),
    };
    (people, folder)
}

#[test]
fn the_order_of_files_and_declarations_changes_nothing() {
    for ruleset in ["skerry", "corners"] {
        let layers = engine_side::layers(ruleset);
        let plain = program(&layers);
        let (people, folder) = corpus_of(ruleset, &plain);
        for seed in 0..3 {
            let mut random = Random(seed);
            let moved: Vec<_> = layers
                .iter()
                .map(|layer| shuffled(layer, &mut random))
                .collect();
            let moved = program(&moved);
            assert_eq!(plain.digests, moved.digests, "{ruleset}");
            let parts = engine_side::parts(&plain, &folder);
            let moved_parts = engine_side::parts(&moved, &folder);
            for person in &people {
                let text = engine_side::player_text(person);
                let one = read_player(&plain, &text).unwrap();
                let other = read_player(&moved, &text).unwrap();
                let one = fit(&plain, &parts, &one, day());
                let other = fit(&moved, &moved_parts, &other, day());
                assert_eq!(one, other, "{ruleset}");
            }
        }
    }
}

#[test]
fn asking_for_the_trace_changes_no_outcome() {
    for ruleset in ["skerry", "corners"] {
        let program = engine_side::program(ruleset);
        let (people, folder) = corpus_of(ruleset, &program);
        let parts = engine_side::parts(&program, &folder);
        for person in &people {
            let player = read_player(&program, &engine_side::player_text(person)).unwrap();
            let mut trace = CompactTrace::default();
            let traced = evaluate(&program, &parts, &player, day(), &mut trace);
            let untraced = evaluate(&program, &parts, &player, day(), &mut NoTrace);
            let summary = |evaluation| engine_side::summary(&program, &parts, evaluation);
            assert_eq!(summary(&traced), summary(&untraced), "{ruleset}");
            let mut again = CompactTrace::default();
            evaluate(&program, &parts, &player, day(), &mut again);
            assert_eq!(trace, again, "{ruleset}");
        }
    }
}

#[test]
fn a_fifteenth_club_breaks_the_limit_and_stays_in_the_bag() {
    use loftwright_engine::recommendation::LimitAnswer;
    let program = engine_side::program("skerry");
    let parts = engine_side::parts(&program, &workshop::demo_parts());
    let players = workshop::demo_players();
    let file = players
        .iter()
        .find(|player| player.name == "steady-right-hander")
        .unwrap();
    let mut person = Person {
        readings: file.readings.clone(),
        given: [("kept".to_owned(), file.kept.clone())].into(),
    };
    let answer = |person: &Person| {
        let player = read_player(&program, &engine_side::player_text(person)).unwrap();
        let answer = fit(&program, &parts, &player, day());
        let limit = answer
            .limits
            .iter()
            .find(|limit| limit.name == "most_clubs")
            .unwrap();
        (answer.clubs.len(), limit.answer)
    };
    let (clubs, holds) = answer(&person);
    assert_eq!((clubs, holds), (14, LimitAnswer::Holds));
    // The plan fills the bag, and makes room for whatever the player keeps; a second putter it does
    // not know of.
    let putter = [("kind", "putter"), ("loft", "3 deg")]
        .map(|(name, text)| (name.to_owned(), text.to_owned()));
    let kept = person.given.get_mut("kept").unwrap();
    kept.extend([putter.clone().into(), putter.into()]);
    let (clubs, broken) = answer(&person);
    assert_eq!((clubs, broken), (15, LimitAnswer::Broken));
}
