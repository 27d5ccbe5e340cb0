//! The stock: what earlier clubs took, choices in their order, aggregates over what is on hand.

use crate::choices::RULES;
use crate::support::{Answer, answer_choosing, parts};

const GRIPS: [&str; 3] = [
    "id = g1, mass = 50 g, soft = yes",
    "id = g2, mass = 48 g, soft = no",
    "id = g3, soft = no",
];

fn grips(lines: &str, readings: &str, stock: &[&str]) -> Answer {
    let rules = format!("{RULES}\n{lines}\n");
    answer_choosing(&rules, readings, parts("grip", &GRIPS, stock))
}

const FOR_EACH: &str = "choose x from grips, for each wedge in order of number, largest first
  source common practice
  takes 1 from on_hand
";

#[test]
fn a_club_leaves_one_less_to_those_after_it_in_the_declarations_order() {
    let stock = ["part = g1, on_hand = 1", "part = g2, on_hand = 1"];
    let answer = grips(FOR_EACH, "how_many = 3", &stock);
    // The last wedge is first in the order.
    assert_eq!(answer.all("x"), ["none on hand", "chosen g2", "chosen g1"]);
    let stock = ["part = g1, on_hand = 2", "part = g2, on_hand = 0"];
    let answer = grips(FOR_EACH, "how_many = 2", &stock);
    assert_eq!(answer.all("x"), ["chosen g1", "chosen g1"]);
}

#[test]
fn choices_of_the_same_part_follow_each_other() {
    let stock = ["part = g1, on_hand = 1", "part = g2, on_hand = 1"];
    let second =
        "\nchoose a_grip from grips, after x\n  source common practice\n  takes 1 from on_hand\n";
    let lines = format!("{FOR_EACH}{second}");
    let answer = grips(&lines, "how_many = 1", &stock);
    assert_eq!(answer.all("x"), ["chosen g1"]);
    assert_eq!(answer.of("a_grip"), "chosen g2");
    // Without `after`, by name.
    let answer = grips(&lines.replace(", after x", ""), "how_many = 1", &stock);
    assert_eq!(answer.of("a_grip"), "chosen g1");
    assert_eq!(answer.all("x"), ["chosen g2"]);
}

#[test]
fn a_choice_that_takes_nothing_does_not_ask_the_stock() {
    let lines = "choose x from grips\n  source common practice\n  needs soft is yes\n";
    assert_eq!(grips(lines, "", &[]).of("x"), "chosen g1");
}

#[test]
fn a_choice_for_a_group_that_is_not_decided_is_blocked_once() {
    let answer = grips(FOR_EACH, "", &["part = g1, on_hand = 1"]);
    assert_eq!(answer.all("x"), ["blocked by wedge: how_many"]);
}

#[test]
fn aggregates_over_parts_count_what_is_on_hand() {
    let lines = "let how_many_soft : count = number of grips where soft is yes
let how_many_grips : count = number of grips
let lightest : mass = the smallest mass of grips
let any_soft : flag = any grips where soft is yes
";
    let answer = grips(
        lines,
        "",
        &["part = g1, on_hand = 2", "part = g2, on_hand = 3"],
    );
    assert_eq!(answer.of("how_many_soft"), "2");
    assert_eq!(answer.of("how_many_grips"), "5");
    assert_eq!(answer.of("lightest"), "48 g");
    let unknown = grips(lines, "", &["part = g3, on_hand = 1"]);
    assert_eq!(unknown.of("lightest"), "needs grip.mass");
    let empty = grips(lines, "", &[]);
    assert_eq!(empty.of("how_many_grips"), "0");
    assert_eq!(empty.of("lightest"), "none");
    assert_eq!(empty.of("any_soft"), "no");
}
