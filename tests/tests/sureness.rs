//! How sure: the shares that are reported are those of 64 plain evaluations, and asking changes
//! nothing else.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;

use loftwright_dsl::program::{GroupId, InputId, Members, Node, Program, Value};
use loftwright_dsl::quantity::{Date, Rational};
use loftwright_engine::evaluate::{Evaluation, Evaluator};
use loftwright_engine::fit::{fit, fit_to_depth};
use loftwright_engine::intake::read_player;
use loftwright_engine::outcome::{Outcome, Place, State};
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_engine::recommendation::{DecisionReport, ReadingState, Recommendation};
use loftwright_engine::sure::{Depth, Workers, plausible_readings};
use loftwright_engine::trace::{CompactTrace, NoTrace};
use loftwright_tests::generator::{Generator, Random};
use loftwright_tests::oracle::Person;
use loftwright_tests::{engine_side, workshop};

fn day() -> Date {
    Date::parse("2026-05-01").unwrap()
}

/// The demo's rules and drawers.
struct Shop {
    program: Program,
    parts: Parts,
}

impl Shop {
    fn new() -> Self {
        let program = engine_side::program("skerry");
        let parts = engine_side::parts(&program, &workshop::demo_parts());
        Shop { program, parts }
    }

    /// A ruleset of the corpus with parts and players made up for it, every number of theirs with a
    /// spread of an eighth of what it may be, as the mean of a few shots.
    fn made_up(ruleset: &str, players: u64) -> (Self, Vec<(String, Player)>) {
        let program = engine_side::program(ruleset);
        let layers: Vec<_> = workshop::layer_names(ruleset)
            .into_iter()
            .map(workshop::trees)
            .collect();
        let generator = Generator::new(&program, &layers);
        let parts = engine_side::parts(&program, &generator.parts(&mut Random(7)));
        let player = |seed: u64| {
            let person = generator.person(&mut Random(seed));
            let mut player = read_player(&program, &engine_side::player_text(&person)).unwrap();
            for (input, reading) in &mut player.readings {
                let between = program.inputs[*input].between.as_ref();
                let ends = between.and_then(|(low, high)| Some((low.number()?, high.number()?)));
                reading.spread = ends.map(|(low, high)| {
                    let range = high.minus(low).unwrap();
                    range.over(Rational::whole(8)).unwrap()
                });
                reading.shots = u32::try_from(seed % 5).unwrap();
            }
            (format!("{ruleset} {seed}"), player)
        };
        let players = (0..players).map(player).collect();
        (Shop { program, parts }, players)
    }

    fn players(&self) -> Vec<(String, Player)> {
        let player = |file: workshop::PlayerFile| {
            let person = Person {
                readings: file.readings,
                given: [("kept".to_owned(), file.kept)].into(),
            };
            let text = engine_side::player_text(&person);
            (file.name, read_player(&self.program, &text).unwrap())
        };
        workshop::demo_players().into_iter().map(player).collect()
    }

    fn evaluate(&self, player: &Player) -> Evaluation {
        Evaluator::new(&self.program).evaluate(&self.parts, player, day(), &mut NoTrace)
    }

    fn in_full(&self, player: &Player) -> Recommendation {
        self.in_full_by(1, player)
    }

    fn in_full_by(&self, workers: usize, player: &Player) -> Recommendation {
        let workers = NonZeroUsize::new(workers).unwrap();
        let depth = Depth::Full(Workers::new(workers));
        fit_to_depth(&self.program, &self.parts, player, day(), depth)
    }
}

fn with(player: &Player, readings: &[(InputId, Value)]) -> Player {
    let mut moved = player.clone();
    for (input, value) in readings {
        moved.readings.get_mut(input).unwrap().value = value.clone();
    }
    moved
}

/// Every settled decision and choice, with the place of its club told by kind, number and how many
/// of the same stand before it; its outcome as the sheet shows it.
fn outcomes(shop: &Shop, evaluation: &Evaluation) -> BTreeMap<(Node, String), String> {
    let mut found = BTreeMap::new();
    for node in &shop.program.order {
        if !matches!(node, Node::Decision(_) | Node::Choose(_)) {
            continue;
        }
        for (place, outcome) in evaluation.outcomes(*node) {
            let club = club(&shop.program, evaluation, place);
            found.insert((*node, club), shown(shop, place, outcome));
        }
    }
    found
}

fn club(program: &Program, evaluation: &Evaluation, place: Place) -> String {
    let (Some(group), Some(member)) = (program.group_of(place.node), place.member) else {
        return String::new();
    };
    let label = |member: usize| {
        let field = |name: &str| {
            let index = program.groups[owner(program, group)].field_index(name)?;
            evaluation.field(group, member, index)
        };
        let known = |name: &str| match field(name) {
            Some(State::Known(value)) => format!("{value:?}"),
            _ => String::new(),
        };
        format!("{} {}", known("kind"), known("number"))
    };
    let same = (0..member).filter(|other| label(*other) == label(member));
    format!("{} {}", label(member), same.count())
}

fn owner(program: &Program, group: GroupId) -> GroupId {
    match program.groups[group].members {
        Members::Where { of, .. } => owner(program, of),
        _ => group,
    }
}

fn shown(shop: &Shop, place: Place, outcome: &Outcome) -> String {
    match (outcome, place.node) {
        (Outcome::Decided(value), Node::Decision(id)) => {
            let decision = &shop.program.decisions[id];
            decision
                .shown
                .text(&shop.program, decision.value_type, value)
        }
        (Outcome::Chosen(chosen), _) => {
            format!("{} {:?} {:?}", chosen.part, chosen.piece, chosen.setting)
        }
        (Outcome::Ordered(chosen), _) => format!("order {} {:?}", chosen.part, chosen.setting),
        (Outcome::Needs(_) | Outcome::Blocked(_), _) => "waits".to_owned(),
        (Outcome::OutsideRange(_), _) => "outside range".to_owned(),
        (other, _) => format!("{other:?}"),
    }
}

/// The reports by place: they stand in the order of the trace.
fn reported<'r>(
    shop: &Shop,
    player: &Player,
    answer: &'r Recommendation,
) -> BTreeMap<(Node, String), &'r DecisionReport> {
    let mut trace = CompactTrace::default();
    let evaluator = Evaluator::new(&shop.program);
    let evaluation = evaluator.evaluate(&shop.parts, player, day(), &mut trace);
    let mut found = BTreeMap::new();
    for node in &shop.program.order {
        let name = match node {
            Node::Decision(id) => &shop.program.decisions[*id].name,
            Node::Choose(id) => &shop.program.chooses[*id].name,
            _ => continue,
        };
        let places = trace.entries.iter().map(|entry| entry.place);
        let places: Vec<Place> = places.filter(|place| place.node == *node).collect();
        let reports = answer.decisions.iter();
        let reports: Vec<_> = reports.filter(|report| report.name == *name).collect();
        // What was decided for candidates that the plan left out is not told.
        if places.len() == reports.len() {
            for (place, report) in places.iter().zip(reports) {
                let club = club(&shop.program, &evaluation, *place);
                found.insert((*node, club), report);
            }
        }
    }
    found
}

/// How many outcomes turn, and those of which the share is not that of 64 plain evaluations.
fn compared(shop: &Shop, players: Vec<(String, Player)>) -> (usize, Vec<String>) {
    let mut unsure = 0;
    let mut otherwise = Vec::new();
    for (name, player) in players {
        let evaluation = shop.evaluate(&player);
        let answer = shop.in_full(&player);
        let given = outcomes(shop, &evaluation);
        let sets = plausible_readings(&shop.program, &player, &evaluation);
        assert_eq!(sets.len(), 64);
        let mut same: BTreeMap<(Node, String), usize> = BTreeMap::new();
        for set in &sets {
            let moved = outcomes(shop, &shop.evaluate(&with(&player, set)));
            for (place, text) in &given {
                let agrees = moved.get(place) == Some(text);
                *same.entry(place.clone()).or_default() += usize::from(agrees);
            }
        }
        for (place, report) in reported(shop, &player, &answer) {
            let plain = same[&place];
            let told = report
                .sureness
                .as_ref()
                .map_or(64, |sureness| sureness.same);
            unsure += usize::from(told < 64);
            if report.sureness.is_none() && given[&place] == "waits" {
                continue;
            }
            if plain != told {
                let decision = format!("{} {:?}", report.name, report.club);
                otherwise.push(format!("{name}: {decision}: {told}, plain {plain}"));
            }
        }
    }
    (unsure, otherwise)
}

#[test]
fn shares_are_those_of_64_plain_evaluations() {
    let shop = Shop::new();
    let (unsure, otherwise) = compared(&shop, shop.players());
    assert!(unsure > 20, "{unsure} outcomes turn");
    assert_eq!(otherwise, Vec::<String>::new());
}

#[test]
fn so_are_those_of_players_and_parts_that_are_made_up() {
    for ruleset in ["corners", "edges", "sharing"] {
        let (shop, players) = Shop::made_up(ruleset, 8);
        let (unsure, otherwise) = compared(&shop, players);
        assert!(unsure > 20, "{ruleset}: {unsure} outcomes turn");
        assert_eq!(otherwise, Vec::<String>::new());
    }
}

#[test]
fn asking_how_sure_changes_nothing_else() {
    let shop = Shop::new();
    for (name, player) in shop.players() {
        let full = shop.in_full(&player);
        assert_eq!(full, shop.in_full(&player), "{name}");
        let mut short = fit(&shop.program, &shop.parts, &player, day());
        for (short, full) in short.decisions.iter_mut().zip(&full.decisions) {
            assert_eq!(short.sureness, None);
            short.sureness.clone_from(&full.sureness);
        }
        let next = |answer: &Recommendation| {
            let next = answer.next_reading.clone();
            let missing = next.filter(|next| next.state == ReadingState::Missing)?;
            Some((missing.input, missing.decisions, missing.outcomes))
        };
        assert_eq!(next(&short), next(&full), "{name}");
        short.next_reading.clone_from(&full.next_reading);
        assert_eq!(short, full, "{name}");
    }
}

#[test]
fn the_answer_is_the_same_by_however_many_workers() {
    let shop = Shop::new();
    for (name, player) in shop.players() {
        let alone = shop.in_full(&player);
        for workers in [2, 3, 8] {
            let together = shop.in_full_by(workers, &player);
            assert_eq!(together, alone, "{name} by {workers} workers");
        }
    }
}
