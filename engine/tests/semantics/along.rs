//! Along the bag: order, first, next, last, kept, previous.

use crate::support::{answer, answer_keeping};

const GROUP: &str = r#"
input how_many : count
  ask     "How many?"
  between 0 and 6

input start : angle
  ask     "Start?"
  between 0 deg and 80 deg

input keen : flag
  ask "Keen?"

group wedge, as many as how_many
  has number : count
"#;

fn along(header: &str, lines: &str, readings: &str) -> Vec<String> {
    let rules = format!(
        "{GROUP}\ndecide x : angle, for each wedge{header}\n  source common practice\n{lines}\n"
    );
    answer(&rules, readings).all("x")
}

const STEPS: &str = "  first gives start
  next  gives previous + 4 deg
";

#[test]
fn each_club_builds_on_the_one_before() {
    assert_eq!(
        along("", STEPS, "how_many = 3\nstart = 50 deg"),
        ["50 deg", "54 deg", "58 deg"]
    );
    assert_eq!(along("", STEPS, "how_many = 1\nstart = 50 deg"), ["50 deg"]);
    assert!(along("", STEPS, "how_many = 0\nstart = 50 deg").is_empty());
}

#[test]
fn last_takes_last_where_there_is_more_than_one() {
    let lines = format!("{STEPS}  last  gives 60 deg\n");
    assert_eq!(
        along("", &lines, "how_many = 3\nstart = 50 deg"),
        ["50 deg", "54 deg", "60 deg"]
    );
    assert_eq!(
        along("", &lines, "how_many = 1\nstart = 50 deg"),
        ["50 deg"]
    );
}

#[test]
fn the_order_is_the_declarations() {
    assert_eq!(
        along(
            " in order of number, largest first",
            STEPS,
            "how_many = 3\nstart = 50 deg"
        ),
        ["58 deg", "54 deg", "50 deg"]
    );
}

#[test]
fn an_undecided_club_blocks_the_next_one_and_its_root_causes_go_on() {
    assert_eq!(
        along("", STEPS, "how_many = 3"),
        [
            "needs start",
            "blocked by x[0]: start",
            "blocked by x[1]: start"
        ]
    );
}

#[test]
fn without_next_later_clubs_do_not_apply() {
    assert_eq!(
        along("", "  first gives start\n", "how_many = 3\nstart = 50 deg"),
        ["50 deg", "none", "none"]
    );
}

#[test]
fn previous_none_is_none() {
    let lines = "  first gives if keen is yes then none otherwise start
  next  gives previous + 4 deg
";
    assert_eq!(
        along("", lines, "how_many = 2\nstart = 50 deg\nkeen = yes"),
        ["none", "none"]
    );
}

#[test]
fn next_by_rows() {
    let lines = "  first gives start
  next by wedge.number and keen
    up to 2 and any gives previous + 4 deg
    over 2  and yes gives previous + 2 deg
    over 2  and no  gives previous
";
    assert_eq!(
        along("", lines, "how_many = 3\nstart = 50 deg\nkeen = yes"),
        ["50 deg", "54 deg", "56 deg"]
    );
    assert_eq!(
        along("", lines, "how_many = 3\nstart = 50 deg"),
        ["50 deg", "54 deg", "needs keen"]
    );
}

#[test]
fn steps_are_part_of_the_value_that_the_next_club_builds_on() {
    let lines = format!("{STEPS}  then kept within 0 deg and 52 deg\n");
    assert_eq!(
        along("", &lines, "how_many = 3\nstart = 50 deg"),
        ["50 deg", "52 deg", "52 deg"]
    );
}

const KEPT: &str = r#"
let by_loft : angle, for each kept = kept.loft

decide place : count, for each kept in order of by_loft, smallest first
  source common practice
  first gives 1
  next  gives previous + 1
"#;

/// A club whose key is not known comes last; ties keep the order in which they were named.
#[test]
fn clubs_without_a_key_come_after_the_others_and_ties_keep_their_order() {
    let kept = [
        "kind = iron",
        "kind = iron, loft = 30 deg",
        "kind = wedge, loft = 20 deg",
        "kind = hybrid, loft = 20 deg",
    ];
    let answer = answer_keeping(KEPT, "", &kept);
    assert_eq!(answer.all("place"), ["4", "3", "1", "2"]);
    let largest = KEPT.replace("smallest first", "largest first");
    let answer = answer_keeping(&largest, "", &kept);
    assert_eq!(answer.all("place"), ["4", "1", "2", "3"]);
}

/// The field `is_kept` is the group's own here; in the real contract it is the bag's.
#[test]
fn kept_clubs_take_kept_and_the_others_are_counted_without_them() {
    use crate::support::{answer_with, program_of};
    let contract = r#"
ruleset contract
  title    "A stand-in"
  language 1

choice club_kind is wood, iron

group kept, given with the player
  has is_kept : flag
  has mass    : mass, may be unknown, between 20 g and 200 g
"#;
    let rules = r#"
decide heavier : mass, for each kept
  source common practice
  kept  gives kept.mass
  first gives 60 g
  next  gives previous + 10 g
  last  gives previous + 20 g
"#;
    let masses = |kept: &[&str]| {
        let answer = answer_with(
            program_of(contract, rules),
            "",
            kept,
            loftwright_engine::intake::PartsText::default(),
        );
        answer.all("heavier")
    };
    let (built, kept) = ("is_kept = no", "is_kept = yes, mass = 70 g");
    assert_eq!(masses(&[built, built, built]), ["60 g", "70 g", "90 g"]);
    assert_eq!(
        masses(&[built, kept, built, built]),
        ["60 g", "70 g", "80 g", "100 g"]
    );
    // The first of those that are built takes `first` also behind a kept one, and alone.
    assert_eq!(masses(&[kept, built]), ["70 g", "60 g"]);
    // `previous` is the club before in the whole order, kept ones included.
    assert_eq!(masses(&[built, kept, built]), ["60 g", "70 g", "90 g"]);
    assert_eq!(
        masses(&[built, "is_kept = yes", built]),
        [
            "60 g",
            "needs kept[1].mass",
            "blocked by heavier[1]: kept[1].mass"
        ]
    );
}
