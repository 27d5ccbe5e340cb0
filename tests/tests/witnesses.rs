//! Every witness of a gap or overlap run in the engine: the corpus's, and of generated tables.

use std::path::Path;

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Diagnostic};
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::{WitnessAnswer, confirm_findings, confirm_witness};
use loftwright_tests::generator::Random;
use loftwright_tests::workshop::{layer, root, sorted_files};

/// The day on which players are run.
const DAY: &str = "2026-05-01";

fn check_on_base(rules: &str) -> CheckOutput {
    let source = |name: &str, files| LayerSource {
        name: name.to_owned(),
        files,
    };
    let base = std::fs::read_to_string(root().join("tests/corpus/base.rules")).unwrap();
    let house = "ruleset house\n  title \"A house\"\n  language 1\n  builds on base\n";
    let layers = [
        source("contract", layer("contract")),
        source("base", vec![("base.rules".to_owned(), base)]),
        source(
            "house",
            vec![("house.rules".to_owned(), format!("{house}\n{rules}"))],
        ),
    ];
    check(&layers, CONTRACT_VERSION)
}

/// The findings of proofs, each with what its witness came to.
fn answers(output: &CheckOutput) -> Vec<(&Diagnostic, Option<WitnessAnswer>)> {
    let Some(draft) = &output.draft else {
        return Vec::new();
    };
    let day = Date::parse(DAY).unwrap();
    let proofs = output.diagnostics.iter();
    proofs
        .filter(|finding| matches!(finding.code, Code::Overlap | Code::Gap))
        .map(|finding| {
            let run = |witness| confirm_witness(draft, witness, day);
            (finding, finding.witness.as_ref().map(run))
        })
        .collect()
}

#[test]
fn every_witness_of_the_corpus_is_confirmed() {
    let mut confirmed = 0;
    for path in sorted_files(&root().join("tests/corpus/diagnostics"), "rules") {
        let is_proof = |path: &Path| {
            let name = path.file_name().unwrap().to_str().unwrap();
            name.starts_with("L0401") || name.starts_with("L0402")
        };
        if !is_proof(&path) {
            continue;
        }
        let output = check_on_base(&std::fs::read_to_string(&path).unwrap());
        for (finding, answer) in answers(&output) {
            let Some(answer) = answer else {
                continue;
            };
            assert_eq!(
                answer,
                WitnessAnswer::Confirmed,
                "{path:?}: {}",
                finding.message
            );
            confirmed += 1;
        }
    }
    assert!(confirmed >= 10, "{confirmed} were confirmed");
}

/// A column with a way to write conditions of it.
struct Column {
    name: &'static str,
    condition: fn(&mut Random) -> String,
}

const COLUMNS: &[Column] = &[
    Column {
        name: "head_speed",
        condition: |random| bounds(random, 30, 150, 10, " mph"),
    },
    Column {
        name: "steepness",
        condition: |random| bounds(random, -10, 20, 3, " deg"),
    },
    Column {
        name: "reach",
        condition: |random| bounds(random, 20, 60, 5, " in"),
    },
    Column {
        name: "spare",
        condition: |random| bounds(random, -200, 600, 50, ""),
    },
    Column {
        name: "rounds_a_year",
        condition: |random| bounds(random, 0, 400, 40, ""),
    },
    Column {
        name: "turf",
        condition: |random| words(random, &["firm", "normal", "soft"]),
    },
    Column {
        name: "is_late",
        condition: |random| words(random, &["yes", "no"]),
    },
];

/// What the columns are made of: two lets of one reading, one of two.
const LETS: &str = "input is_late : flag\n  ask \"Late?\"\n\
    input clubs_lost : count\n  ask \"Clubs lost?\"\n  between 0 and 50\n\
    let reach : length = wrist_to_floor * 3 / 2 - 4 in\n\
    let spare : number = rounds_a_year - 3 * clubs_lost\n";

fn bounds(random: &mut Random, low: i64, high: i64, step: i64, unit: &str) -> String {
    let places = usize::try_from((high - low) / step).unwrap();
    let mut place = |from: i64| {
        let more = i64::try_from(random.below(places + 1)).unwrap();
        (from + step * more).min(high + step)
    };
    let (one, other) = (place(low), place(low));
    let (from, to) = (one.min(other), one.max(other) + step);
    match random.below(6) {
        0 => format!("under {to}{unit}"),
        1 => format!("{from}{unit} or more"),
        2 => format!("{from}{unit} through {to}{unit}"),
        3 => format!("over {from}{unit} to under {to}{unit}"),
        4 => format!("over {from}{unit}"),
        _ => "any".to_owned(),
    }
}

fn words(random: &mut Random, words: &[&str]) -> String {
    match random.below(3) {
        0 => "any".to_owned(),
        1 => format!("not {}", random.one_of(words)),
        _ => (*random.one_of(words)).to_owned(),
    }
}

fn table(random: &mut Random, number: usize) -> String {
    let first = random.below(COLUMNS.len());
    let count = 1 + random.below(3);
    let columns: Vec<&Column> = (0..count)
        .map(|place| &COLUMNS[(first + 2 * place) % COLUMNS.len()])
        .collect();
    let names: Vec<&str> = columns.iter().map(|column| column.name).collect();
    let policy = if random.chance(20) { ", first" } else { "" };
    let mut text = format!(
        "decide d{number} : number\n  by {}{policy}\n",
        names.join(" and ")
    );
    for _ in 0..1 + random.below(4) {
        let row: Vec<String> = columns
            .iter()
            .map(|column| (column.condition)(random))
            .collect();
        text.push_str(&format!("    {} gives 1\n", row.join(" and ")));
    }
    text
}

#[test]
fn every_witness_of_generated_tables_is_confirmed() {
    let mut random = Random(2);
    let (mut gaps, mut overlaps, mut out_of_reach) = (0, 0, 0);
    for _ in 0..30 {
        let tables: Vec<String> = (0..10).map(|number| table(&mut random, number)).collect();
        let rules = format!("{LETS}{}", tables.concat());
        let output = check_on_base(&rules);
        for (finding, answer) in answers(&output) {
            let Some(answer) = answer else {
                // Columns that share a reading may rule each other out; then the finding says so.
                let says = |help: &String| {
                    help.contains("no readings lead there") || help.contains("no player was found")
                };
                assert!(finding.help.iter().any(says), "{finding:#?}\n{rules}");
                out_of_reach += 1;
                continue;
            };
            assert_eq!(answer, WitnessAnswer::Confirmed, "{finding:#?}\n{rules}");
            gaps += usize::from(finding.code == Code::Gap);
            overlaps += usize::from(finding.code == Code::Overlap);
        }
    }
    assert!(
        gaps > 150 && overlaps > 150,
        "{gaps} gaps, {overlaps} overlaps"
    );
    assert!(out_of_reach < gaps / 10, "{out_of_reach} out of reach");
}

#[test]
fn a_finding_says_so_where_its_witness_is_not_confirmed() {
    let rules =
        "decide sole : number\n  by steepness\n    under 5 deg gives 1\n    over 5 deg gives 2\n";
    let mut output = check_on_base(rules);
    let day = Date::parse(DAY).unwrap();
    let before = output.diagnostics.clone();
    confirm_findings(&mut output, day);
    assert_eq!(
        output.diagnostics, before,
        "confirmed findings stay as they are"
    );
    let gap = |output: &mut CheckOutput| {
        let is_gap = |finding: &&mut Diagnostic| finding.code == Code::Gap;
        output.diagnostics.iter_mut().find(is_gap).unwrap().clone()
    };
    for finding in &mut output.diagnostics {
        if let Some(witness) = &mut finding.witness {
            witness.given[0].value = "-6 deg".to_owned();
        }
    }
    confirm_findings(&mut output, day);
    let help = gap(&mut output).help;
    assert_eq!(
        help.last().unwrap(),
        "run as a player, this is not confirmed: `sole`: 2"
    );
}
