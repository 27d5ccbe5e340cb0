//! What is offered while a line is half written.

use std::fs;

use serde_json::Value;

use super::{Client, one_file, rulesets};

/// Rules without much of what the engine wants of them: completion does not wait for that.
const RULES: &str = "ruleset house

choice turf_kind is firm, normal, soft
choice bounce_class is low, standard, high

input turf : turf_kind
input handicap : number
  between 0 and 54

let steepness : angle = 5 deg

part head
  has stamped_loft : angle

choose driver_head from heads
  needs stamped_loft over 8 deg

decide usual_bounce : bounce_class
  gives standard

caution cure_overnight : turf is soft
  says \"Overnight.\"
";

/// The labels offered at the end of a line that is put below the rules, best first.
fn offered(test: &str, line: &str) -> Vec<String> {
    offered_below(&one_file(test, RULES), line)
}

fn offered_below(house: &std::path::Path, line: &str) -> Vec<String> {
    let rules = fs::read_to_string(house).expect("its text");
    let text = format!("{rules}\n{line}");
    let mut client = Client::new();
    client.open_as(house, &format!("{text}\n"));
    let position = serde_json::json!({
        "line": text.matches('\n').count(),
        "character": text.rsplit('\n').next().map_or(0, str::len),
    });
    let document = serde_json::json!({ "uri": super::uri(house) });
    let params = serde_json::json!({ "textDocument": document, "position": position });
    let answer = client.ask("textDocument/completion", params);
    assert!(client.leave());
    let mut items = answer["result"].as_array().expect("a list").clone();
    items.sort_by_key(|item| item["sortText"].as_str().map(str::to_owned));
    let label = |item: &Value| item["label"].as_str().expect("a label").to_owned();
    items.iter().map(label).collect()
}

#[track_caller]
fn expect(test: &str, line: &str, wanted: &[&str], unwanted: &[&str]) {
    let offered = offered(test, line);
    for label in wanted {
        assert!(
            offered.iter().any(|found| found == label),
            "{label} is missing in {offered:?}"
        );
    }
    for label in unwanted {
        assert!(
            !offered.iter().any(|found| found == label),
            "{label} is in {offered:?}"
        );
    }
}

#[test]
fn a_caution_stands_at_a_work_of_the_bench() {
    let caution = "caution sparks : turf is firm\n  ";
    expect("at", caution, &["at", "says"], &["gives"]);
    expect(
        "works",
        &format!("{caution}at cutting, "),
        &["cutting", "bending"],
        &["turf", "soft"],
    );
}

#[test]
fn lines_begin_with_the_words_of_their_declaration() {
    expect(
        "declaration",
        "",
        &["input", "decide", "replace"],
        &["between", "turf"],
    );
    expect(
        "clause",
        "input wind : speed\n  ",
        &["between", "ask", "formerly"],
        &["needs"],
    );
}

#[test]
fn what_may_be_replaced_is_what_lies_below() {
    let house = rulesets("replace").join("skerry/house.rules");
    let offered = offered_below(&house, "replace decide ");
    let has = |label: &str| offered.iter().any(|found| found == label);
    assert!(has("wedge_loft") && has("putter_length"), "{offered:?}");
    assert!(!has("turf") && !has("today"), "{offered:?}");
}

#[test]
fn types_and_units_stand_after_their_marks() {
    expect(
        "type",
        "input wind : ",
        &["speed", "turf_kind", "count"],
        &["mph", "turf"],
    );
    let wind = "input wind : speed\n  between 0 ";
    expect("unit", wind, &["mph", "km/h"], &["deg", "in"]);
}

#[test]
fn rows_and_results_offer_the_values_of_their_type() {
    let table = "decide sole : bounce_class\n  by turf and steepness\n    ";
    expect(
        "cell",
        table,
        &["soft", "firm", "otherwise", "any"],
        &["low"],
    );
    expect(
        "second",
        &format!("{table}soft and "),
        &["under", "any"],
        &["soft"],
    );
    let result = format!("{table}soft and any gives ");
    let best = offered("result", &result);
    // What is of the type comes first: its values, then the decisions and lets of it.
    assert!(best.iter().take(4).any(|label| label == "low"), "{best:?}");
    expect("is", "let wet = turf is ", &["soft", "known"], &["low"]);
    expect(
        "given",
        "case \"one\"\n  given turf = ",
        &["soft", "unknown"],
        &["low"],
    );
    expect(
        "inputs",
        "case \"one\"\n  given ",
        &["turf", "handicap"],
        &["steepness"],
    );
}

#[test]
fn names_are_offered_where_they_may_stand() {
    expect(
        "group",
        "decide sole : bounce_class, for each ",
        &["wood", "club"],
        &["turf"],
    );
    expect("parts", "choose spare from ", &["heads"], &["head"]);
    expect(
        "field",
        "let one = driver_head.",
        &["stamped_loft"],
        &["turf"],
    );
    expect(
        "value",
        "let one = ",
        &["steepness", "turf"],
        &["cure_overnight"],
    );
    expect(
        "needs",
        "choose spare from heads\n  needs ",
        &["stamped_loft"],
        &["steepness"],
    );
    expect(
        "text",
        "input wind : speed\n  ask \"How ",
        &[],
        &["turf", "wind"],
    );
}
