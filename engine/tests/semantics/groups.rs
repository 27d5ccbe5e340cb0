//! Groups: how their clubs come about, and what is said of a group that is not there.

use crate::support::{answer, answer_keeping};

const RULES: &str = r#"
input how_many : count
  ask     "How many?"
  between 0 and 20

input wanted : angle
  ask     "Wanted?"
  between 0 deg and 80 deg

input keen : flag
  ask "Keen?"

group wedge, as many as how_many
  has number : count

let spread_loft : angle, for each wedge = 46 deg + 4 deg * wedge.number

group lob
  is wedge where spread_loft at least wanted

let lob_again : angle, for each lob = spread_loft

decide from_lob : angle, for each wedge
  source common practice
  gives lob_again + 1 deg

decide next_loft : angle, for each wedge
  source common practice
  gives (spread_loft of the next wedge)

decide first_and_last : angle
  source common practice
  gives (spread_loft of the last wedge) - (spread_loft of the first wedge)

let how_many_lobs : count = number of lobs
let steepest : angle = the largest spread_loft of wedge
let in_all : angle = the total spread_loft of wedge
let has_sixty : flag = any wedge where spread_loft over 60 deg
limit few : number of wedges at most 4
  source common practice
"#;

#[test]
fn as_many_as_a_count_numbers_its_clubs_from_one() {
    let answer = answer(RULES, "how_many = 3\nwanted = 54 deg");
    assert_eq!(answer.field("wedge", "number"), ["1", "2", "3"]);
    assert_eq!(answer.all("spread_loft"), ["50 deg", "54 deg", "58 deg"]);
    assert_eq!(answer.of("wedge"), "3");
}

#[test]
fn no_clubs_no_entries_and_aggregates_over_nothing() {
    let answer = answer(RULES, "how_many = 0\nwanted = 54 deg");
    assert!(answer.all("spread_loft").is_empty());
    assert!(!answer.is_for_the_bag("spread_loft"));
    assert_eq!(answer.of("how_many_lobs"), "0");
    assert_eq!(answer.of("in_all"), "0 deg");
    // The largest of nothing is none; so is the first of nothing.
    assert_eq!(answer.of("steepest"), "none");
    assert_eq!(answer.of("first_and_last"), "none");
    assert_eq!(answer.of("has_sixty"), "no");
}

#[test]
fn a_group_that_is_not_decided_leaves_one_blocked_entry_each() {
    let answer = answer(RULES, "wanted = 54 deg");
    assert_eq!(answer.of("wedge"), "needs how_many");
    for name in ["spread_loft", "next_loft"] {
        assert_eq!(answer.all(name), ["blocked by wedge: how_many"], "{name}");
        assert!(answer.is_for_the_bag(name));
    }
    assert_eq!(answer.of("lob"), "blocked by wedge: how_many");
    assert_eq!(answer.of("lob_again"), "blocked by lob: how_many");
    assert_eq!(answer.of("steepest"), "blocked by wedge: how_many");
    assert_eq!(answer.of("few"), "blocked by wedge: how_many");
}

#[test]
fn more_clubs_than_can_be_carried_are_no_number_of_clubs() {
    let answer = answer(RULES, "how_many = 15\nwanted = 54 deg");
    assert_eq!(answer.of("wedge"), "faulted: not a number of clubs");
    assert_eq!(answer.of("spread_loft"), "blocked by wedge: end of wedge");
}

#[test]
fn a_part_of_a_group_has_the_same_clubs_and_the_others_are_none() {
    let answer = answer(RULES, "how_many = 3\nwanted = 54 deg");
    assert_eq!(answer.of("lob"), "2");
    assert_eq!(answer.all("lob_again"), ["54 deg", "58 deg"]);
    // The first wedge is no lob.
    assert_eq!(answer.all("from_lob"), ["none", "55 deg", "59 deg"]);
    assert_eq!(answer.of("how_many_lobs"), "2");
}

#[test]
fn a_part_of_a_group_is_undecided_where_its_condition_is_for_one_club() {
    let answer = answer(RULES, "how_many = 3");
    assert_eq!(answer.of("lob"), "needs wanted");
    assert_eq!(answer.of("lob_again"), "blocked by lob: wanted");
    assert_eq!(answer.of("how_many_lobs"), "blocked by lob: wanted");
    assert_eq!(answer.all("spread_loft").len(), 3);
    // A group of which the condition does not apply has no such member.
    let rules = RULES.replace(
        "is wedge where spread_loft at least wanted",
        "is wedge where keen_loft at least wanted",
    );
    let keen_loft = "decide keen_loft : angle, for each wedge
  source common practice
  only when keen is no
  gives spread_loft";
    let rules = format!("{rules}\n{keen_loft}\n");
    let none = crate::support::answer(&rules, "how_many = 3\nwanted = 1 deg\nkeen = yes");
    assert_eq!(none.of("lob"), "0");
}

#[test]
fn next_previous_first_and_last() {
    let answer = answer(RULES, "how_many = 3\nwanted = 54 deg");
    assert_eq!(answer.all("next_loft"), ["54 deg", "58 deg", "none"]);
    assert_eq!(answer.of("first_and_last"), "8 deg");
}

#[test]
fn aggregates() {
    let answer = answer(RULES, "how_many = 4\nwanted = 54 deg");
    assert_eq!(answer.of("steepest"), "62 deg");
    // 50 + 54 + 58 + 62.
    assert_eq!(answer.of("in_all"), "224 deg");
    assert_eq!(answer.of("has_sixty"), "yes");
    assert_eq!(answer.of("few"), "yes");
}

const KEPT: &str = r#"
let steepest_kept : angle = the largest loft of kept
let strong : count = number of kept where loft under 20 deg
let any_strong : flag = any kept where loft under 20 deg
"#;

#[test]
fn given_clubs_keep_their_order_and_say_what_is_not_known_of_them() {
    let kept = ["kind = wedge, loft = 56 deg", "kind = hybrid"];
    let answer = answer_keeping(KEPT, "", &kept);
    assert_eq!(answer.field("kept", "kind"), ["wedge", "hybrid"]);
    assert_eq!(
        answer.field("kept", "loft"),
        ["56 deg", "unknown: kept[1].loft"]
    );
    // A member that is not decided leaves the aggregate undecided; nothing blocks.
    assert_eq!(answer.of("steepest_kept"), "needs kept[1].loft");
    assert_eq!(answer.of("strong"), "needs kept[1].loft");
    assert_eq!(answer.of("any_strong"), "needs kept[1].loft");
    let one_is = answer_keeping(KEPT, "", &["kind = iron, loft = 19 deg", "kind = iron"]);
    assert_eq!(one_is.of("any_strong"), "yes");
}

#[test]
fn a_player_without_clubs_keeps_none() {
    let answer = answer_keeping(KEPT, "", &[]);
    assert_eq!(answer.of("kept"), "0");
    assert_eq!(answer.of("strong"), "0");
}
