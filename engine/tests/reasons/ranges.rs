//! Cases over a range: what is proved, what is found between the points that a few tries would
//! look at, and what is said where there is no proof.

use std::collections::BTreeMap;

use crate::support::{program, today};
use loftwright_dsl::diagnostic::Code;
use loftwright_engine::assure::{CaseReport, run_cases};

const RULES: &str = r#"
scale grade is low < middle < high

input wedge_attack_angle : angle
  ask     "Angle of attack with a full wedge swing; negative is downward."
  between -20 deg and 10 deg

input speed : speed
  ask     "Speed of the head."
  between 50 mph and 130 mph

input wedges : count
  ask     "How many wedges?"
  between 0 and 9
  default 2

group wedge, as many as wedges
  has number : count

let steepness = -wedge_attack_angle
let twice     = (2 * steepness - 4 deg), kept within 0 deg and 20 deg
let whole     = (speed * 0.8), rounded to 10 mph

# A sliver that a few tries over a wide range do not meet.
decide sole : grade
  by steepness
    under 5 deg              gives low
    5 deg to under 5.001 deg gives high
    5.001 deg or more        gives middle

decide along : grade, for each wedge
  by (steepness + 1 deg * number)
    up to 8 deg gives low
    over 8 deg  gives high

decide by_twice : grade
  by twice
    under 6 deg   gives low
    6 deg or more gives high

decide slow_and_steep : grade
  by steepness   and speed
     under 5 deg and any           gives low
     5 deg or more and under 80 mph  gives middle
     5 deg or more and 80 mph or more gives high

decide wanted : angle
  by speed
    under 90 mph   gives 10 deg + 0.1 deg for each 1 deg of steepness
    90 mph or more gives 9 deg
  then by steepness
    under 5 deg   keeps
    5 deg or more adds 1 deg

caution steep : steepness over 12 deg
  says "That is steep."
"#;

fn report(cases: &str) -> CaseReport {
    let program = program(&format!("{RULES}{cases}"));
    run_cases(&program, &BTreeMap::new(), today())
}

/// Whether the only case holds, how many players were run, and whether it is proved.
fn looked_at(case: &str) -> (bool, usize, bool) {
    let report = report(&format!("\ncase \"over a range\"\n{case}"));
    let case = &report.cases[0];
    (case.is_passed(), case.players, case.not_proved.is_none())
}

/// The readings with which the only case fails.
fn fails_with(case: &str) -> Vec<String> {
    let report = report(&format!("\ncase \"over a range\"\n{case}"));
    let failure = report.cases[0].expectations[0].failure.clone();
    let failure = failure.unwrap_or_else(|| panic!("it fails: {:#?}", report.cases));
    let texts = failure.tried_with.into_iter();
    texts.map(|reading| reading.text).collect()
}

#[test]
fn a_row_is_found_however_narrow_it_is() {
    let found = fails_with(
        "  given  wedge_attack_angle = -20 deg through -5 deg\n  expect sole = middle\n",
    );
    assert_eq!(found, ["-5.0005 deg"]);
}

#[test]
fn a_range_is_cut_through_lets_that_are_straight_lines() {
    // twice = 2 × 5 deg − 4 deg = 6 deg at 5 deg; the clamp at 20 deg is reached at 12 deg.
    let (holds, players, proved) = looked_at(
        "  given  wedge_attack_angle = -19 deg through -5 deg\n  expect by_twice = high\n",
    );
    assert!(holds && proved);
    // -19, -12 and -5, and one between each two; nothing else is a bound.
    assert_eq!(players, 5);
    let found = fails_with(
        "  given  wedge_attack_angle = -19 deg through -4.999 deg\n  expect by_twice = high\n",
    );
    assert_eq!(found.len(), 1);
}

#[test]
fn a_range_is_cut_for_every_club() {
    // With nine wedges the bound of 8 deg is passed at 7 deg, 6 deg, … as the number rises.
    let (holds, players, proved) = looked_at(
        "  given  wedges = 4\n  given  wedge_attack_angle = -4 deg through 10 deg\n  \
         expect every along = low\n",
    );
    assert!(holds && proved);
    assert_eq!(players, 3);
    let found = fails_with(
        "  given  wedges = 5\n  given  wedge_attack_angle = -4 deg through 10 deg\n  \
         expect every along = low\n",
    );
    assert_eq!(found, ["-4 deg"]);
}

#[test]
fn two_ranges_are_cut_into_boxes() {
    let (holds, _, proved) = looked_at(
        "  given  wedge_attack_angle = -20 deg through -5 deg\n  \
         given  speed = 80 mph through 130 mph\n  expect slow_and_steep = high\n",
    );
    assert!(holds && proved);
    let found = fails_with(
        "  given  wedge_attack_angle = -20 deg through -4.9 deg\n  \
         given  speed = 80 mph through 130 mph\n  expect slow_and_steep = high\n",
    );
    assert_eq!(found.len(), 2);
}

#[test]
fn counts_are_tried_one_by_one() {
    let (holds, players, proved) = looked_at(
        "  given  wedge_attack_angle = 10 deg\n  given  wedges = 1 through 9\n  \
         expect every along = low\n",
    );
    assert!(holds && proved);
    assert_eq!(players, 9);
}

#[test]
fn a_rounded_value_is_cut_where_it_steps() {
    // 0.8 × 93.75 mph = 75 mph, the half between 70 and 80, which goes up.
    let (holds, _, proved) =
        looked_at("  given  speed = 93.75 mph through 106 mph\n  expect whole = 80 mph\n");
    assert!(holds && proved);
    let (holds, _, _) =
        looked_at("  given  speed = 93.7 mph through 106 mph\n  expect whole = 80 mph\n");
    assert!(!holds);
}

#[test]
fn a_number_on_a_line_is_not_one_value() {
    // In the middle of the range it is 10.6 deg, and nowhere else.
    let (holds, _, _) = looked_at(
        "  given  speed = 80 mph\n  given  wedge_attack_angle = -4 deg through 0 deg\n  \
         expect wanted = 10.2 deg\n",
    );
    assert!(!holds);
    let (holds, _, proved) = looked_at(
        "  given  speed = 95 mph\n  given  wedge_attack_angle = -4 deg through 0 deg\n  \
         expect wanted = 9 deg\n",
    );
    assert!(holds && proved, "the row that moves does not decide");
}

#[test]
fn cautions_are_proved_too() {
    let (holds, _, proved) = looked_at(
        "  given  wedge_attack_angle = -12 deg through 10 deg\n  expect no caution steep\n",
    );
    assert!(holds && proved);
    let (holds, _, _) = looked_at(
        "  given  wedge_attack_angle = -12.001 deg through 10 deg\n  expect no caution steep\n",
    );
    assert!(!holds);
}

#[test]
fn what_cannot_be_followed_is_tried_and_said() {
    let report = report(
        r#"
let ratio = 100 / (speed / 1 mph)

decide quick : grade
  by ratio
    1 or more gives low
    under 1   gives high

case "by a quotient"
  given  speed = 60 mph through 90 mph
  expect quick = low
"#,
    );
    let case = &report.cases[0];
    assert!(case.is_passed());
    assert_eq!(
        case.not_proved.as_deref(),
        Some("a division by a value that moves")
    );
    let [finding] = report.diagnostics.as_slice() else {
        panic!("one finding, found {:?}", report.diagnostics);
    };
    assert_eq!(finding.code, Code::RangeNotProved);
    assert_eq!(
        finding.message,
        "case `by a quotient` holds at the 9 points of its range that were tried, \
         and is not proved over it"
    );
}
