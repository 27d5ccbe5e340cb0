//! Reasons, missing readings and borderline decisions on small rules.

use crate::support::{player, program, today};
use loftwright_engine::fit::{fit, fit_traced};
use loftwright_engine::parts::Parts;
use loftwright_engine::recommendation::{DecisionReport, Ending, Recommendation};

/// The rules of the language reference's first example.
const WEDGES: &str = r#"
scale bounce_class is low < standard < high

input wedge_attack_angle : angle
  ask     "Angle of attack with a full wedge swing; negative is downward."
  between -20 deg and 10 deg
  spread  1.2 deg

input wedges : count
  ask     "How many wedges?"
  between 0 and 4
  default 2

let steepness = -wedge_attack_angle

group wedge, as many as wedges
  has number : count

decide wedge_bounce : bounce_class, for each wedge
  about  "Enough sole to stop the leading edge digging, and no more."
  source common practice
  by steepness
    under 5 deg      gives low         because "A shallow delivery skims the turf."
    5 through 8 deg  gives standard
    over 8 deg       gives high        because "A steep delivery digs."
"#;

fn recommended(rules: &str, readings: &[(&str, &str)]) -> Recommendation {
    let program = program(rules);
    fit(
        &program,
        &Parts::default(),
        &player(&program, readings),
        today(),
    )
}

fn decision<'r>(recommendation: &'r Recommendation, name: &str) -> &'r DecisionReport {
    recommendation
        .decisions
        .iter()
        .find(|decision| decision.name == name)
        .unwrap_or_else(|| panic!("no decision {name}"))
}

#[test]
fn a_row_is_told_with_its_number_reading_and_reason() {
    let found = recommended(WEDGES, &[("wedge_attack_angle", "-8.1 deg")]);
    let bounce = decision(&found, "wedge_bounce");
    assert_eq!(bounce.ending, Ending::Decided);
    assert_eq!(bounce.club.as_deref(), Some("wedge 1"));
    assert_eq!(bounce.group.as_deref(), Some("wedge"));
    assert_eq!(
        bounce.value.as_ref().map(|value| value.text.as_str()),
        Some("high")
    );
    assert_eq!(bounce.source.as_deref(), Some("common practice"));
    assert_eq!(bounce.layer, "house");
    let [step] = bounce.steps.as_slice() else {
        panic!("one step, found {:?}", bounce.steps);
    };
    assert_eq!((step.table, step.row), (Some(1), Some(3)));
    assert_eq!(step.rule, "over 8 deg gives high");
    assert_eq!(step.because.as_deref(), Some("A steep delivery digs."));
    assert_eq!(step.readings.len(), 1);
    assert_eq!(step.readings[0].name, "steepness");
    assert_eq!(step.readings[0].text, "8.1 deg");
}

/// The bounds of the issue: 4.9, 5, 8 and 8.1 degrees down.
#[test]
fn bounds_are_exact() {
    let bounce = |angle: &str| {
        let found = recommended(WEDGES, &[("wedge_attack_angle", angle)]);
        decision(&found, "wedge_bounce")
            .value
            .as_ref()
            .map(|value| value.text.clone())
    };
    assert_eq!(bounce("-4.9 deg").as_deref(), Some("low"));
    assert_eq!(bounce("-4.9999999999 deg").as_deref(), Some("low"));
    assert_eq!(bounce("-5 deg").as_deref(), Some("standard"));
    assert_eq!(bounce("-8 deg").as_deref(), Some("standard"));
    assert_eq!(bounce("-8.0000000001 deg").as_deref(), Some("high"));
}

#[test]
fn a_missing_reading_is_named_with_what_waits_for_it() {
    let found = recommended(WEDGES, &[]);
    let bounce = decision(&found, "wedge_bounce");
    assert_eq!(bounce.ending, Ending::Needs);
    assert_eq!(
        bounce.explanation.as_deref(),
        Some("needs `wedge_attack_angle`")
    );
    assert_eq!(bounce.needs, ["wedge_attack_angle"]);
    assert!(bounce.blocked_by.is_empty());
    let [missing] = found.missing.as_slice() else {
        panic!("one reading is missing, found {:?}", found.missing);
    };
    assert_eq!(missing.input, "wedge_attack_angle");
    assert_eq!(missing.decisions, ["wedge_bounce"]);
    let [assumed] = found.assumed.as_slice() else {
        panic!("one reading is assumed, found {:?}", found.assumed);
    };
    assert_eq!(
        (assumed.name.as_str(), assumed.text.as_str()),
        ("wedges", "2")
    );
}

#[test]
fn what_blocks_a_decision_is_named_with_its_club_and_root() {
    let rules = format!(
        "{WEDGES}
decide sole : number, for each wedge
  by wedge_bounce
    low      gives 1
    standard gives 2
    high     gives 3

decide widest_sole : number
  gives sole of the last wedge
"
    );
    let found = recommended(&rules, &[]);
    let sole = decision(&found, "sole");
    assert_eq!(sole.ending, Ending::Blocked);
    assert_eq!(
        sole.explanation.as_deref(),
        Some("blocked by `wedge_bounce` of the wedge 1: needs `wedge_attack_angle`")
    );
    assert_eq!(sole.blocked_by, ["wedge_bounce"]);
    assert_eq!(
        decision(&found, "widest_sole").explanation.as_deref(),
        Some("blocked by `sole` of the wedge 2: needs `wedge_attack_angle`")
    );
}

/// Distance and spread by hand: 8 - 7.4 = 0.6 deg is 0.5 of 1.2 deg; 7.4 - 5 = 2.4 deg is 2.
#[test]
fn a_reading_near_a_bound_is_borderline() {
    let found = recommended(
        WEDGES,
        &[("wedge_attack_angle", "-7.4 deg"), ("wedges", "1")],
    );
    let [borderline] = found.borderline.as_slice() else {
        panic!("one bound is near, found {:?}", found.borderline);
    };
    assert_eq!(borderline.decision, "wedge_bounce");
    assert_eq!(borderline.club.as_deref(), Some("wedge 1"));
    assert_eq!(borderline.input, "wedge_attack_angle");
    assert_eq!(borderline.reading, "-7.4 deg");
    assert_eq!(borderline.bound, "8 deg");
    assert_eq!(borderline.spreads, "0.5");
    assert_eq!(borderline.other_side.as_deref(), Some("high"));
}

/// On the bound itself, on either side of a bound that belongs to one row alone.
#[test]
fn the_other_side_of_a_bound_is_the_row_behind_it() {
    let other_side = |angle: &str| {
        let found = recommended(WEDGES, &[("wedge_attack_angle", angle), ("wedges", "1")]);
        let [borderline] = found.borderline.as_slice() else {
            panic!("one bound is near, found {:?}", found.borderline);
        };
        (
            borderline.spreads.clone(),
            borderline.other_side.clone().unwrap_or_default(),
        )
    };
    assert_eq!(other_side("-5 deg"), ("0".to_owned(), "low".to_owned()));
    assert_eq!(
        other_side("-4.4 deg"),
        ("0.5".to_owned(), "standard".to_owned())
    );
    assert_eq!(
        other_side("-9.2 deg"),
        ("1".to_owned(), "standard".to_owned())
    );
}

/// The mean of nine shots scatters a third as much: 0.4 deg instead of 1.2 deg.
#[test]
fn more_shots_make_a_reading_surer() {
    let program = program(WEDGES);
    let mut player = player(
        &program,
        &[("wedge_attack_angle", "-7.4 deg"), ("wedges", "1")],
    );
    for reading in player.readings.values_mut() {
        reading.shots = 9;
    }
    let found = fit(&program, &Parts::default(), &player, today());
    assert!(found.borderline.is_empty(), "{:?}", found.borderline);
}

#[test]
fn the_end_of_what_a_reading_may_be_has_no_other_side() {
    let rules = r#"
input age : angle
  ask     "Not an age: an angle whose range ends where the row does."
  between 0 deg and 10 deg
  spread  1 deg

decide kind : number
  by age
    0 through 5 deg     gives 1
    over 5 through 10 deg gives 2
"#;
    let found = recommended(rules, &[("age", "9.9 deg")]);
    assert!(found.borderline.is_empty(), "{:?}", found.borderline);
}

#[test]
fn expressions_are_told_with_what_they_name() {
    let rules = format!(
        "{WEDGES}
decide half_steepness : angle
  gives steepness / 2, rounded to 0.5 deg because \"Half of it.\"
"
    );
    let found = recommended(&rules, &[("wedge_attack_angle", "-8.1 deg")]);
    let half = decision(&found, "half_steepness");
    // 8.1 / 2 = 4.05, to the nearest half 4.
    assert_eq!(
        half.value.as_ref().map(|value| value.text.as_str()),
        Some("4 deg")
    );
    let step = &half.steps[0];
    assert_eq!(step.rule, "gives steepness / 2, rounded to 0.5 deg");
    assert_eq!(step.because.as_deref(), Some("Half of it."));
    assert_eq!(step.readings[0].name, "steepness");
    assert_eq!(step.readings[0].text, "8.1 deg");
}

#[test]
fn along_the_bag_previous_is_told() {
    let rules = format!(
        "{WEDGES}
decide wedge_lie : angle, for each wedge in order of number
  first gives 63 deg
  next  gives previous - 1/2 deg because \"A little flatter.\"
"
    );
    let found = recommended(&rules, &[]);
    let lies: Vec<_> = found
        .decisions
        .iter()
        .filter(|one| one.name == "wedge_lie")
        .collect();
    assert_eq!(lies.len(), 2);
    assert_eq!(lies[0].steps[0].rule, "first gives 63 deg");
    let next = &lies[1].steps[0];
    assert_eq!(next.rule, "next gives previous - 1/2 deg");
    assert_eq!(next.readings[0].name, "previous");
    assert_eq!(next.readings[0].text, "63 deg");
    assert_eq!(next.value.as_deref(), Some("62.5 deg"));
}

#[test]
fn asking_why_twice_gives_the_same_answer_and_trace() {
    let program = program(WEDGES);
    let player = player(&program, &[("wedge_attack_angle", "-7.4 deg")]);
    let first = fit_traced(&program, &Parts::default(), &player, today());
    let second = fit_traced(&program, &Parts::default(), &player, today());
    assert_eq!(first, second);
}

/// By hand: 3 + 2 × 2 = 7; the bound 8 is met at -2.5 deg, 0.5 deg away, 0.4167 of 1.2 deg. Just
/// past it is past -2.5 deg, downward.
#[test]
fn a_bound_is_carried_back_through_lets_and_arithmetic() {
    let rules = r#"
input angle_of_attack : angle
  ask     "Angle of attack?"
  between -20 deg and 10 deg
  spread  1.2 deg

let doubled = angle_of_attack * 2
let base : angle = 3 deg

decide kind : number
  by (base - doubled)
    up to 8 deg gives 1
    over 8 deg  gives 2
"#;
    let found = recommended(rules, &[("angle_of_attack", "-2 deg")]);
    let [borderline] = found.borderline.as_slice() else {
        panic!("one bound is near, found {:?}", found.borderline);
    };
    assert_eq!(borderline.bound, "8 deg");
    assert_eq!(borderline.spreads, "0.42");
    assert_eq!(borderline.other_side.as_deref(), Some("2"));
}

/// A rounded value jumps: a bound of it is no one point of the reading.
#[test]
fn a_column_that_is_not_affine_is_never_borderline() {
    let rules = r#"
input angle_of_attack : angle
  ask     "Angle of attack?"
  between -20 deg and 10 deg
  spread  1.2 deg

let whole_degrees : angle = angle_of_attack, rounded to 1 deg

decide kind : number
  by whole_degrees
    up to 3 deg gives 1
    over 3 deg  gives 2
"#;
    let found = recommended(rules, &[("angle_of_attack", "3.2 deg")]);
    assert!(found.borderline.is_empty(), "{:?}", found.borderline);
}

/// A count moves in whole numbers: past 18 is 19.
#[test]
fn the_other_side_of_a_count_is_the_next_whole_number() {
    let rules = r#"
input rounds : count
  ask     "Rounds in a year?"
  between 0 and 400
  spread  2

decide kind : number
  by rounds
    up to 18 gives rounds
    over 18  gives 10 * rounds
"#;
    let found = recommended(rules, &[("rounds", "18")]);
    let [borderline] = found.borderline.as_slice() else {
        panic!("one bound is near, found {:?}", found.borderline);
    };
    assert_eq!(borderline.other_side.as_deref(), Some("190"));
}
