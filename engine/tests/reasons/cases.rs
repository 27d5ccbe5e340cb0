//! Cases of small rules: what passes, what fails and why.

use std::collections::BTreeMap;

use crate::support::{checked, program, today};
use loftwright_dsl::diagnostic::{Code, render_for_terminal};
use loftwright_dsl::diagnostic::{Witness, WitnessReading};
use loftwright_engine::assure::{CaseReport, WitnessAnswer, confirm_witness, run_cases};
use loftwright_engine::parts::Parts;

const RULES: &str = r#"
scale bounce_class is low < standard < high

input wedge_attack_angle : angle
  ask     "Angle of attack with a full wedge swing; negative is downward."
  between -20 deg and 10 deg

input wedges : count
  ask     "How many wedges?"
  between 0 and 4
  default 2

let steepness = -wedge_attack_angle

group wedge, as many as wedges
  has number : count

decide wedge_bounce : bounce_class, for each wedge
  by steepness
    under 5 deg      gives low
    5 through 8 deg  gives standard
    over 8 deg       gives high

decide wedge_lie : angle, for each wedge in order of number, largest first
  first gives 63 deg
  next  gives previous - 1/2 deg

caution steep : steepness over 12 deg
  says "That is steep."

limit few_wedges : wedges at most 3
"#;

fn report(cases: &str) -> CaseReport {
    run_cases(
        &program(&format!("{RULES}{cases}")),
        &BTreeMap::new(),
        today(),
    )
}

/// What is wrong with each expectation of the first case.
fn failures(cases: &str) -> Vec<Option<(String, String)>> {
    let report = report(cases);
    let lines = report.cases[0].expectations.iter();
    lines
        .map(|line| {
            line.failure
                .clone()
                .map(|failure| (failure.expected, failure.found))
        })
        .collect()
}

fn failed(expected: &str, found: &str) -> Option<(String, String)> {
    Some((expected.to_owned(), found.to_owned()))
}

#[test]
fn a_case_that_comes_out_as_it_expects_passes() {
    let report = report(
        r#"
case "everything"
  given  wedge_attack_angle = -13 deg
  given  wedges = 4
  expect every wedge_bounce = high
  expect wedge_bounce = high, high, high, high
  expect wedge_lie = 63 deg, 62.5 deg, 62 deg, 61.5 deg
  expect wedge_lie of the first wedge = 61.5 deg
  expect wedge_lie of the last wedge = 63 deg
  expect steepness = 13 deg
  expect caution steep
  expect limit few_wedges

case "nothing"
  expect wedge_bounce needs wedge_attack_angle
  expect no limit few_wedges
"#,
    );
    assert!(report.is_passed(), "{:#?}", report.diagnostics);
    assert!(report.diagnostics.is_empty());
    assert_eq!(report.cases[0].players, 1);
    assert!(!report.cases[0].is_over_a_range);
}

#[test]
fn what_is_not_known_is_neither_raised_nor_not_raised() {
    let found = failures(
        r#"
case "nobody measured, and two wedges where nobody counted"
  expect no caution steep
  expect no limit few_wedges
"#,
    );
    assert_eq!(
        found,
        [
            failed(
                "`steep` not raised",
                "not known: needs `wedge_attack_angle`"
            ),
            None,
        ]
    );
}

#[test]
fn a_failure_says_what_was_expected_and_what_was_found() {
    let found = failures(
        r#"
case "wrong"
  given  wedge_attack_angle = -9 deg
  expect every wedge_bounce = standard
  expect wedge_bounce = high
  expect wedge_lie = 63 deg, 62 deg
  expect wedge_lie of the first wedge = 63 deg
  expect wedge_bounce needs wedge_attack_angle
  expect caution steep
  expect limit few_wedges
"#,
    );
    assert_eq!(
        found,
        [
            failed("every `wedge_bounce` = standard", "high for the wedge 1"),
            failed("`wedge_bounce` = high", "2 values: high, high"),
            failed("`wedge_lie` = 63 deg, 62 deg", "62.5 deg for the wedge 1"),
            failed(
                "`wedge_lie` of the first wedge = 63 deg",
                "62.5 deg for the wedge 1"
            ),
            failed(
                "`wedge_bounce` needs `wedge_attack_angle`",
                "high for the wedge 1"
            ),
            failed("`steep` raised", "not raised"),
            failed("`few_wedges` broken", "not broken"),
        ]
    );
}

#[test]
fn a_reading_that_is_not_given_is_unknown() {
    let found = failures(
        r#"
case "nothing given"
  expect every wedge_bounce = low
  expect caution steep
"#,
    );
    assert_eq!(
        found,
        [
            failed(
                "every `wedge_bounce` = low",
                "needs `wedge_attack_angle` for the wedge 1"
            ),
            failed("`steep` raised", "not raised: needs `wedge_attack_angle`"),
        ]
    );
}

#[test]
fn every_fails_over_an_empty_group() {
    let found = failures(
        r#"
case "no wedges"
  given  wedges = 0
  given  wedge_attack_angle = -9 deg
  expect every wedge_bounce = high
  expect wedge_lie of the first wedge = 63 deg
"#,
    );
    assert_eq!(
        found,
        [
            failed(
                "every `wedge_bounce` = high",
                "the group `wedge` has no club"
            ),
            failed(
                "`wedge_lie` of the first wedge = 63 deg",
                "the group `wedge` has no club"
            ),
        ]
    );
}

#[test]
fn a_range_is_proved_at_its_ends_and_between() {
    let report = report(
        r#"
case "a range that holds"
  given  wedge_attack_angle = -8 deg through -5 deg
  expect every wedge_bounce = standard

case "a range that is too wide at its end"
  given  wedge_attack_angle = -8.1 deg through -5 deg
  expect every wedge_bounce = standard
"#,
    );
    let [holds, too_wide] = report.cases.as_slice() else {
        panic!("two cases, found {:?}", report.cases);
    };
    assert!(holds.is_over_a_range && holds.not_proved.is_none() && holds.is_passed());
    // Both ends and one player between them: no bound lies inside.
    assert_eq!(holds.players, 3);
    let failure = too_wide.expectations[0]
        .failure
        .clone()
        .unwrap_or_else(|| panic!("it fails"));
    assert_eq!(failure.found, "high for the wedge 1");
    assert_eq!(failure.tried_with[0].text, "-8.1 deg");
}

#[test]
fn a_case_with_a_stock_that_is_not_there_cannot_be_run() {
    let rules = format!(
        "{RULES}
case \"with stock\"
  with stock \"demo\"
  expect every wedge_bounce = low
"
    );
    let program = program(&rules);
    let stocks = BTreeMap::from([("bench".to_owned(), Parts::default())]);
    let report = run_cases(&program, &stocks, today());
    assert!(!report.is_passed());
    assert_eq!(
        report.cases[0].problem.as_deref(),
        Some("there is no stock `demo`; there is `bench`")
    );
}

#[test]
fn a_finding_points_at_the_line_and_at_the_row_that_decided() {
    let rules = format!(
        "{RULES}
case \"five degrees\"
  given  wedge_attack_angle = -5 deg
  expect every wedge_bounce = low
"
    );
    let output = checked(&rules);
    let program = output
        .program
        .as_ref()
        .unwrap_or_else(|| panic!("it checks clean"));
    let report = run_cases(program, &BTreeMap::new(), today());
    let [finding] = report.diagnostics.as_slice() else {
        panic!("one finding, found {:?}", report.diagnostics);
    };
    assert_eq!(finding.code, Code::CaseFailed);
    assert_eq!(
        finding.message,
        "case `five degrees`: expected every `wedge_bounce` = low, found standard for the wedge 1"
    );
    let text = render_for_terminal(&output.folder, &report.diagnostics, false);
    assert!(text.contains("expect every wedge_bounce = low"), "{text}");
    assert!(text.contains("this row decided"), "{text}");
    assert!(
        text.contains(
            "table 1, row 2 decided: `5 through 8 deg gives standard`, with `steepness` 5 deg"
        ),
        "{text}"
    );
}

#[test]
fn rows_are_counted_by_the_cases_that_touch_them() {
    let report = report(
        r#"
case "one"
  given  wedge_attack_angle = -5 deg
  expect every wedge_bounce = standard

case "two"
  given  wedge_attack_angle = -9 deg through -8 deg
  expect wedge_bounce = standard, standard
"#,
    );
    let [table] = report.coverage.as_slice() else {
        panic!("one table, found {:?}", report.coverage);
    };
    assert_eq!((table.decision.as_str(), table.table), ("wedge_bounce", 1));
    let counts: Vec<_> = table.rows.iter().map(|row| row.cases).collect();
    assert_eq!(counts, [0, 2, 1]);
    let untouched: Vec<_> = table.untouched().map(|row| row.row).collect();
    assert_eq!(untouched, [1]);
}

#[test]
fn a_witness_is_confirmed_by_running_it() {
    let program = program(RULES);
    let answer = |readings: &[(&str, &str)], rows: &[usize]| {
        let reading = |(input, value): &(&str, &str)| WitnessReading {
            input: (*input).to_owned(),
            value: (*value).to_owned(),
        };
        let witness = Witness {
            decision: "wedge_bounce".to_owned(),
            table: 0,
            rows: rows.to_vec(),
            given: readings.iter().map(reading).collect(),
        };
        confirm_witness(&program, &witness, today())
    };
    let refuted = |text: &str| WitnessAnswer::Refuted(vec![text.to_owned()]);
    // The rules are sound: no player is a gap or an overlap, and the answer says what came out.
    let high = [("wedges", "1"), ("wedge_attack_angle", "-9 deg")];
    assert_eq!(answer(&high, &[]), refuted("the wedge 1: high"));
    assert_eq!(answer(&high, &[1, 2]), refuted("the wedge 1: high"));
    // A reading that is missing leaves several rows: that is no gap.
    let missing = [("wedges", "1")];
    let needs = refuted("the wedge 1: needs `wedge_attack_angle`");
    assert_eq!(answer(&missing, &[]), needs);
    assert_eq!(answer(&[("wedges", "0")], &[]), WitnessAnswer::NotAsked);
    assert!(matches!(
        answer(&[("wedges", "many")], &[]),
        WitnessAnswer::Refuted(_)
    ));
}
