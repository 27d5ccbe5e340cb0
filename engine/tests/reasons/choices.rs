//! How a part was chosen, ordered or not found, told step by step.

use std::collections::BTreeMap;

use crate::support::{player, program, today};
use loftwright_engine::fit::fit;
use loftwright_engine::intake::{FieldText, PartsText, RecordText, read_parts};
use loftwright_engine::recommendation::{DecisionReport, Ending};

const RULES: &str = r#"
choice side is right, left

input wanted : angle
  ask     "Which loft?"
  between 0 deg and 60 deg

input player_hand : side
  ask "Which hand?"

part head
  has hand          : side
  has stamped_loft  : angle, between 0 deg and 70 deg
  has measured_loft : angle, of each piece, may be unknown, between 0 deg and 70 deg
  has on_hand       : count

choose sand_head from heads
  about   "The nearest loft that is there."
  source  common practice
  takes   1 from on_hand
  needs   hand is player_hand
  needs   measured_loft within 1 deg of wanted
  prefers measured_loft near wanted, within 2 deg weight 4 because "Less to bend."
  if none on hand, needs measured_loft within 2 deg of wanted says "Bend it."
  if none on hand, orders
"#;

fn record(place: &str, fields: &[(&str, &str)]) -> RecordText {
    let text =
        |(name, value): &(&str, &str)| ((*name).to_owned(), FieldText::Text((*value).to_owned()));
    RecordText {
        place: place.to_owned(),
        fields: fields.iter().map(text).collect(),
    }
}

/// Two right-handed parts, one with two measured pieces; `H56` takes twelve days to order.
fn parts_text() -> PartsText {
    let head = |id: &'static str, loft: &'static str| {
        record(
            id,
            &[
                ("id", id),
                ("hand", "right"),
                ("stamped_loft", loft),
                ("lead_time_days", "12"),
            ],
        )
    };
    let piece = |id: &'static str, loft: &'static str| {
        record(id, &[("id", id), ("part", "H54"), ("measured_loft", loft)])
    };
    PartsText {
        catalogue: vec![(
            "head".to_owned(),
            vec![head("H54", "54 deg"), head("H56", "56 deg")],
        )],
        stock: vec![(
            "head".to_owned(),
            vec![piece("P1", "53.5 deg"), piece("P2", "54.5 deg")],
        )],
    }
}

fn choice(readings: &[(&str, &str)]) -> DecisionReport {
    let program = program(RULES);
    let parts = read_parts(&program, &parts_text()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let answer = fit(&program, &parts, &player(&program, readings), today());
    let reports: BTreeMap<_, _> = answer
        .decisions
        .into_iter()
        .map(|report| (report.name.clone(), report))
        .collect();
    reports
        .get("sand_head")
        .cloned()
        .unwrap_or_else(|| panic!("it is reported"))
}

fn lines(report: &DecisionReport) -> Vec<String> {
    let line = |(rule, value): (&str, Option<&str>)| match value {
        Some(value) => format!("{rule}: {value}"),
        None => rule.to_owned(),
    };
    let steps = report.steps.iter();
    steps
        .map(|step| line((step.rule.as_str(), step.value.as_deref())))
        .collect()
}

/// Scores by hand: 4 × (1 − 0.3 / 2) = 3.4 and 4 × (1 − 0.7 / 2) = 2.6.
#[test]
fn the_best_piece_is_told_with_its_scores_and_who_came_next() {
    let report = choice(&[("wanted", "54.2 deg"), ("player_hand", "right")]);
    assert_eq!(report.ending, Ending::Chosen);
    let value = report
        .value
        .clone()
        .unwrap_or_else(|| panic!("a part is chosen"));
    assert_eq!(
        (value.text.as_str(), value.exact.as_str()),
        ("H54 / P2", "H54")
    );
    assert_eq!(
        lines(&report),
        [
            "2 candidates of heads",
            "prefers measured_loft near wanted, within 2 deg: scores 3.4 of 4",
            "the highest sum of scores: H54 / P2, score 3.4",
            "`H54 / P1` came next: score 2.6",
        ]
    );
    assert_eq!(report.steps[1].because.as_deref(), Some("Less to bend."));
}

/// 56.1 is 1.6 deg from the nearest piece: too far at first, near enough for the second rung.
#[test]
fn the_ladder_is_told_with_what_it_says() {
    let report = choice(&[("wanted", "56.1 deg"), ("player_hand", "right")]);
    assert_eq!(report.ending, Ending::Chosen);
    let told = lines(&report);
    let rung = "if none on hand, needs measured_loft within 2 deg of wanted: Bend it.";
    assert!(told.iter().any(|line| line == rung), "{told:#?}");
}

#[test]
fn an_order_is_told_as_one() {
    let report = choice(&[("wanted", "58 deg"), ("player_hand", "right")]);
    assert_eq!(report.ending, Ending::Ordered);
    let told = lines(&report);
    assert!(
        told.iter().any(|line| line == "if none on hand, orders"),
        "{told:#?}"
    );
}

#[test]
fn a_left_hander_finds_nothing_and_hears_why() {
    let report = choice(&[("wanted", "54 deg"), ("player_hand", "left")]);
    assert_eq!(report.ending, Ending::NoneOnHand);
    let explanation = report.explanation.unwrap_or_default();
    assert!(
        explanation.starts_with("none on hand, none of "),
        "{explanation}"
    );
    assert!(
        explanation.contains("`hand is player_hand`"),
        "{explanation}"
    );
}

#[test]
fn a_choice_that_needs_a_reading_names_it() {
    let report = choice(&[("wanted", "54 deg")]);
    assert_eq!(report.ending, Ending::Needs);
    assert_eq!(report.explanation.as_deref(), Some("needs `player_hand`"));
}
