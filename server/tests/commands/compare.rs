//! `compare`: what it prints of two folders, and how it ends.

use std::path::PathBuf;

use super::support::{assert_exit, folder_with, loftwright, path_text};

const OLD: &str = "ruleset trial
  title    \"A trial\"
  language 1
  builds on common

let steep_from = 5 deg

decide sand_sole : bounce_class
  source common practice
  by steepness
    under steep_from   gives low
    steep_from or more gives high because \"A steep blow digs.\"

caution much_sole : sand_sole is high
  says \"Mind the turf.\"
";

/// The old version and one with these edits.
fn folders(test: &str, edits: &[(&str, &str)]) -> (PathBuf, PathBuf) {
    let mut new = OLD.to_owned();
    for (from, to) in edits {
        assert!(new.contains(from), "`{from}` is not there");
        new = new.replace(from, to);
    }
    let old = folder_with(&format!("{test}_old"), "trial.rules", OLD);
    (
        old,
        folder_with(&format!("{test}_new"), "trial.rules", &new),
    )
}

fn said(output: &std::process::Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn the_same_rules_are_answered_with_one_line() {
    let (old, new) = folders(
        "compare_same",
        &[("let steep_from = 5 deg", "let steep_from = 5 deg  # so")],
    );
    let output = loftwright(&["compare", path_text(&old), path_text(&new)]);
    assert_exit(&output, 0);
    assert!(
        said(&output).ends_with("\n\nthe same meaning, the same text\n"),
        "{}",
        said(&output)
    );
}

#[test]
fn a_row_that_moved_is_shown_with_a_player_and_both_rows() {
    let edits = [
        (
            "    under steep_from   gives low",
            "    under 6 deg   gives low",
        ),
        (
            "    steep_from or more gives high",
            "    6 deg or more gives high",
        ),
        ("let steep_from = 5 deg\n\n", ""),
        ("Mind the turf.", "Mind the sand."),
    ];
    let (old, new) = folders("compare_row", &edits);
    let output = loftwright(&["compare", path_text(&old), path_text(&new)]);
    assert_exit(&output, 1);
    let said = said(&output);
    let page = said.split_once("\n\n").expect("a head").1;
    assert_eq!(
        page,
        "another meaning: 1 changed, 0 added, 1 removed, 1 reworded

let steep_from: removed
  was  type angle
  was  is 5 deg

decide sand_sole: changed
  where steepness 5 deg to under 6 deg, such as for a player with a wedge attack angle of -5 deg:
    was high by table 1, row 2 `steep_from or more gives high` because \"A steep blow digs.\"
    now low by table 1, row 1 `under 6 deg gives low`
  these depend on it: much_sole

caution much_sole: reworded, decides as before
  was  says \"Mind the turf.\"
  now  says \"Mind the sand.\"
"
    );
}

#[test]
fn what_lies_behind_a_name_is_said_of_the_name() {
    let (old, new) = folders(
        "compare_let",
        &[("steep_from = 5 deg", "steep_from = 6 deg")],
    );
    let output = loftwright(&["compare", path_text(&old), path_text(&new)]);
    assert_exit(&output, 1);
    let said = said(&output);
    for part in [
        "let steep_from: changed\n  was  is 5 deg\n  now  is 6 deg\n",
        // A bound of rows is the let's value: the rows decide otherwise too.
        "where steepness 5 deg to under 6 deg",
    ] {
        assert!(said.contains(part), "{part} is not in\n{said}");
    }
}

#[test]
fn json_is_the_same_in_data() {
    let (old, new) = folders(
        "compare_json",
        &[("steep_from = 5 deg", "steep_from = 6 deg")],
    );
    let output = loftwright(&["compare", "--json", path_text(&old), path_text(&new)]);
    assert_exit(&output, 1);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(json["same_meaning"], false);
    let changes = json["changes"].as_array().expect("changes");
    let sole = changes.iter().find(|change| change["name"] == "sand_sole");
    let region = &sole.expect("the decision")["regions"][0];
    assert_eq!(region["conditions"][0]["name"], "steepness");
    assert_eq!(region["old"]["outcome"], "high");
    assert_eq!(region["new"]["outcome"], "low");
    assert_eq!(region["old"]["rows"][0]["because"], "A steep blow digs.");
    assert_eq!(region["witness"][0]["name"], "wedge_attack_angle");
}

#[test]
fn faults_of_both_folders_are_named() {
    let (old, new) = folders("compare_faults", &[("gives low", "gives lowe")]);
    let output = loftwright(&["compare", "no-such-folder", path_text(&new)]);
    assert_exit(&output, 2);
    assert!(output.stdout.is_empty());
    let faults = String::from_utf8_lossy(&output.stderr);
    assert!(
        faults.contains("no-such-folder") && faults.contains("`lowe`"),
        "{faults}"
    );
    assert_exit(&loftwright(&["compare", path_text(&old)]), 2);
}
