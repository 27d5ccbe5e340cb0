//! Expressions: known, none and undecided through every operator.

use crate::support::{Answer, answer, answer_choosing, parts};

/// Two angles, a flag, a scale; `a`, `b`, `wet` and `grade` may be left out. `never` is none.
const INPUTS: &str = r#"
input a : angle
  ask     "A?"
  between -100 deg and 100 deg

input b : angle
  ask     "B?"
  between -100 deg and 100 deg

input wet : flag
  ask "Wet?"

input dry : flag
  ask "Dry?"

scale flex is ladies < senior < regular < stiff, in halves

input grade : flex
  ask "Grade?"

input held_on : date
  ask "When?"

input never_read : angle
  ask       "Never?"
  between   0 deg and 10 deg
  only when dry is yes and dry is no

input never_asked : flag
  ask       "Never?"
  only when dry is yes and dry is no
"#;

fn with(declarations: &str, readings: &str) -> Answer {
    let rules = format!("{INPUTS}\n{declarations}\n");
    answer(&rules, &format!("dry = yes\n{readings}"))
}

/// The outcome of a value of this type.
fn value(value_type: &str, expression: &str, readings: &str) -> String {
    with(&format!("let x : {value_type} = {expression}"), readings).of("x")
}

#[test]
fn arithmetic_is_exact_and_needs_all_that_is_missing() {
    assert_eq!(
        value("angle", "a + b * 2", "a = 1 deg\nb = 0.1 deg"),
        "1.2 deg"
    );
    assert_eq!(value("angle", "-(a - b)", "a = 1 deg\nb = 3 deg"), "2 deg");
    // A third is held exactly: three thirds are one.
    assert_eq!(value("angle", "a / 3 * 3", "a = 1 deg"), "1 deg");
    assert_eq!(value("angle", "a + b", "a = 1 deg"), "needs b");
    assert_eq!(value("angle", "a + b", ""), "needs a, b");
}

#[test]
fn none_comes_before_undecided() {
    assert_eq!(value("angle", "a + never_read", "a = 1 deg"), "none");
    assert_eq!(value("angle", "a + never_read", ""), "none");
    assert_eq!(value("flag", "a over never_read", ""), "none");
    assert_eq!(value("angle", "the size of never_read", ""), "none");
    assert_eq!(
        value("angle", "a, kept within never_read and b", ""),
        "none"
    );
}

#[test]
fn comparisons() {
    assert_eq!(value("flag", "a under b", "a = 1 deg\nb = 1 deg"), "no");
    assert_eq!(value("flag", "a at most b", "a = 1 deg\nb = 1 deg"), "yes");
    assert_eq!(
        value("flag", "a over b", "a = 1.0000000001 deg\nb = 1 deg"),
        "yes"
    );
    assert_eq!(value("flag", "a at least b", "a = 1 deg\nb = 1 deg"), "yes");
    assert_eq!(value("flag", "a is b", "a = 60 deg\nb = 60 deg"), "yes");
    assert_eq!(value("flag", "grade is not stiff", "grade = stiff"), "no");
    assert_eq!(
        value("flag", "grade is one of senior, stiff", "grade = stiff"),
        "yes"
    );
    assert_eq!(
        value("flag", "grade under stiff", "grade = regular plus 1/2"),
        "yes"
    );
    assert_eq!(
        value("flag", "a within 0.5 deg of b", "a = 1 deg\nb = 1.5 deg"),
        "yes"
    );
    assert_eq!(
        value("flag", "a within 0.5 deg of b", "a = 1 deg\nb = 1.51 deg"),
        "no"
    );
    assert_eq!(
        value("flag", "a within 0.5 deg of b", "a = 1 deg"),
        "needs b"
    );
}

#[test]
fn and_is_no_where_either_is_no() {
    for (wet, dry, and) in [
        ("yes", "is yes", "yes"),
        ("no", "is yes", "no"),
        ("yes", "is no", "no"),
        ("", "is no", "no"),
        ("", "is yes", "needs wet"),
    ] {
        let reading = if wet.is_empty() {
            String::new()
        } else {
            format!("wet = {wet}")
        };
        assert_eq!(
            value("flag", &format!("wet is yes and dry {dry}"), &reading),
            and
        );
        assert_eq!(
            value("flag", &format!("dry {dry} and wet is yes"), &reading),
            and
        );
    }
    assert_eq!(value("flag", "never_asked and wet is yes", ""), "none");
    assert_eq!(
        value("flag", "never_asked and wet is yes", "wet = no"),
        "no"
    );
    assert_eq!(
        value("flag", "wet is yes and never_asked", "wet = no"),
        "no"
    );
}

#[test]
fn or_is_its_mirror_and_not_keeps_what_is_open() {
    assert_eq!(value("flag", "wet is yes or dry is yes", ""), "yes");
    assert_eq!(value("flag", "wet is yes or dry is no", ""), "needs wet");
    assert_eq!(
        value("flag", "never_asked or wet is yes", "wet = yes"),
        "yes"
    );
    assert_eq!(
        value("flag", "never_asked or wet is yes", "wet = no"),
        "none"
    );
    assert_eq!(value("flag", "not (wet is yes)", "wet = no"), "yes");
    assert_eq!(value("flag", "not (wet is yes)", ""), "needs wet");
    assert_eq!(value("flag", "not never_asked", ""), "none");
}

#[test]
fn if_looks_only_at_the_branch_taken() {
    let expression = "if wet is yes then a otherwise b";
    assert_eq!(value("angle", expression, "wet = yes\na = 1 deg"), "1 deg");
    assert_eq!(value("angle", expression, "wet = no\na = 1 deg"), "needs b");
    assert_eq!(value("angle", expression, "a = 1 deg"), "needs wet");
    assert_eq!(
        value("angle", "if never_asked then a otherwise b", ""),
        "none"
    );
    // The divisor is guarded: the branch that divides is not looked at.
    let guarded = "if b is 0 deg then 0 otherwise a / b";
    assert_eq!(value("number", guarded, "a = 1 deg\nb = 0 deg"), "0");
}

#[test]
fn is_known_and_is_none() {
    assert_eq!(value("flag", "a is known", "a = 1 deg"), "yes");
    assert_eq!(value("flag", "a is known", ""), "no");
    assert_eq!(value("flag", "never_read is known", ""), "no");
    assert_eq!(value("flag", "a is not known", ""), "yes");
    assert_eq!(value("flag", "never_read is none", ""), "yes");
    assert_eq!(value("flag", "never_read is not none", ""), "no");
    assert_eq!(value("flag", "a is none", "a = 1 deg"), "no");
    assert_eq!(value("flag", "a is none", ""), "needs a");
}

#[test]
fn or_if_unknown_stands_in_for_what_is_missing_and_not_for_none() {
    assert_eq!(
        value("angle", "a, or if unknown 3 deg", "a = 1 deg"),
        "1 deg"
    );
    assert_eq!(value("angle", "a, or if unknown 3 deg", ""), "3 deg");
    assert_eq!(value("angle", "a, or if unknown b", ""), "needs b");
    assert_eq!(
        value("angle", "never_read, or if unknown 3 deg", ""),
        "none"
    );
}

#[test]
fn larger_smaller_size_kept_and_rounded() {
    assert_eq!(
        value("angle", "the larger of a and b", "a = 1 deg\nb = 2 deg"),
        "2 deg"
    );
    assert_eq!(
        value("angle", "the smaller of a and b", "a = 1 deg\nb = 2 deg"),
        "1 deg"
    );
    assert_eq!(value("angle", "the size of a", "a = -2 deg"), "2 deg");
    assert_eq!(
        value("angle", "a, kept within 0 deg and 5 deg", "a = 7 deg"),
        "5 deg"
    );
    assert_eq!(
        value("angle", "a, kept within 0 deg and 5 deg", "a = -7 deg"),
        "0 deg"
    );
    // To nearest, halves away from zero.
    assert_eq!(
        value("angle", "a, rounded to 0.5 deg", "a = 1.25 deg"),
        "1.5 deg"
    );
    assert_eq!(
        value("angle", "a, rounded to 0.5 deg", "a = -1.25 deg"),
        "-1.5 deg"
    );
    assert_eq!(
        value("angle", "a, rounded up to 0.5 deg", "a = 1.01 deg"),
        "1.5 deg"
    );
    assert_eq!(
        value("angle", "a, rounded down to 0.5 deg", "a = -1.01 deg"),
        "-1.5 deg"
    );
}

#[test]
fn half_steps_stop_at_the_ends_of_the_scale() {
    assert_eq!(
        value("flex", "grade moved up 1/2", "grade = regular"),
        "regular plus 1/2"
    );
    assert_eq!(
        value("flex", "grade moved down 1/2", "grade = regular"),
        "senior plus 1/2"
    );
    assert_eq!(
        value("flex", "grade moved up 2", "grade = regular"),
        "stiff"
    );
    assert_eq!(value("flex", "grade moved up 2", ""), "needs grade");
}

#[test]
fn dates_are_days_and_times_are_seconds() {
    let days = "(today - held_on) / 1 days";
    // From 2026-05-01 back to 2026-04-01 there are 30 days.
    assert_eq!(value("number", days, "held_on = 2026-04-01"), "30");
    assert_eq!(
        value(
            "flag",
            "held_on within 30 days of today",
            "held_on = 2026-04-01"
        ),
        "yes"
    );
    assert_eq!(
        value(
            "flag",
            "held_on within 29 days of today",
            "held_on = 2026-04-01"
        ),
        "no"
    );
}

#[test]
fn arithmetic_without_an_answer_ends_a_let() {
    let huge = "let big : number = (a / 1 deg + 200) * 1000000000000000000";
    let rules = format!(
        "{huge}\nlet bigger : number = big * big * big\n\
        decide after : number\n  source common practice\n  gives bigger + 1"
    );
    let answer = with(&rules, "a = 1 deg");
    assert_eq!(
        answer.of("bigger"),
        "faulted: number too large to hold exactly"
    );
    assert_eq!(answer.of("after"), "blocked by bigger: end of bigger");
}

#[test]
fn a_model_beyond_its_range_is_outside_range_and_names_the_argument() {
    let rules = "let delivered : angle = sleeve_loft(10.5 deg, 58 deg, a, 0 deg)\n\
        decide after : angle\n  source common practice\n  gives delivered + 1 deg";
    let answer = with(rules, "a = 4.5 deg");
    assert_eq!(answer.of("delivered"), "outside range sleeve_loft Some(2)");
    assert_eq!(answer.of("after"), "blocked by delivered: end of delivered");
    assert_eq!(with(rules, "").of("delivered"), "needs a");
    // Both ends belong to the range.
    assert_ne!(
        with(rules, "a = 4 deg").of("delivered"),
        "outside range sleeve_loft Some(2)"
    );
}

/// From models.md, exact rotation: a tilt of 1° at a lie of 58° and no turn adds sin 58° = 0.848°.
#[test]
fn a_models_answer_is_rounded_to_its_resolution() {
    let rules = "let delivered : angle = sleeve_loft(10.5 deg, 58 deg, a, 0 deg)";
    let answer = with(rules, "a = 1 deg");
    assert_eq!(answer.of("delivered"), "11.35 deg");
    assert_eq!(answer.trace.models.len(), 1);
}

const GRIPS: &str = "
choice side is right, left, either

input player_side : side
  ask \"Which hand?\"

part grip
  has sides   : list of side, may be unknown
  has lengths : list of length, may be unknown, between 8 in and 14 in
  has on_hand : count

choose x from grips
  source common practice
  takes 1 from on_hand
";

/// A list of plain values is asked for one of them.
#[test]
fn includes_asks_for_an_element() {
    let grips = [
        "id = b, sides = right; either, lengths = 10 in; 300 mm",
        "id = c, lengths = 10 1/2 in",
    ];
    let stock = ["part = b, on_hand = 1", "part = c, on_hand = 1"];
    let answer = |lines: &str, readings: &str| {
        let kinds = parts("grip", &grips, &stock);
        let rules = format!("{GRIPS}{lines}");
        answer_choosing(&rules, readings, kinds)
    };
    let line = "  needs sides includes player_side\n";
    assert_eq!(answer(line, "player_side = right").of("x"), "chosen b");
    assert_eq!(answer(line, "player_side = left").of("x"), "none on hand");
    // The reading is the ruleset's side; what is not known of the grip fails it.
    assert_eq!(answer(line, "").of("x"), "needs player_side");
    let negated = "  needs not sides includes right\n";
    assert_eq!(answer(negated, "").of("x"), "none on hand");
    // 254 mm is 10 in.
    let exact = "  needs lengths includes 254 mm\n";
    assert_eq!(answer(exact, "").of("x"), "chosen b");
    let of_chosen = format!("{line}\nlet has_left : flag = x.sides includes left\n");
    let answer = answer(&of_chosen, "player_side = right");
    assert_eq!(answer.of("has_left"), "no");
}
