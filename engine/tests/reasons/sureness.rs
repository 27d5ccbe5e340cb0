//! Shares, nearest changes and the next reading on rules small enough to do by hand.

use std::collections::BTreeMap;

use crate::support::{program, today};
use loftwright_dsl::program::{InputId, Program, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::fit::{fit, fit_to_depth};
use loftwright_engine::intake::{PlayerText, ReadingText, read_player};
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_engine::recommendation::{
    DecisionReport, NearestChange, NextReading, ReadingState, Recommendation, SettlesBetween,
    Sureness,
};
use loftwright_engine::sure::{Depth, Workers, plausible_readings};
use loftwright_engine::trace::NoTrace;

const FULL: Depth = Depth::Full(Workers::ONE);

const BOUNCE: &str = r#"
scale bounce_class is low < standard < high

input wedge_attack_angle : angle
  ask     "Angle of attack with a full wedge swing; negative is downward."
  between -20 deg and 10 deg
  spread  1.2 deg

let steepness = -wedge_attack_angle

decide wedge_bounce : bounce_class
  source common practice
  by steepness
    under 5 deg      gives low
    5 through 8 deg  gives standard
    over 8 deg       gives high
"#;

fn player(program: &Program, readings: &[(&str, &str, u32)]) -> Player {
    let reading = |(name, value, shots): &(&str, &str, u32)| {
        let text = ReadingText {
            value: (*value).to_owned(),
            spread: None,
            shots: Some(*shots),
        };
        ((*name).to_owned(), text)
    };
    let text = PlayerText {
        readings: readings.iter().map(reading).collect(),
        given: BTreeMap::new(),
    };
    read_player(program, &text).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn in_full(rules: &str, readings: &[(&str, &str, u32)]) -> Recommendation {
    let program = program(rules);
    let player = player(&program, readings);
    fit_to_depth(&program, &Parts::default(), &player, today(), FULL)
}

fn decision<'r>(answer: &'r Recommendation, name: &str) -> &'r DecisionReport {
    let mut reports = answer.decisions.iter();
    reports
        .find(|report| report.name == name)
        .unwrap_or_else(|| panic!("no `{name}`"))
}

fn sureness(answer: &Recommendation, name: &str) -> Sureness {
    let report = decision(answer, name);
    report
        .sureness
        .clone()
        .unwrap_or_else(|| panic!("no share"))
}

fn other(sureness: &Sureness) -> (&str, usize) {
    let other = sureness.runner_up.as_ref();
    other.map_or(("", 0), |other| (other.text.as_str(), other.count))
}

fn change(input: &str, reading: &str, spreads: &str, outcome: &str) -> Option<NearestChange> {
    Some(NearestChange {
        input: input.to_owned(),
        reading: reading.to_owned(),
        spreads: spreads.to_owned(),
        outcome: outcome.to_owned(),
    })
}

/// 7.4 deg and a spread of 1.2 deg: *high* lies beyond 0.5 spreads, *low* beyond 2. Of the 64
/// middles of equal shares, (k + 1/2)/64, 20 lie above Φ(0.5) = 0.6915 (44.25 of 64) and 1 above
/// Φ(2) = 0.9772 (62.54 of 64).
#[test]
fn a_share_is_counted_as_the_normal_distribution_has_it() {
    let answer = in_full(BOUNCE, &[("wedge_attack_angle", "-7.4 deg", 1)]);
    let found = sureness(&answer, "wedge_bounce");
    assert_eq!((found.same, found.of), (43, 64));
    assert_eq!(other(&found), ("high", 20));
    let nearest = change("wedge_attack_angle", "-8 deg", "0.5", "high");
    assert_eq!(found.nearest_change, nearest);
    assert!(!found.moves);
    assert_eq!(found.range, None);
}

/// The mean of nine shots scatters by 0.4 deg: *high* lies beyond 1.5 spreads, Φ(1.5) = 0.9332
/// (59.72 of 64): four middles lie above it. *low* lies beyond 6 spreads.
#[test]
fn the_mean_of_nine_shots_is_three_times_as_sure() {
    let answer = in_full(BOUNCE, &[("wedge_attack_angle", "-7.4 deg", 9)]);
    let found = sureness(&answer, "wedge_bounce");
    assert_eq!((found.same, other(&found)), (60, ("high", 4)));
    let nearest = change("wedge_attack_angle", "-8 deg", "1.5", "high");
    assert_eq!(found.nearest_change, nearest);
}

/// On a bound half of all plausible readings lie on either side; the bound is where it turns.
#[test]
fn a_reading_on_a_bound_turns_right_where_it_is() {
    let answer = in_full(BOUNCE, &[("wedge_attack_angle", "-8 deg", 4)]);
    let found = sureness(&answer, "wedge_bounce");
    assert_eq!((found.same, other(&found)), (32, ("high", 32)));
    let nearest = change("wedge_attack_angle", "-8 deg", "0", "high");
    assert_eq!(found.nearest_change, nearest);
}

/// 100 shots scatter by 0.12 deg: the nearest bound is five spreads away.
#[test]
fn a_change_further_than_three_spreads_is_not_told() {
    let answer = in_full(BOUNCE, &[("wedge_attack_angle", "-7.4 deg", 100)]);
    let found = sureness(&answer, "wedge_bounce");
    assert_eq!((found.same, found.runner_up), (64, None));
    assert_eq!(found.nearest_change, None);
    assert_eq!(answer.next_reading, None);
}

#[test]
fn the_short_answer_tells_no_shares() {
    let program = program(BOUNCE);
    let player = player(&program, &[("wedge_attack_angle", "-7.4 deg", 1)]);
    let short = fit(&program, &Parts::default(), &player, today());
    assert_eq!(decision(&short, "wedge_bounce").sureness, None);
    assert_eq!(short.borderline.len(), 1);
    assert_eq!(short.next_reading, None);
}

const NUMBERS: &str = r#"
input swing_speed : speed
  ask     "Head speed?"
  between 60 mph and 100 mph
  spread  2 mph

input strikes : count
  ask     "Of ten strikes, how many on the face?"
  between 0 and 10
  spread  1

let squared = swing_speed * swing_speed / 1 mph

decide doubled : speed, shown in mph, to 0.001
  gives swing_speed * 2

decide in_twenties : speed
  gives squared / 20, rounded to 20 mph

decide coarse : speed, shown in mph, to 10
  gives swing_speed

decide steady : number
  by strikes
    under 9   gives 1
    9 or more gives 2
"#;

/// 72 mph with a spread of 2 mph: the outermost of the 64 are 2.4176 spreads away, on the grid of
/// 1/500 mph 4.836 mph; doubled that is 9.672 mph.
#[test]
fn a_number_that_moves_is_told_by_its_range() {
    let answer = in_full(
        NUMBERS,
        &[("swing_speed", "72 mph", 1), ("strikes", "3", 1)],
    );
    let found = sureness(&answer, "doubled");
    assert!(found.moves);
    assert_eq!(found.runner_up, None);
    assert_eq!(found.nearest_change, None);
    let range = found.range.map(|range| (range.lowest, range.highest));
    assert_eq!(
        range,
        Some(("134.328 mph".to_owned(), "153.672 mph".to_owned()))
    );
}

/// What the sheet shows alike is the same: 72 mph shows as 70 mph, and so does all below 75 mph,
/// 1.5 spreads up; four of 64 lie beyond, as with nine shots above. 65 mph is 3.5 spreads away.
#[test]
fn two_numbers_are_the_same_where_they_are_shown_alike() {
    let answer = in_full(
        NUMBERS,
        &[("swing_speed", "72 mph", 1), ("strikes", "3", 1)],
    );
    let found = sureness(&answer, "coarse");
    assert_eq!((found.same, other(&found)), (60, ("80 mph", 4)));
    let nearest = change("swing_speed", "75 mph", "1.5", "80 mph");
    assert_eq!(found.nearest_change, nearest);
}

/// 10 of 10 cannot be 11: a deviation upward is reflected to 10 or 9. By hand: a deviation rounds
/// to 0 below 0.5 spreads in size (Φ(0.5) = 0.6915: 24 of 64), to 1 below 1.5, to 2 below 2.5.
/// Nothing under 9 but by two or more: 8 of 64 either way.
#[test]
fn a_count_is_whole_and_stays_within_what_it_may_be() {
    let answer = in_full(
        NUMBERS,
        &[("swing_speed", "72 mph", 1), ("strikes", "10", 1)],
    );
    let found = sureness(&answer, "steady");
    assert_eq!((found.same, other(&found)), (56, ("1", 8)));
    assert_eq!(found.nearest_change, change("strikes", "8", "2", "1"));
}

/// The column is a square and rounded: no bound is known exactly. A scan in steps of 1/500 of a
/// spread by plain evaluations says where it turns.
#[test]
fn the_nearest_change_is_where_a_fine_scan_finds_it() {
    let program = program(NUMBERS);
    let input = program.inputs.entries();
    let (input, _) = input
        .into_iter()
        .find(|(_, input)| input.name == "swing_speed")
        .unwrap_or_else(|| panic!("no input"));
    for (speed, shots) in [
        ("72 mph", 1),
        ("81.3 mph", 1),
        ("90 mph", 4),
        ("66 mph", 16),
    ] {
        let mut player = player(&program, &[("swing_speed", speed, shots)]);
        let answer = fit_to_depth(&program, &Parts::default(), &player, today(), FULL);
        let told = sureness(&answer, "in_twenties").nearest_change;
        let value = |answer: &Recommendation| {
            let value = decision(answer, "in_twenties").value.clone();
            value.map(|value| value.text)
        };
        let given = value(&answer);
        let reading = player.readings[&input]
            .value
            .number()
            .unwrap_or(Rational::ZERO);
        // 2 mph / √shots / 500 in m/s.
        let root = [(1, 1), (4, 2), (16, 4)]
            .into_iter()
            .find(|(n, _)| *n == shots);
        let root = root.map_or(1, |(_, root)| root);
        let step = Rational::fraction(44_704, 100_000 * 250 * root).unwrap();
        let mut nearest = None;
        for steps in 1..=1500 {
            for sign in [1, -1] {
                let moved = step.times(Rational::whole(sign * steps)).unwrap();
                let moved = reading.plus(moved).unwrap();
                if let Some(reading) = player.readings.get_mut(&input) {
                    reading.value = Value::Number(moved);
                }
                let answer = fit(&program, &Parts::default(), &player, today());
                if nearest.is_none() && value(&answer) != given {
                    nearest = Some((steps, value(&answer)));
                }
            }
        }
        match (nearest, told) {
            (Some((steps, outcome)), Some(told)) => {
                let told_spreads: f64 = told.spreads.parse().unwrap();
                let spreads = f64::from(i32::try_from(steps).unwrap()) / 500.0;
                // To 1/100, 1/100 by bisection, and the scan's own width of 1/500.
                assert!(
                    (told_spreads - spreads).abs() <= 0.017,
                    "{told:?} {spreads}"
                );
                assert_eq!(Some(told.outcome), outcome);
            }
            (found, told) => panic!("{speed}: {found:?}, told {told:?}"),
        }
    }
}

const MISSING: &str = r#"
input first : angle
  ask     "First?"
  between 0 deg and 8 deg
  spread  1 deg

input second : angle
  ask     "Second?"
  between 0 deg and 8 deg
  spread  1 deg

decide by_first : number
  by first
    under 4 deg   gives 1
    4 deg or more gives 2

decide by_both : number
  by first and second
    under 4 deg   and any           gives 1
    4 deg or more and under 4 deg   gives 2
    4 deg or more and 4 deg or more gives 3

decide by_second : number
  by second
    under 4 deg   gives 1
    4 deg or more gives 2

decide by_second_too : number
  by second
    under 2 deg   gives 1
    2 deg or more gives 2
"#;

/// `first` has 1 + 1/2, `second` 1/2 + 1 + 1. With `second` alone its own two are settled, and the
/// third still waits for `first`.
#[test]
fn the_missing_reading_that_most_wait_for_is_next() {
    let answer = in_full(MISSING, &[]);
    let next = answer
        .next_reading
        .unwrap_or_else(|| panic!("a reading is missing"));
    let expected = NextReading {
        input: "second".to_owned(),
        ask: Some("Second?".to_owned()),
        state: ReadingState::Missing,
        decisions: ["by_both", "by_second", "by_second_too"]
            .map(str::to_owned)
            .to_vec(),
        outcomes: 3,
        settles: Some(SettlesBetween { least: 2, most: 2 }),
    };
    assert_eq!(next, expected);
}

/// With `second` given, `first` is what all that is open waits for: it settles both.
#[test]
fn what_it_settles_is_tried_out() {
    let answer = in_full(MISSING, &[("second", "5 deg", 1)]);
    let next = answer
        .next_reading
        .unwrap_or_else(|| panic!("a reading is missing"));
    assert_eq!(next.input, "first");
    assert_eq!(next.settles, Some(SettlesBetween { least: 2, most: 2 }));
}

/// Both are a quarter of a spread from 4 deg, which `second` turns with one decision more.
#[test]
fn of_uncertain_readings_the_one_that_turns_most_is_next() {
    let readings = [("first", "4.25 deg", 1), ("second", "4.25 deg", 1)];
    let answer = in_full(MISSING, &readings);
    let next = answer
        .next_reading
        .unwrap_or_else(|| panic!("some are uncertain"));
    assert_eq!(
        (next.input.as_str(), next.state),
        ("second", ReadingState::Uncertain)
    );
    let decisions: Vec<&str> = next.decisions.iter().map(String::as_str).collect();
    assert_eq!(decisions, ["by_both", "by_second", "by_second_too"]);
}

/// Correlation of two readings over the 64 sets, by the definition.
fn correlation(spread: &str) -> f64 {
    let rules = format!(
        "input first : speed
  ask     \"First?\"
  between 0 mph and 200 mph
  spread  2 mph{spread}

input second : spin
  ask     \"Second?\"
  between 0 rpm and 9000 rpm
  spread  100 rpm{spread}

decide both : number
  gives first / 1 mph + second / 1 rpm
"
    );
    let program = program(&rules);
    let player = player(
        &program,
        &[("first", "100 mph", 1), ("second", "3000 rpm", 1)],
    );
    let evaluator = Evaluator::new(&program);
    let evaluation = evaluator.evaluate(&Parts::default(), &player, today(), &mut NoTrace);
    let sets = plausible_readings(&program, &player, &evaluation);
    let column = |place: usize| -> Vec<f64> {
        let value =
            |set: &Vec<(InputId, Value)>| set[place].1.number().map_or(f64::NAN, Rational::to_f64);
        let values: Vec<f64> = sets.iter().map(value).collect();
        let mean = values.iter().sum::<f64>() / 64.0;
        values.iter().map(|value| value - mean).collect()
    };
    let (first, second) = (column(0), column(1));
    let product = |left: &[f64], right: &[f64]| -> f64 {
        left.iter()
            .zip(right)
            .map(|(left, right)| left * right)
            .sum()
    };
    product(&first, &second) / (product(&first, &first) * product(&second, &second)).sqrt()
}

/// (3/5)² = 0.36 where they share a strike; what the columns are correlated by, at most 0.09 each,
/// comes on top.
#[test]
fn readings_of_one_strike_go_together() {
    let apart = correlation("");
    let together = correlation(", of strike driver");
    assert!(apart.abs() <= 0.09, "{apart}");
    assert!((together - 0.36).abs() <= 0.15, "{together}");
}
