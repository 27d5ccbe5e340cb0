//! What moves a digest and what does not.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::Digests;

const DECLARATIONS: [&str; 4] = [
    "scale size is small < large\n",
    "input reach : length\n  ask \"How far?\"\n  between 10 in and 40 in\n  spread 1/4 in\n",
    "let double = reach * 2\n",
    "decide fit : size\n  about \"By reach.\"\n  source common practice\n  by double\n    under 40 in gives small because \"Short.\"\n    40 in or more gives large\n",
];

#[expect(clippy::expect_used, reason = "a panic is how a test fails")]
fn digests_of(files: &[String]) -> Digests {
    let mut named: Vec<(String, String)> = vec![(
        "a.rules".to_owned(),
        "ruleset house\n  title \"House\"\n".to_owned(),
    )];
    for (place, text) in files.iter().enumerate() {
        named.push((format!("file_{place}.rules"), text.clone()));
    }
    let contract = LayerSource {
        name: "contract".to_owned(),
        files: vec![("contract.rules".to_owned(), "ruleset contract\n".to_owned())],
    };
    let house = LayerSource {
        name: "house".to_owned(),
        files: named,
    };
    let output = check(&[contract, house], 1);
    output.program.expect("these rules check").digests
}

fn plain() -> Digests {
    digests_of(&[DECLARATIONS.concat()])
}

fn changed(from: &str, to: &str) -> Digests {
    let text = DECLARATIONS.concat();
    assert!(text.contains(from), "{from}");
    digests_of(&[text.replace(from, to)])
}

#[test]
fn order_files_comments_and_layout_change_neither() {
    let reversed: Vec<String> = DECLARATIONS
        .iter()
        .rev()
        .map(|text| format!("# a note\n{text}\n\n"))
        .collect();
    assert_eq!(digests_of(&reversed), plain());
    assert_eq!(
        changed("    under 40 in gives", "    under   40 in   gives"),
        plain()
    );
    assert_eq!(
        changed("between 10 in and 40 in", "between 254 mm and 40 in").meaning,
        plain().meaning
    );
    let with_case = format!(
        "{}case \"x\"\n  given reach = 12 in\n  expect fit = small\n",
        DECLARATIONS.concat()
    );
    assert_eq!(digests_of(&[with_case]), plain());
}

#[test]
fn what_decides_changes_the_meaning_alone() {
    for (from, to) in [
        ("under 40 in gives small", "under 39 in gives small"),
        ("spread 1/4 in", "spread 1/8 in"),
        ("between 10 in and 40 in", "between 10 in and 41 in"),
        ("reach * 2", "reach * 3"),
        ("gives large", "gives small"),
    ] {
        let text = if from.starts_with("under") {
            "40 in or more"
        } else {
            ""
        };
        let source = DECLARATIONS.concat().replace(from, to).replace(
            if text.is_empty() { "\u{0}" } else { text },
            "39 in or more",
        );
        let found = digests_of(&[source]);
        assert_ne!(found.meaning, plain().meaning, "{from} → {to}");
        assert_eq!(found.text, plain().text, "{from} → {to}");
    }
}

#[test]
fn what_people_read_changes_the_text_alone() {
    for (from, to) in [
        ("\"How far?\"", "\"How long?\""),
        ("\"By reach.\"", "\"By the reach.\""),
        ("\"Short.\"", "\"Small.\""),
        ("source common practice", "source \"A handbook\""),
    ] {
        let found = changed(from, to);
        assert_eq!(found.meaning, plain().meaning, "{from} → {to}");
        assert_ne!(found.text, plain().text, "{from} → {to}");
    }
}
