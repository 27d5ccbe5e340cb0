//! `outline`: one form on standard output, others in files; `fit --to` where nobody answers.

use std::fs;
use std::path::Path;

use crate::support::{assert_exit, folder_with, loftwright, path_text, rulesets};

#[test]
fn the_page_is_printed_where_nothing_is_asked_for() {
    let skerry = rulesets().join("skerry");
    let plain = loftwright(&["outline", path_text(&skerry)]);
    assert_exit(&plain, 0);
    let asked = loftwright(&["outline", path_text(&skerry), "--markdown", "-"]);
    assert_eq!(plain.stdout, asked.stdout);
    let page = String::from_utf8(plain.stdout).expect("UTF-8");
    assert!(page.starts_with("# Skerry Point workshop, house rules\n"));
}

#[test]
fn files_and_json_at_once() {
    let skerry = rulesets().join("skerry");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("outline");
    fs::create_dir_all(&folder).expect("a folder");
    let (picture, page) = (folder.join("graph.svg"), folder.join("graph.md"));
    let output = loftwright(&[
        "outline",
        path_text(&skerry),
        "--svg",
        path_text(&picture),
        "--markdown",
        path_text(&page),
        "--json",
    ]);
    assert_exit(&output, 0);
    let data: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let nodes = data.get("nodes").and_then(|nodes| nodes.as_array());
    let is_replaced = |node: &serde_json::Value| node.get("replaces") == Some(&"common".into());
    // wedge_bounce and driver_length.
    let replaced = nodes
        .expect("nodes")
        .iter()
        .filter(|node| is_replaced(node));
    assert_eq!(replaced.count(), 2);
    let picture = fs::read_to_string(picture).expect("the picture");
    assert!(picture.starts_with("<svg ") && picture.ends_with("</svg>\n"));
    assert!(!picture.contains("<script"));
    assert!(
        fs::read_to_string(page)
            .expect("the page")
            .contains("### wedge_bounce\n")
    );
}

#[test]
fn two_forms_do_not_share_standard_output_and_faults_are_named() {
    let skerry = rulesets().join("skerry");
    let both = loftwright(&["outline", path_text(&skerry), "--json", "--svg", "-"]);
    assert_exit(&both, 2);
    assert!(both.stdout.is_empty());
    let nowhere = loftwright(&[
        "outline",
        path_text(&skerry),
        "--svg",
        "no-such-folder/graph.svg",
    ]);
    assert_exit(&nowhere, 2);
    let said = String::from_utf8_lossy(&nowhere.stderr);
    assert!(said.contains("`no-such-folder/graph.svg`"), "{said}");
    let text = "ruleset broken\n  title \"Broken\"\n  language 1\n  builds on nothing\n";
    let broken = folder_with("outline-broken", "broken.rules", text);
    assert_exit(&loftwright(&["outline", path_text(&broken)]), 2);
}

#[test]
fn a_service_that_is_not_there_is_bad_input() {
    let player = rulesets().join("demo/players/junior.toml");
    // Port 1 is reserved, and nothing listens there.
    let output = loftwright(&["fit", "--to", "http://127.0.0.1:1", path_text(&player)]);
    assert_exit(&output, 2);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("is `loftwright serve` running there?"),
        "{said}"
    );
    let both = ["fit", "--to", "http://127.0.0.1:1", "--on", "2026-05-01"];
    assert_exit(&loftwright(&[&both[..], &[path_text(&player)]].concat()), 2);
}
