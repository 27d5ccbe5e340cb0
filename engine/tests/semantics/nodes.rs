//! Outcomes as other nodes see them: readings, lets, decisions, limits and cautions.

use crate::support::answer;

const READINGS: &str = r#"
input loft : angle
  ask     "Loft?"
  between 0 deg and 70 deg

input lie : angle
  ask     "Lie?"
  between 45 deg and 75 deg
  default 60 deg

input keen : flag
  ask "Keen?"
"#;

fn rules(more: &str) -> String {
    format!("{READINGS}\n{more}")
}

#[test]
fn an_absent_reading_is_needed_and_nothing_blocks() {
    let rules = rules("decide x : angle\n  source common practice\n  gives loft + 1 deg");
    assert_eq!(answer(&rules, "").of("x"), "needs loft");
    assert_eq!(answer(&rules, "loft = 10 deg").of("x"), "11 deg");
}

#[test]
fn a_default_stands_in_and_is_marked_assumed() {
    use loftwright_engine::trace::How;
    let rules = rules("let x : angle = lie + 1 deg");
    let assumed = answer(&rules, "");
    assert_eq!(assumed.of("x"), "61 deg");
    let hows = |answer: &crate::support::Answer| {
        let entries = answer.trace.entries.iter();
        entries.filter(|entry| entry.how == How::Assumed).count()
    };
    assert_eq!(hows(&assumed), 1);
    let given = answer(&rules, "lie = 62 deg");
    assert_eq!(given.of("x"), "63 deg");
    assert_eq!(hows(&given), 0);
}

#[test]
fn lets_are_transparent_and_decisions_block_the_nearest_only() {
    let rules = rules(
        "let shift : angle = loft + 1 deg
decide nearest : angle
  source common practice
  gives shift + 1 deg
decide middle : angle
  source common practice
  gives nearest + lie
decide far : angle
  source common practice
  gives middle + 1 deg
let further : angle = far + 1 deg
decide furthest : angle
  source common practice
  gives further + loft",
    );
    let answer = answer(&rules, "");
    assert_eq!(answer.of("shift"), "needs loft");
    assert_eq!(answer.of("nearest"), "needs loft");
    assert_eq!(answer.of("middle"), "blocked by nearest: loft");
    assert_eq!(answer.of("far"), "blocked by middle: loft");
    assert_eq!(answer.of("further"), "blocked by far: loft");
    assert_eq!(answer.of("furthest"), "blocked by far: loft");
}

#[test]
fn what_does_not_apply_makes_what_rests_on_it_not_apply() {
    let rules = rules(
        "decide extra : angle
  source common practice
  only when keen is yes
  gives loft
decide after : angle
  source common practice
  gives extra + 1 deg",
    );
    let off = answer(&rules, "keen = no\nloft = 10 deg");
    assert_eq!(
        (off.of("extra"), off.of("after")),
        ("none".into(), "none".into())
    );
    let open = answer(&rules, "loft = 10 deg");
    assert_eq!(open.of("extra"), "needs keen");
    assert_eq!(open.of("after"), "blocked by extra: keen");
    let on = answer(&rules, "keen = yes\nloft = 10 deg");
    assert_eq!(on.of("after"), "11 deg");
}

#[test]
fn an_input_whose_only_when_does_not_hold_is_none_even_when_it_is_sent() {
    let rules = rules(
        "input swing : angle
  ask       \"Swing?\"
  between   0 deg and 10 deg
  only when keen is yes
let x : angle = swing + 1 deg",
    );
    assert_eq!(answer(&rules, "keen = no\nswing = 2 deg").of("x"), "none");
    assert_eq!(answer(&rules, "keen = yes\nswing = 2 deg").of("x"), "3 deg");
    assert_eq!(answer(&rules, "keen = yes").of("x"), "needs swing");
    assert_eq!(answer(&rules, "swing = 2 deg").of("x"), "needs keen");
}

#[test]
fn a_contradicted_decision_is_the_root_of_what_rests_on_it() {
    let rules = rules(
        "decide x : angle
  source common practice
  by loft
    up to 20 deg gives loft
    over 20 deg  cannot happen because \"Nobody.\"
let y : angle = x + 1 deg
decide z : angle
  source common practice
  gives y + 1 deg",
    );
    let answer = answer(&rules, "loft = 21 deg");
    assert_eq!(answer.of("x"), "contradicted 0.1");
    assert_eq!(answer.of("y"), "blocked by x: end of x");
    assert_eq!(answer.of("z"), "blocked by x: end of x");
}

#[test]
fn limits_and_cautions_have_three_answers() {
    let rules = rules(
        "limit strong : loft at most 12 deg
  source common practice
caution weak : loft over 12 deg
  says \"Weak: {loft}.\"
limit only_keen : loft at most 12 deg
  source common practice
  only when keen is yes",
    );
    let low = answer(&rules, "loft = 12 deg\nkeen = no");
    assert_eq!(
        (low.of("strong"), low.of("weak")),
        ("yes".into(), "no".into())
    );
    assert_eq!(low.of("only_keen"), "none");
    let high = answer(&rules, "loft = 13 deg\nkeen = yes");
    assert_eq!(
        (high.of("strong"), high.of("weak")),
        ("no".into(), "yes".into())
    );
    assert_eq!(high.of("only_keen"), "no");
    let open = answer(&rules, "");
    assert_eq!(
        (open.of("strong"), open.of("weak")),
        ("needs loft".into(), "needs loft".into())
    );
    assert_eq!(open.of("only_keen"), "needs keen");
}

/// The day of the answers is 2026-05-01.
#[test]
fn in_force_looks_at_the_day() {
    let limit = |force: &str| {
        let rules =
            format!("limit x : loft at most 12 deg\n  source common practice\n  in force {force}");
        answer(&self::rules(&rules), "loft = 13 deg").of("x")
    };
    assert_eq!(limit("from 2026-05-01"), "no");
    assert_eq!(limit("from 2026-05-02"), "none");
    assert_eq!(limit("from 2026-01-01 until 2026-05-02"), "no");
    assert_eq!(limit("from 2026-01-01 until 2026-05-01"), "none");
}

#[test]
fn a_texts_values_are_asked_again_after_the_fact() {
    use crate::support::today;
    use loftwright_dsl::program::{TextPiece, Value};
    use loftwright_dsl::quantity::Rational;
    use loftwright_engine::outcome::State;
    let rules = rules("caution weak : loft over 12 deg\n  says \"Weak: {loft + 1 deg}.\"");
    let rules = rules.replace("{loft + 1 deg}", "{loft}");
    let answer = answer(&rules, "loft = 13 deg");
    let caution = answer.program.cautions.iter().next().unwrap();
    let value = caution.says.iter().find_map(|piece| match piece {
        TextPiece::Value(value, _) => Some(value),
        TextPiece::Words(_) => None,
    });
    let state = answer.evaluation.evaluate_at(
        &answer.program,
        &answer.parts,
        &answer.player,
        today(),
        value.unwrap(),
        None,
    );
    assert_eq!(state, State::Known(Value::Number(Rational::whole(13))));
}
