//! *Unique* and *first* as the standard for decision tables defines them.
//!
//! OMG, *Decision Model and Notation* (DMN), clause *Decision Table hit policies* (8.2.10 in
//! version 1.2, as the documentation of other people's implementations cites it; the clause on
//! complete and incomplete tables from memory). What it says, in our words:
//!
//! - *Unique*, the default: the rules are disjoint, nobody can match two of them.
//! - *First*: rules may overlap and give different outputs; the first that matches, by the order in
//!   which they stand, is the answer, and looking further is not needed. The last rule is often
//!   the one for all the rest. The meaning rests on the order.
//! - An irrelevant input entry, written `-` there and `any` here, matches whatever the input is.
//! - Interval ends belong to the interval or not: `[5..8]`, `[5..8[`, `]5..8]`.
//!
//! The examples are our own, in the manner of its conformance kit: a table, inputs, the output. The
//! standard lets a table be incomplete and answers null there, and lets an overlap fail when it is
//! met; a ruleset here is refused instead, before anybody is fitted by it.

use std::collections::BTreeMap;

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Severity};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_tests::engine_side;
use loftwright_tests::oracle::Person;
use loftwright_tests::sides::Sides;

/// What the examples look at.
const INPUTS: &str = "\
ruleset examples
  builds on base

choice surface_kind is grass, mat, sand

input surface : surface_kind
input age : count
  between 0 and 120
input reach : length
  between 0 m and 3 m
";

/// A table of these rows below this header, on top of the corpus' base.
fn layers(header: &str, rows: &[&str]) -> Vec<LayerSource> {
    let rows = rows.join("\n    ");
    let text =
        format!("{INPUTS}\ndecide answer : number\n  source \"DMN\"\n  by {header}\n    {rows}\n");
    let mut layers = engine_side::layers("base");
    layers.push(LayerSource {
        name: "examples".to_owned(),
        files: vec![("examples.rules".to_owned(), text)],
    });
    layers
}

/// The answers for players whose readings are written `age 12, surface mat`.
fn answers(header: &str, rows: &[&str], players: &[&str]) -> Vec<String> {
    let sides = Sides::of_layers(&layers(header, rows));
    let evaluator = Evaluator::new(&sides.program);
    let answer = |readings: &&str| {
        let mut person = Person::default();
        for reading in readings.split(", ").filter(|reading| !reading.is_empty()) {
            let (name, value) = reading.split_once(' ').unwrap();
            person.readings.insert(name.to_owned(), value.to_owned());
        }
        let summary: BTreeMap<String, String> = sides.engine_summary(&evaluator, &person);
        summary["answer"].trim_start_matches("decided ").to_owned()
    };
    players.iter().map(answer).collect()
}

/// The findings of a table: code, grave or not, and the rows that they point at.
fn findings(header: &str, rows: &[&str]) -> Vec<(Code, Severity, Vec<String>)> {
    let output: CheckOutput = check(&layers(header, rows), CONTRACT_VERSION);
    let text = |span: loftwright_dsl::syntax::Span| {
        let text = &output.folder[span.file].text;
        let (start, end) = (span.start, span.end);
        let whole = &text[start..end];
        whole.trim().to_owned()
    };
    let found = output.diagnostics.iter();
    let found = found.filter(|finding| finding.severity != Severity::Note);
    found
        .map(|finding| {
            let others = finding.secondary.iter().map(|label| text(label.span));
            let places = std::iter::once(text(finding.primary.span)).chain(others);
            (finding.code, finding.severity, places.collect())
        })
        .collect()
}

/// Every order of some rows.
fn orders<'r>(rows: &[&'r str]) -> Vec<Vec<&'r str>> {
    if rows.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for place in 0..rows.len() {
        let mut rest = rows.to_vec();
        let first = rest.remove(place);
        for mut order in orders(&rest) {
            order.insert(0, first);
            all.push(order);
        }
    }
    all
}

const BY_AGE: [&str; 3] = [
    "under 18 gives 1",
    "18 through 64 gives 2",
    "65 or more gives 3",
];

#[test]
fn unique_is_the_policy_of_a_table_that_names_none() {
    let players = ["age 17", "age 18", "age 64", "age 65"];
    assert_eq!(answers("age", &BY_AGE, &players), ["1", "2", "2", "3"]);
    // Disjoint rules are what makes it unique: without a word more two that overlap are refused.
    let overlapping = ["up to 18 gives 1", "18 or more gives 2"];
    assert_eq!(findings("age", &overlapping)[0].0, Code::Overlap);
    assert_eq!(findings("age, first", &overlapping), []);
}

#[test]
fn the_order_of_disjoint_rules_means_nothing() {
    let rows = [
        "under 18 and any gives 1",
        "18 or more and grass gives 2",
        "18 or more and mat gives 3",
        "18 or more and sand gives 4",
    ];
    let players = [
        "age 17, surface sand",
        "age 18, surface grass",
        "age 99, surface mat",
        "age 18, surface sand",
        "age 17",
        "surface sand",
    ];
    for order in orders(&rows) {
        let came = answers("age and surface", &order, &players);
        assert_eq!(came, ["1", "2", "3", "4", "1", "needs age"], "{order:?}");
    }
}

#[test]
fn under_unique_rules_that_overlap_are_a_finding_also_where_their_outputs_are_equal() {
    // Equal outputs would do for the standard's *any*; under *unique* nobody matches two rules.
    for output in ["1", "2"] {
        let second = format!("60 or more gives {output}");
        let rows = ["up to 64 gives 1", &second];
        let expected = (
            Code::Overlap,
            Severity::Error,
            vec![second.clone(), "up to 64 gives 1".to_owned()],
        );
        assert_eq!(findings("age", &rows), [expected]);
    }
    // They overlap in a single value of one column, whatever the other says.
    let rows = [
        "up to 64 and grass or mat gives 1",
        "64 or more and mat or sand gives 2",
        "under 64 and sand gives 3",
        "over 64 and grass gives 4",
    ];
    let found = findings("age and surface", &rows);
    let overlaps: Vec<_> = found
        .iter()
        .filter(|found| found.0 == Code::Overlap)
        .collect();
    assert_eq!(overlaps.len(), 1, "{found:?}");
    assert_eq!(overlaps[0].2, [rows[1], rows[0]]);
}

#[test]
fn first_gives_what_the_first_rule_that_matches_says() {
    let rows = [
        "under 12 and any gives 1",
        "any and sand gives 2",
        "under 18 and any gives 3",
        "otherwise gives 4",
    ];
    let players = [
        "age 11, surface sand",
        "age 12, surface sand",
        "age 12, surface mat",
        "age 18, surface mat",
        "age 18, surface sand",
    ];
    assert_eq!(findings("age and surface, first", &rows), []);
    let came = answers("age and surface, first", &rows, &players);
    assert_eq!(came, ["1", "2", "3", "4", "2"]);
}

#[test]
fn under_first_the_order_is_the_meaning() {
    let players = ["age 11, surface sand"];
    let one = [
        "under 12 and any gives 1",
        "any and sand gives 2",
        "otherwise gives 3",
    ];
    let other = [
        "any and sand gives 2",
        "under 12 and any gives 1",
        "otherwise gives 3",
    ];
    assert_eq!(answers("age and surface, first", &one, &players), ["1"]);
    assert_eq!(answers("age and surface, first", &other, &players), ["2"]);
    // The same rows by themselves, as *unique*, are refused in either order.
    assert_eq!(findings("age and surface", &one)[0].0, Code::Overlap);
    assert_eq!(findings("age and surface", &other)[0].0, Code::Overlap);
}

#[test]
fn below_the_first_hit_nothing_is_looked_at() {
    let rows = [
        "under 12 and any gives 1",
        "any and sand gives 2",
        "otherwise gives 3",
    ];
    // The second row and the last would need the surface; the first has answered before.
    let came = answers(
        "age and surface, first",
        &rows,
        &["age 11", "age 12", "surface sand"],
    );
    assert_eq!(came, ["1", "needs surface", "needs age"]);
}

#[test]
fn an_irrelevant_entry_matches_whatever_the_input_is() {
    let rows = ["any and grass gives 1", "any and mat or sand gives 2"];
    let players = [
        "age 3, surface grass",
        "age 90, surface sand",
        "surface mat",
    ];
    assert_eq!(answers("age and surface", &rows, &players), ["1", "2", "2"]);
}

#[test]
fn ends_belong_to_an_interval_or_not_as_it_is_written() {
    let rows = [
        "under 1 m                gives 1",
        "1 m to under 1.5 m       gives 2",
        "1.5 m through 2 m        gives 3",
        "over 2 m through 2500 mm gives 4",
        "over 2.5 m               gives 5",
    ];
    let players = [
        "reach 99.9999 cm",
        "reach 1 m",
        "reach 1499.999 mm",
        "reach 150 cm",
        "reach 2 m",
        "reach 2000.001 mm",
        "reach 2.5 m",
        "reach 250.0001 cm",
    ];
    assert_eq!(findings("reach", &rows), []);
    assert_eq!(
        answers("reach", &rows, &players),
        ["1", "2", "2", "3", "3", "4", "4", "5"]
    );
}

#[test]
fn an_incomplete_table_is_a_finding_until_a_last_rule_takes_the_rest() {
    let mut rows = vec!["under 18 gives 1", "65 or more gives 3"];
    for header in ["age", "age, first"] {
        let found = findings(header, &rows);
        assert_eq!(
            (found[0].0, found[0].1),
            (Code::Gap, Severity::Error),
            "{header}"
        );
        assert_eq!(found.len(), 1, "{header}");
    }
    rows.push("otherwise gives 2");
    for header in ["age", "age, first"] {
        assert_eq!(findings(header, &rows), [], "{header}");
        let players = ["age 17", "age 18", "age 64", "age 65", ""];
        assert_eq!(
            answers(header, &rows, &players),
            ["1", "2", "2", "3", "needs age"]
        );
    }
    // Complete but for one value of one column under one value of the other.
    let rows = [
        "under 18 and any gives 1",
        "18 or more and grass or sand gives 2",
    ];
    let found = findings("age and surface", &rows);
    assert_eq!((found.len(), found[0].0), (1, Code::Gap));
}

#[test]
fn a_rule_that_others_leave_nothing_for_is_pointed_out() {
    let rows = ["under 18 gives 1", "any gives 2", "65 or more gives 3"];
    let expected = (
        Code::UnreachableRow,
        Severity::Warning,
        vec![rows[2].to_owned()],
    );
    assert_eq!(findings("age, first", &rows), [expected]);
    // A warning refuses nothing.
    assert_eq!(answers("age, first", &rows, &["age 70"]), ["2"]);
    let mut rows = BY_AGE.to_vec();
    rows.push("otherwise gives 4");
    let expected = (
        Code::UnreachableRow,
        Severity::Warning,
        vec![rows[3].to_owned()],
    );
    assert_eq!(findings("age", &rows), [expected]);
}
