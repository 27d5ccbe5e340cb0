//! Why this piece for this club, and why this family: told step by step.

use crate::support::{player, program, today};
use loftwright_engine::fit::fit;
use loftwright_engine::intake::{FieldText, PartsText, RecordText, read_parts};
use loftwright_engine::recommendation::{DecisionReport, Ending};

const RULES: &str = r#"
scale sole is low < high

input how_many : count
  ask     "How many wedges?"
  between 0 and 6

group wedge, as many as how_many
  has number : count

let wedge_loft : angle, for each wedge = 50 deg + 4 deg * (wedge.number - 1)

part head
  has sole     : sole
  has measured : angle, of each piece, between 0 deg and 70 deg
  has on_hand  : count
"#;

fn record(fields: &[(&str, &str)]) -> RecordText {
    let text =
        |(name, value): &(&str, &str)| ((*name).to_owned(), FieldText::Text((*value).to_owned()));
    RecordText {
        place: format!("{fields:?}"),
        fields: fields.iter().map(text).collect(),
    }
}

/// The choice `sand_head` for each wedge, with low heads `L…` and high heads `H…` on hand.
fn choice(lines: &str, how_many: &str, pieces: &[(&str, &str)]) -> Vec<DecisionReport> {
    let head = |id: &str, sole: &str| record(&[("id", id), ("sole", sole)]);
    let piece = |(id, measured): &(&str, &str)| {
        let part = id.trim_end_matches(char::is_numeric);
        record(&[("id", id), ("part", part), ("measured", measured)])
    };
    let parts = PartsText {
        catalogue: vec![("head".to_owned(), vec![head("L", "low"), head("H", "high")])],
        stock: vec![("head".to_owned(), pieces.iter().map(piece).collect())],
    };
    let rules = format!("{RULES}\nchoose sand_head from heads, for each wedge\n{lines}");
    let program = program(&rules);
    let parts = read_parts(&program, &parts).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let player = player(&program, &[("how_many", how_many)]);
    let answer = fit(&program, &parts, &player, today());
    let of_choice = answer.decisions.into_iter();
    of_choice
        .filter(|report| report.name == "sand_head")
        .collect()
}

fn told(report: &DecisionReport) -> Vec<String> {
    let step = |step: &loftwright_engine::recommendation::StepReport| match &step.value {
        Some(value) => format!("{} → {value}", step.rule),
        None => step.rule.clone(),
    };
    report.steps.iter().map(step).collect()
}

const NEAR: &str = "  prefers measured near wedge_loft, within 10 deg weight 10\n";

#[test]
fn a_better_piece_that_goes_to_another_club_is_named_with_it() {
    let lines = format!("  takes 1 from on_hand, together\n{NEAR}");
    // 47 and 51 for the 50 and the 54: 7 and 7 instead of 9 and 3.
    let reports = choice(&lines, "2", &[("L1", "47 deg"), ("L2", "51 deg")]);
    assert_eq!(
        told(&reports[0]),
        [
            "2 candidates of heads",
            "no other assignment does better → every club has a piece, score 14 in all",
            "prefers measured near wedge_loft, within 10 deg → scores 7 of 10",
            "all clubs share the stock together → L / L1, score 7",
            "`L / L2` goes to the wedge 2 → score 9",
        ]
    );
}

#[test]
fn a_club_that_goes_without_is_told_where_the_pieces_went() {
    let lines = "  takes 1 from on_hand, together\n  needs measured within 5 deg of wedge_loft\n";
    let reports = choice(lines, "2", &[("L1", "52 deg"), ("L2", "70 deg")]);
    assert_eq!(reports[1].ending, Ending::NoneOnHand);
    let explanation = reports[1].explanation.as_deref();
    let wanted = "none on hand, none of 2 is left: 1 goes to other clubs and 1 fails \
                  `measured within 5 deg of wedge_loft` (nearest: L / L2, by 11 deg)";
    assert_eq!(explanation, Some(wanted));
    let without = "no other assignment does better → 1 club goes without a piece, score 0 in all";
    assert_eq!(told(&reports[1])[1], without);
}

#[test]
fn the_family_is_told_with_those_that_came_next() {
    let lines = format!(
        "  takes 1 from on_hand\n  agrees on sole\n  needs measured within 3 deg of wedge_loft\n{NEAR}"
    );
    let pieces = [("H1", "50 deg"), ("L1", "51 deg"), ("L2", "52 deg")];
    let reports = choice(&lines, "2", &pieces);
    let told = told(&reports[1]);
    assert_eq!(
        told[..2],
        [
            "all clubs agree on `sole` `low` → every club has a part, score 17 in all",
            "`sole` `high` came next → 1 club goes without a part, score 10 in all",
        ]
    );
}
