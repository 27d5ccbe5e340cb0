//! Cases that expect a corner where no player is, or that nothing applies.

use std::collections::BTreeMap;

use crate::support::{checked, program, today};
use loftwright_dsl::diagnostic::Code;
use loftwright_engine::assure::{ExpectationResult, run_cases};

const RULES: &str = r#"
choice turf_kind is firm, soft

input turf : turf_kind
  ask "Turf?"

input wedges : count
  ask     "How many wedges?"
  between 0 and 4

input slope : angle
  ask     "Slope?"
  between 0 deg and 10 deg

group wedge, as many as wedges
  has number : count

decide sole : number
  by turf and slope
    firm and any            gives 1
    soft and under 5 deg    gives 2
    soft and 5 deg or more  cannot happen because "Soft turf slides."

decide each_sole : number, for each wedge
  only when wedge.number over 1
  by turf and slope
    firm and any            gives 1
    soft and under 5 deg    gives 2
    soft and 5 deg or more  cannot happen because "Soft turf slides."

decide plain : number, for each wedge
  gives 1
"#;

/// What is wrong with each expectation of a case with these lines.
fn found(lines: &str) -> Vec<Option<String>> {
    let rules = format!("{RULES}\ncase \"it\"\n{lines}");
    let report = run_cases(&program(&rules), &BTreeMap::new(), today());
    let expectations = report.cases[0].expectations.iter();
    let text = |line: &ExpectationResult| {
        let failure = line.failure.as_ref()?;
        Some(format!("{}: {}", failure.expected, failure.found))
    };
    expectations.map(text).collect()
}

const STEEP_AND_SOFT: &str = "  given turf = soft\n  given slope = 6 deg\n";

#[test]
fn a_corner_where_no_player_is_can_be_expected() {
    let expect = "  expect sole cannot happen\n  expect each_sole cannot happen\n";
    let lines = format!("{STEEP_AND_SOFT}  given wedges = 3\n{expect}");
    assert_eq!(found(&lines), [None, None]);
    let lines = "  given turf = firm\n  given slope = 6 deg\n  given wedges = 2
  expect sole cannot happen\n  expect each_sole cannot happen\n";
    assert_eq!(
        found(lines),
        [
            Some("`sole` cannot happen: 1".to_owned()),
            Some("`each_sole` cannot happen: 1 for the wedge 2".to_owned())
        ]
    );
    // Not decided is not the same.
    let found = found("  given turf = soft\n  expect sole cannot happen\n");
    assert_eq!(
        found,
        [Some("`sole` cannot happen: needs `slope`".to_owned())]
    );
}

/// Where it is asked for no club, nothing is shown to be impossible.
#[test]
fn asked_for_none_is_a_failure() {
    let lines = format!("{STEEP_AND_SOFT}  given wedges = 1\n  expect each_sole cannot happen\n");
    assert!(found(&lines)[0].is_some());
    let lines = format!("{STEEP_AND_SOFT}  given wedges = 0\n  expect each_sole cannot happen\n");
    let none = Some("`each_sole` cannot happen: the group `wedge` has no club".to_owned());
    assert_eq!(found(&lines), [none]);
}

#[test]
fn every_can_be_expected_not_to_apply() {
    let given = "  given turf = firm\n  given slope = 1 deg\n";
    let lines = format!("{given}  given wedges = 1\n  expect every each_sole = none\n");
    assert_eq!(found(&lines), [None]);
    let lines = format!("{given}  given wedges = 2\n  expect every each_sole = none\n");
    let wanted = "every `each_sole` = none: 1 for the wedge 2";
    assert_eq!(found(&lines), [Some(wanted.to_owned())]);
    let lines = format!("{given}  given wedges = 0\n  expect every each_sole = none\n");
    assert!(found(&lines)[0].is_some());
}

#[test]
fn what_a_case_cannot_mean_is_refused() {
    let codes = |lines: &str| -> Vec<Code> {
        let output = checked(&format!("{RULES}\ncase \"it\"\n{lines}"));
        let errors = output.diagnostics.iter();
        errors.map(|finding| finding.code).collect()
    };
    assert_eq!(codes("  expect plain cannot happen\n"), [Code::WrongKind]);
    assert_eq!(codes("  expect turf cannot happen\n"), [Code::WrongKind]);
    assert_eq!(
        codes("  given wedges = 2\n  expect plain of the next wedge = 1\n"),
        [Code::OutOfScope]
    );
}
