//! Replacements: what they break below, and what they say they stand on.

#![expect(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    reason = "a test stops at the first surprise"
)]

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Diagnostic};
use loftwright_dsl::digest::{declaration_digests, stands_on_digits};

const BASE: &str = "ruleset base
  title \"Base\"
  language 1

scale size is small < middle < large

input reach : length
  ask     \"How far?\"
  between 10 in and 40 in

let doubled : length = reach * 2

decide fit : size
  source common practice
  by doubled
    under 40 in     gives small
    40 in or more   gives large

decide grade : number
  source common practice
  by fit
    small           gives 1
    middle or large gives 2
";

fn layer(name: &str, text: &str) -> LayerSource {
    LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    }
}

fn house_on(base: &str, house: &str) -> CheckOutput {
    let house =
        format!("ruleset house\n  title \"House\"\n  language 1\n  builds on base\n\n{house}");
    let contract = layer(
        "contract",
        "ruleset contract\n  title \"None\"\n  language 1\n",
    );
    check(&[contract, layer("base", base), layer("house", &house)], 1)
}

fn only(output: &CheckOutput) -> &Diagnostic {
    assert_eq!(output.diagnostics.len(), 1, "{:#?}", output.diagnostics);
    &output.diagnostics[0]
}

fn file_of<'a>(output: &'a CheckOutput, finding: &Diagnostic) -> &'a str {
    &output.folder[finding.primary.span.file].name
}

#[test]
fn an_error_below_belongs_to_the_replacement_that_causes_it() {
    let output = house_on(BASE, "replace let doubled : angle = 1 deg\n");
    let finding = only(&output);
    assert_eq!(finding.code, Code::BrokenReplacement);
    assert_eq!(file_of(&output, finding), "house.rules");
    assert!(
        finding.message.contains("`fit` of `base`"),
        "{}",
        finding.message
    );
    // Both rows of the neighbour are pointed at.
    assert_eq!(finding.secondary.len(), 2);
    let place = finding.secondary[0].span;
    assert_eq!(output.folder[place.file].name, "base.rules");
}

/// The gap is in a table of the base: the scale of the house has a word more.
#[test]
fn what_is_proved_of_a_table_below_counts_too() {
    let house = "replace scale size is small < middle < large < huge\n";
    let output = house_on(BASE, house);
    let finding = only(&output);
    assert_eq!(finding.code, Code::BrokenReplacement);
    assert!(finding.message.contains("`grade`"), "{}", finding.message);
    assert_eq!(file_of(&output, finding), "house.rules");
}

/// `grade` names `fit`, which names `doubled`: the nearest replacement is at fault.
#[test]
fn the_nearest_replacement_is_at_fault() {
    let house = "replace let doubled : length = reach * 3

replace decide fit : length
  source common practice
  gives reach
";
    let output = house_on(BASE, house);
    let errors: Vec<&Diagnostic> = output
        .diagnostics
        .iter()
        .filter(|finding| finding.code == Code::BrokenReplacement)
        .collect();
    // That its type is another is one finding; what follows from it is shown there.
    assert_eq!(errors.len(), 1, "{:#?}", output.diagnostics);
    assert!(errors[0].message.contains("`fit`"));
    assert!(errors[0].secondary.len() > 1);
}

#[test]
fn what_is_wrong_below_without_it_stays_where_it_is() {
    let wrong = BASE.replace("gives 2", "gives reach");
    let output = house_on(&wrong, "replace let doubled : length = reach * 3\n");
    let finding = only(&output);
    assert_eq!(finding.code, Code::TypeMismatch);
    assert_eq!(file_of(&output, finding), "base.rules");
}

fn digits(base: &str, name: &str) -> String {
    let program = house_on(base, "").program.unwrap();
    stands_on_digits(&declaration_digests(&program)[name]).to_owned()
}

#[test]
fn a_replacement_is_told_when_what_it_stands_on_has_another_meaning() {
    let now = digits(BASE, "fit");
    let replacement = format!(
        "replace decide fit : size\n  source common practice\n  stands on \"{now}\"\n  gives middle\n"
    );
    assert!(house_on(BASE, &replacement).diagnostics.is_empty());
    // A comment, a reason, a layout is no other meaning.
    let other_text = BASE.replace("gives small", "gives    small because \"Short.\" # so");
    assert!(house_on(&other_text, &replacement).diagnostics.is_empty());
    // Nor is a change of what it rests on.
    let beside = BASE.replace("reach * 2", "reach * 3");
    assert!(house_on(&beside, &replacement).diagnostics.is_empty());
    let moved = BASE.replace("40 in", "41 in");
    let output = house_on(&moved, &replacement);
    assert!(output.program.is_some());
    let finding = only(&output);
    assert_eq!(finding.code, Code::ReplacedHasChanged);
    assert!(finding.help[0].contains(&digits(&moved, "fit")));
    assert_eq!(
        output.folder[finding.secondary[0].span.file].name,
        "base.rules"
    );
}

#[test]
fn every_kind_of_declaration_can_be_replaced_and_say_what_it_stands_on() {
    let base = format!(
        "{BASE}
choice turf is firm, soft

part head
  has mass    : mass
  has on_hand : count

group wedge, as many as wedges
  has number : count

let wedges : count = 3

choose head from heads_of, for each wedge
  source common practice
"
    );
    let base = base.replace("choose head from heads_of", "choose any_head from heads")
        + "  takes 1 from on_hand\n  needs mass over 200 g\n\n\
           limit heavy : 3 over 2\n  source common practice\n\n\
           caution long : reach over 30 in\n  says \"Long.\"\n";
    let bodies = [
        ("scale size is small < middle < large\n", "size"),
        ("choice turf is firm, soft\n", "turf"),
        (
            "input reach : length\n  ask \"How far?\"\n  between 10 in and 40 in\n",
            "reach",
        ),
        ("let doubled : length = reach * 2\n", "doubled"),
        (
            "part head\n  has mass : mass\n  has on_hand : count\n",
            "head",
        ),
        (
            "group wedge, as many as wedges\n  has number : count\n",
            "wedge",
        ),
        (
            "decide fit : size\n  source common practice\n  gives small\n",
            "fit",
        ),
        (
            "choose any_head from heads, for each wedge\n  source common practice\n  needs mass over 1 g\n",
            "any_head",
        ),
        (
            "limit heavy : 3 over 2\n  source common practice\n",
            "heavy",
        ),
        (
            "caution long : reach over 30 in\n  says \"Long.\"\n",
            "long",
        ),
    ];
    for (body, name) in bodies {
        let right = digits(&base, name);
        for (written, is_told) in [(right.as_str(), false), ("00000000", true)] {
            let house = format!("replace {body}  stands on \"{written}\"\n");
            let output = house_on(&base, &house);
            let warned = output
                .diagnostics
                .iter()
                .any(|finding| finding.code == Code::ReplacedHasChanged);
            assert_eq!(warned, is_told, "{house}{:#?}", output.diagnostics);
            assert!(output.program.is_some(), "{house}{:#?}", output.diagnostics);
        }
    }
}

#[test]
fn a_replaced_caution_stands_where_its_replacement_says() {
    let caution = "caution dust : reach over 30 in\n  says \"Dust.\"\n";
    let base = format!(
        "{BASE}
choice bench_work is cutting, setting, bending

{caution}  at bending, cutting
"
    );
    let works = |house: &str| -> Vec<String> {
        let output = house_on(&base, house);
        let program = output.program.unwrap();
        let caution = program.cautions.iter().next().unwrap();
        program.works_of(caution).collect()
    };
    // In the order of the work, not of the line.
    assert_eq!(works(""), ["cutting", "bending"]);
    assert_eq!(
        works(&format!("replace {caution}  at setting\n")),
        ["setting"]
    );
    // Nothing of the old one is left: it stands before all work.
    assert!(works(&format!("replace {caution}")).is_empty());
}
