//! Players told one after the other, each from what those before him came to, come to what each
//! comes to by himself.

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::explain::{Brief, Briefing, Briefings};
use loftwright_engine::intake::{PlayerReader, PlayerText, ReadingText, Sent, read_player};
use loftwright_engine::player::Player;
use loftwright_tests::generator::{Generator, Random};
use loftwright_tests::oracle::Person;
use loftwright_tests::{engine_side, workshop};

/// Among them the days on which limits and cautions of the corpus begin and end.
const DAYS: [&str; 4] = ["2026-05-01", "2026-05-02", "2027-12-31", "2028-01-01"];

/// So many that some of their readings come to more things than are remembered.
const OTHERS: u64 = 80;

fn told(briefs: &[Brief<'_>]) -> Vec<String> {
    briefs.iter().map(|brief| format!("{brief:?}")).collect()
}

/// The demo's players where the ruleset is for them, and others made up.
fn people(program: &Program, generator: &Generator<'_>, count: u64) -> Vec<Person> {
    let knows = |file: &workshop::PlayerFile| {
        let mut names = file.readings.keys();
        names.all(|name| program.inputs.iter().any(|input| input.name == *name))
    };
    let demo = workshop::demo_players().into_iter().filter(knows);
    let demo = demo.map(|file| Person {
        readings: file.readings,
        given: [("kept".to_owned(), file.kept)].into(),
    });
    let made_up = (0..count).map(|seed| generator.person(&mut Random(seed)));
    demo.chain(made_up).collect()
}

/// One of the people, with up to three readings or the clubs of others.
fn mixed(people: &[Person], others: &[Person], random: &mut Random) -> Person {
    let pick = |random: &mut Random| &others[random.below(others.len())];
    // A few come again and again, so that something is remembered.
    let mut person = people[random.below(people.len().min(3))].clone();
    for _ in 0..random.below(4) {
        let other = pick(random);
        let names: Vec<&String> = person
            .readings
            .keys()
            .chain(other.readings.keys())
            .collect();
        let Some(name) = names
            .get(random.below(names.len().max(1)))
            .copied()
            .cloned()
        else {
            continue;
        };
        match other.readings.get(&name) {
            Some(value) => drop(person.readings.insert(name, value.clone())),
            None => drop(person.readings.remove(&name)),
        }
    }
    if random.below(4) == 0 {
        person.given.clone_from(&pick(random).given);
    }
    person
}

fn compare(ruleset: &str, players: usize) {
    let program = engine_side::program(ruleset);
    let names = workshop::layer_names(ruleset);
    let layers: Vec<_> = names.into_iter().map(workshop::trees).collect();
    let generator = Generator::new(&program, &layers);
    let folder = match ruleset {
        "common" | "skerry" => workshop::demo_parts(),
        _ => generator.parts(&mut Random(7)),
    };
    let parts = engine_side::parts(&program, &folder);
    let others = people(&program, &generator, OTHERS);
    let people = people(&program, &generator, 12);
    let evaluator = Evaluator::new(&program);
    let mut in_turn = Briefings::new(&evaluator, parts.clone(), told);
    let mut random = Random(3);
    for number in 0..players {
        let person = match people.get(number) {
            Some(person) => person.clone(),
            None => mixed(&people, &others, &mut random),
        };
        let text = engine_side::player_text(&person);
        let player: Player = read_player(&program, &text).unwrap();
        let day = Date::parse(DAYS[random.below(DAYS.len())]).unwrap();
        let alone = told(&Briefing::of(&evaluator, &parts, &player, day).briefs());
        let in_turn = in_turn.told(&player, day);
        assert_eq!(in_turn.len(), alone.len(), "{ruleset} {number}");
        for (in_turn, alone) in in_turn.iter().zip(&alone) {
            assert_eq!(in_turn, alone, "{ruleset} {number}: {person:?}");
        }
    }
}

#[test]
fn of_the_smallest_rulesets_and_their_corners() {
    for ruleset in ["base", "corners", "edges", "sharing", "upstairs"] {
        compare(ruleset, 300);
    }
}

#[test]
fn of_the_trades_rules() {
    compare("common", 60);
}

#[test]
fn of_the_demos_house() {
    compare("skerry", 60);
}

#[test]
fn a_reader_reads_one_after_the_other_as_each_by_himself() {
    let program = engine_side::program("base");
    let mut reader = PlayerReader::new(&program);
    let plain = |value| Sent {
        value,
        ..Sent::default()
    };
    let with = |spread, shots| Sent {
        spread,
        shots,
        ..plain("92 mph")
    };
    let sent = [
        ("head_speed", plain("92 mph")),
        ("head_speed", with(Some("2 mph"), Some(3))),
        ("head_speed", plain("92 mph")),
        ("head_speed", plain("92 mm")),
        ("head_speed", plain("920 mph")),
        ("head_speed", with(None, Some(0))),
        ("turf", plain("firm")),
        ("turf", plain("92 mph")),
        ("speed", plain("92 mph")),
    ];
    let mut count = 0;
    for (name, sent) in sent {
        let text = ReadingText {
            value: sent.value.to_owned(),
            spread: sent.spread.map(str::to_owned),
            shots: sent.shots,
        };
        let text = PlayerText {
            readings: [(name.to_owned(), text)].into(),
            ..PlayerText::default()
        };
        let alone = read_player(&program, &text).ok();
        assert_eq!(reader.read_plain(&[(name, sent)]), alone, "{name} {sent:?}");
        count += usize::from(alone.is_some());
    }
    assert_eq!(count, 4);
    let twice = [("turf", plain("firm")), ("turf", plain("soft"))];
    assert_eq!(reader.read_plain(&twice), None);
}
