//! Cases over a range against brute force: made-up decisions, one or two readings over ranges.
//!
//! A case that is proved holds at every player of a fine grid; one that fails is failed by the
//! player it names. Nothing in these rules is beyond a proof, so every case is proved or fails.

use loftwright_dsl::program::{Node, Program, Value};
use loftwright_dsl::quantity::{Date, Rational, unit_named};
use loftwright_engine::assure::run_cases;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::outcome::{Outcome, Place};
use loftwright_engine::parts::Parts;
use loftwright_engine::trace::NoTrace;
use loftwright_tests::generator::Random;
use loftwright_tests::made_up::{Decision, checked, player};

const DECISIONS: u64 = 400;
const COLUMNS: [&str; 4] = ["lean", "back", "turf", "pace"];
const TURF: [&str; 3] = ["firm", "normal", "soft"];

fn today() -> Date {
    Date::parse("2026-05-01").unwrap()
}

fn degrees(number: Rational) -> Value {
    let degree = unit_named("deg").unwrap();
    Value::Number(number.times(degree.factor()).unwrap())
}

/// What the decision comes to for a player, for people.
fn comes_to(program: &Program, lean: Rational, turf: usize, pace: i32) -> Option<String> {
    let readings = [
        ("lean", Some(degrees(lean))),
        ("turf", Some(Value::Word(i32::try_from(turf).unwrap()))),
        ("pace", Some(Value::Word(pace))),
    ];
    let player = player(program, &readings);
    let evaluation =
        Evaluator::new(program).evaluate(&Parts::default(), &player, today(), &mut NoTrace);
    let mut decisions = program.decisions.entries();
    let (id, decision) = decisions.find(|(_, one)| one.name == "made").unwrap();
    let place = Place {
        node: Node::Decision(id),
        member: None,
    };
    match evaluation.outcome(place) {
        Some(Outcome::Decided(value)) => {
            let shown = &decision.shown;
            Some(shown.text(program, decision.value_type, value))
        }
        _ => None,
    }
}

#[test]
fn a_case_is_proved_where_every_player_of_its_range_comes_out_alike() {
    let (mut proved, mut failed) = (0, 0);
    for seed in 0..DECISIONS {
        let mut random = Random(seed);
        let decision = Decision::new(&mut random, &COLUMNS);
        let rules = decision.rules();
        let plain = checked(&rules).program.unwrap();
        let (low, turf) = (random.below(5), random.below(3));
        let high = low + 1 + random.below(6 - low);
        let whole = |number: usize| Rational::whole(i64::try_from(number).unwrap());
        let Some(wanted) = comes_to(&plain, whole(low), turf, 2) else {
            continue;
        };
        let two_ranges = random.chance(40);
        let pace = if two_ranges {
            "slow through quick"
        } else {
            "steady"
        };
        let case = format!(
            "\ncase \"a range\"\n  given  lean = {low} deg through {high} deg\n  \
             given  turf = {}\n  given  pace = {pace}\n  expect made = {wanted}\n",
            TURF[turf]
        );
        let text = format!("{rules}{case}");
        let output = checked(&text);
        let program = output
            .program
            .unwrap_or_else(|| panic!("{:#?}\n{text}", output.diagnostics));
        let report = run_cases(&program, &Default::default(), today());
        let result = &report.cases[0];
        assert_eq!(result.not_proved, None, "seed {seed}\n{text}");
        // Bounds lie on whole degrees of lean and of back = 9 deg − 1.5 lean: on thirds of a degree
        // of lean. Sixths meet the middle between any two of them.
        let paces: &[i32] = if two_ranges { &[0, 2, 4] } else { &[2] };
        let steps = 6 * low..=6 * high;
        let holds = steps.clone().all(|step| {
            let lean = Rational::fraction(i128::try_from(step).unwrap(), 6).unwrap();
            paces
                .iter()
                .all(|pace| comes_to(&program, lean, turf, *pace).as_ref() == Some(&wanted))
        });
        assert_eq!(result.is_passed(), holds, "seed {seed}\n{text}");
        *(if holds { &mut proved } else { &mut failed }) += 1;
    }
    assert!(
        proved > 60 && failed > 60,
        "{proved} proved, {failed} failed"
    );
}
