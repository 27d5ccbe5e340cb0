//! `compare` against evaluation: made-up decisions, edited at random, random players.
//!
//! For every player an outcome differs between the two versions if and only if he lies in a region
//! that is reported.

use loftwright_dsl::analysis::{
    Cell, ComparedAxis, ComparedRows, Comparison, How, MOST_REGIONS_SHOWN, Standing, Version,
    compare, compare_rows,
};
use loftwright_dsl::check::CheckOutput;
use loftwright_dsl::program::{DecisionId, Expression, Node, Program, Value};
use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::{Evaluation, Evaluator};
use loftwright_engine::outcome::{Outcome, Place, State};
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_engine::trace::NoTrace;
use loftwright_tests::engine_side;
use loftwright_tests::generator::Random;
use loftwright_tests::made_up::{Decision, READINGS, checked, grid, input, player};

const PAIRS: u64 = 150;
const PLAYERS: usize = 60;
const COLUMNS: [&str; 6] = ["lean", "back", "rounds", "pace", "turf", "lefty"];

fn today() -> Date {
    Date::parse("2026-05-01").unwrap()
}

fn program(output: &CheckOutput) -> &Program {
    let found = || panic!("{}", engine_side::rendered(output));
    output.program.as_ref().unwrap_or_else(found)
}

fn version(output: &CheckOutput) -> Version<'_> {
    Version {
        program: program(output),
        folder: &output.folder,
    }
}

fn made(program: &Program) -> DecisionId {
    let mut decisions = program.decisions.entries();
    decisions.find(|(_, one)| one.name == "made").unwrap().0
}

/// What a decision came to, as far as two versions can agree on it.
#[derive(Debug, PartialEq, Eq)]
enum Came {
    To(Value),
    ToNothing,
    ToNeeds,
    ToContradiction,
}

fn came(program: &Program, evaluation: &Evaluation) -> Came {
    let place = Place {
        node: Node::Decision(made(program)),
        member: None,
    };
    match evaluation.outcome(place).unwrap() {
        Outcome::Decided(value) => Came::To(value.clone()),
        Outcome::DoesNotApply => Came::ToNothing,
        Outcome::Needs(_) | Outcome::Blocked(_) => Came::ToNeeds,
        Outcome::Contradicted { .. } => Came::ToContradiction,
        other => panic!("{other:?}"),
    }
}

/// One player under one version.
struct Looked<'p> {
    program: &'p Program,
    player: Player,
    evaluation: Evaluation,
}

impl<'p> Looked<'p> {
    fn new(program: &'p Program, readings: &[(&str, Option<Value>)]) -> Self {
        let player = player(program, readings);
        let evaluator = Evaluator::new(program);
        let evaluation = evaluator.evaluate(&Parts::default(), &player, today(), &mut NoTrace);
        Looked {
            program,
            player,
            evaluation,
        }
    }

    fn state(&self, expression: &Expression) -> State {
        let parts = Parts::default();
        let program = self.program;
        self.evaluation
            .evaluate_at(program, &parts, &self.player, today(), expression, None)
    }
}

/// Whether the player lies in one of the regions.
fn is_reported(compared: &ComparedRows, old: &Looked<'_>, new: &Looked<'_>) -> bool {
    let state = |axis: &ComparedAxis| match (&axis.old, &axis.new) {
        (Some(expression), _) => old.state(expression),
        (None, Some(expression)) => new.state(expression),
        (None, None) => panic!("a column of neither"),
    };
    let states: Vec<State> = compared.axes.iter().map(state).collect();
    compared.regions.iter().any(|region| {
        states.iter().enumerate().all(|(number, state)| {
            let axis = &compared.space.axes[number];
            match (region.standings[number], state) {
                (Standing::Known, State::Known(value)) => {
                    let mut places = region.sets[number].places();
                    places.any(|place| lies_in(value, &axis.cell(place).unwrap()))
                }
                (Standing::None, State::None) | (Standing::Unknown, State::Undecided(_)) => true,
                _ => false,
            }
        })
    })
}

fn lies_in(value: &Value, cell: &Cell) -> bool {
    match cell {
        Cell::Value(own) => own == value,
        Cell::Point(number) => Value::Number(*number) == *value,
        Cell::Open(low, high) => {
            let number = value.number().unwrap();
            low.is_none_or(|low| low < number) && high.is_none_or(|high| number < high)
        }
        Cell::None | Cell::Unknown => false,
    }
}

#[test]
fn an_outcome_differs_where_a_region_is_reported_and_nowhere_else() {
    let (mut differing, mut same) = (0, 0);
    for seed in 0..PAIRS {
        let mut random = Random(seed);
        let old_decision = Decision::new(&mut random, &COLUMNS);
        let mut new_decision = old_decision.clone();
        for _ in 0..=random.below(2) {
            new_decision = new_decision.edited(&mut random, &COLUMNS);
        }
        let (old, new) = (old_decision.checked(), new_decision.checked());
        let (old, new) = (version(&old), version(&new));
        let compared = compare_rows(
            (&old, &old.program.decisions[made(old.program)]),
            (&new, &new.program.decisions[made(new.program)]),
        )
        .unwrap_or_else(|why| panic!("seed {seed}: {why}"));
        for _ in 0..PLAYERS {
            let readings: Vec<(&str, Option<Value>)> = READINGS
                .iter()
                .map(|name| {
                    let values = grid(old.program, name, true);
                    (*name, random.one_of(&values).clone())
                })
                .collect();
            let before = Looked::new(old.program, &readings);
            let after = Looked::new(new.program, &readings);
            let differs =
                came(old.program, &before.evaluation) != came(new.program, &after.evaluation);
            *(if differs { &mut differing } else { &mut same }) += 1;
            assert_eq!(
                is_reported(&compared, &before, &after),
                differs,
                "seed {seed}, {readings:?}: was {:?}, now {:?}\n{}\n{}",
                came(old.program, &before.evaluation),
                came(new.program, &after.evaluation),
                old_decision.rules(),
                new_decision.rules()
            );
        }
        each_witness_differs(seed, &old, &new);
    }
    assert!(
        differing > 500 && same > 500,
        "{differing} differ, {same} do not"
    );
}

/// Where the witness of a region are readings, they are a player for whom the outcomes are those
/// that are named.
fn each_witness_differs(seed: u64, old: &Version<'_>, new: &Version<'_>) {
    let comparison = compare(*old, *new, MOST_REGIONS_SHOWN);
    for region in comparison.changes.iter().flat_map(|change| &change.regions) {
        if !region.witness_is_readings {
            continue;
        }
        let readings: Vec<(&str, Option<Value>)> = region
            .witness
            .iter()
            .map(|named| {
                (
                    named.name.as_str(),
                    value_of(old.program, &named.name, &named.text),
                )
            })
            .collect();
        let before = Looked::new(old.program, &readings);
        let after = Looked::new(new.program, &readings);
        let shown = |looked: &Looked<'_>| {
            let decision = &looked.program.decisions[made(looked.program)];
            match came(looked.program, &looked.evaluation) {
                Came::To(value) => {
                    let shown = &decision.shown;
                    shown.text(looked.program, decision.value_type, &value)
                }
                Came::ToNothing => "does not apply".to_owned(),
                Came::ToNeeds => "not decided: a reading is missing".to_owned(),
                Came::ToContradiction => "cannot happen".to_owned(),
            }
        };
        let at = format!("seed {seed}: {region:#?}");
        assert_eq!(shown(&before), region.old.outcome, "{at}");
        assert_eq!(shown(&after), region.new.outcome, "{at}");
    }
}

/// A reading as a witness writes it.
fn value_of(program: &Program, name: &str, text: &str) -> Option<Value> {
    use loftwright_engine::intake::{PlayerText, ReadingText, read_player};
    if text == "unknown" {
        return None;
    }
    let reading = ReadingText {
        value: text.to_owned(),
        spread: None,
        shots: None,
    };
    let text = PlayerText {
        readings: [(name.to_owned(), reading)].into(),
        given: Default::default(),
    };
    let player = read_player(program, &text).unwrap_or_else(|faults| panic!("{faults:?}"));
    Some(player.readings[&input(program, name).0].value.clone())
}

#[test]
fn the_same_rules_differ_in_nothing() {
    for ruleset in ["common", "skerry"] {
        let output = loftwright_dsl::check::check(
            &engine_side::layers(ruleset),
            loftwright_engine::CONTRACT_VERSION,
        );
        let comparison = compare(version(&output), version(&output), MOST_REGIONS_SHOWN);
        assert!(comparison.same_meaning && comparison.same_text);
        assert!(comparison.changes.is_empty(), "{:#?}", comparison.changes);
    }
}

const RULES: &str = "ruleset house
  title    \"A house\"
  language 1

scale grade is poor < fair < good

choice bench_work is cutting, bending

input lean : angle
  ask     \"Lean.\"
  between 0 deg and 10 deg
  default 2 deg

input tempo : angle
  ask     \"Tempo.\"
  between 0 deg and 10 deg

let twice = 2 * lean

decide sole : grade
  about  \"The sole.\"
  source common practice
  by tempo
    under 5 deg   gives poor because \"A reason.\"
    5 deg or more gives good

decide by_twice : grade
  source common practice
  by twice
    under 5 deg   gives poor
    5 deg or more gives good

limit little : lean at most 9 deg
  says \"That is much.\"

caution much : tempo over 9 deg
  says \"That is much.\"
";

fn compared(edits: &[(&str, &str)]) -> Comparison {
    let mut text = RULES.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "`{from}` is not there");
        text = text.replace(from, to);
    }
    let (old, new) = (checked(RULES), checked(&text));
    compare(version(&old), version(&new), MOST_REGIONS_SHOWN)
}

/// What changed: kind, name and how.
fn named(comparison: &Comparison) -> Vec<(&str, &str, How)> {
    let changes = comparison.changes.iter();
    changes
        .map(|change| (change.kind, change.name.as_str(), change.how))
        .collect()
}

#[test]
fn a_bound_that_moves_is_one_region_with_its_rows() {
    let comparison = compared(&[
        (
            "under 5 deg   gives poor because",
            "under 6 deg   gives poor because",
        ),
        (
            "    5 deg or more gives good\n\ndecide by_twice",
            "    6 deg or more gives good\n\ndecide by_twice",
        ),
    ]);
    assert_eq!(named(&comparison), [("decide", "sole", How::Changed)]);
    let change = &comparison.changes[0];
    let [region] = change.regions.as_slice() else {
        panic!("one region, found {:#?}", change.regions);
    };
    assert_eq!(region.conditions[0].name, "tempo");
    assert_eq!(region.conditions[0].text, "5 deg to under 6 deg");
    assert_eq!(region.old.outcome, "good");
    assert_eq!(region.new.outcome, "poor");
    assert_eq!(region.old.rows[0].row, Some(2));
    assert_eq!(region.new.rows[0].because.as_deref(), Some("A reason."));
    assert!(region.witness_is_readings);
    assert!(change.lines.is_empty());
}

#[test]
fn a_let_that_changed_names_what_depends_on_it() {
    let comparison = compared(&[("2 * lean", "3 * lean")]);
    assert_eq!(named(&comparison), [("let", "twice", How::Changed)]);
    let change = &comparison.changes[0];
    assert_eq!(change.dependents, ["by_twice"]);
    assert_eq!(change.lines[0].old.as_deref(), Some("2 * lean"));
    assert_eq!(change.lines[0].new.as_deref(), Some("3 * lean"));
    assert!(!comparison.same_meaning);
}

#[test]
fn what_is_only_read_decides_as_before() {
    let comparison = compared(&[
        ("A reason.", "Another reason."),
        ("\"The sole.\"", "\"A sole.\""),
    ]);
    assert!(comparison.same_meaning && !comparison.same_text);
    assert_eq!(named(&comparison), [("decide", "sole", How::Reworded)]);
    assert_eq!(comparison.changes[0].lines.len(), 2);
}

#[test]
fn a_caution_that_stands_elsewhere_on_the_ticket_is_reworded() {
    let caution = "caution much : tempo over 9 deg\n";
    let comparison = compared(&[(caution, &format!("{caution}  at bending, cutting\n"))]);
    assert!(comparison.same_meaning && !comparison.same_text);
    assert_eq!(named(&comparison), [("caution", "much", How::Reworded)]);
    assert_eq!(comparison.changes[0].lines[0].what, "at");
}

#[test]
fn every_kind_of_declaration_is_looked_at() {
    let comparison = compared(&[
        ("  default 2 deg\n", "  default 3 deg\n"),
        ("lean at most 9 deg", "lean at most 8 deg"),
        (
            "caution much : tempo over 9 deg",
            "caution more : tempo over 9 deg",
        ),
        (
            "scale grade is poor < fair < good",
            "scale grade is poor < fair < fine < good",
        ),
    ]);
    let expected = [
        ("vocabulary", "grade", How::Changed),
        ("input", "lean", How::Changed),
        ("decide", "by_twice", How::Changed),
        ("decide", "sole", How::Changed),
        ("limit", "little", How::Changed),
        ("caution", "more", How::Added),
        ("caution", "much", How::Removed),
    ];
    let found = named(&comparison);
    for change in expected {
        let is_by_words = change.0 == "decide";
        assert!(
            is_by_words || found.contains(&change),
            "{change:?} is not among {found:?}"
        );
    }
    let lean = comparison
        .changes
        .iter()
        .find(|change| change.name == "lean");
    assert_eq!(lean.unwrap().lines[0].what, "default");
}

#[test]
fn layout_and_order_do_not_count() {
    let comparison = compared(&[
        ("let twice = 2 * lean\n\n", ""),
        (
            "limit little",
            "let twice =   2 * lean   # spaced\n\nlimit little",
        ),
        (
            "    under 5 deg   gives poor\n",
            "    under   5 deg gives poor\n",
        ),
    ]);
    assert!(comparison.same_meaning && comparison.same_text);
    assert!(comparison.changes.is_empty(), "{:#?}", comparison.changes);
}
