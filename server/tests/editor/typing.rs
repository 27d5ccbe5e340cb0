//! Findings while somebody types.

use std::fs;

use serde_json::json;

use super::{Client, errors, one_file, rulesets, uri};

#[test]
fn a_slip_is_shown_as_it_is_typed_and_cleared_when_it_is_mended() {
    let house = rulesets("slip").join("skerry/house.rules");
    let text = fs::read_to_string(&house).expect("its text");
    let mut client = Client::new();
    client.open(&house);
    assert!(errors(&client.findings(&house, 1)).is_empty());
    // One row of the wedges now ends where the next does not begin.
    let broken = text.replace("5 through 8 deg", "5 to under 8 deg");
    client.change(&house, 2, &broken);
    let findings = client.findings(&house, 2);
    assert_eq!(errors(&findings), ["L0402"], "{findings:#?}");
    let finding = findings.iter().find(|finding| finding["severity"] == 1);
    let finding = finding.expect("the error");
    assert_eq!(finding["source"], "loftwright");
    let said = finding["message"].as_str().expect("a message");
    assert!(said.contains("8 deg"), "{said}");
    client.change(&house, 3, &text);
    assert!(errors(&client.findings(&house, 3)).is_empty());
    assert!(client.leave());
}

#[test]
fn only_what_is_changed_is_sent() {
    let house = rulesets("increments").join("skerry/house.rules");
    let mut client = Client::new();
    client.open(&house);
    // `sand_kind` in line 6, column 21, loses its last letter, and gets it back.
    let place =
        json!({ "start": { "line": 5, "character": 28 }, "end": { "line": 5, "character": 29 } });
    client.change_by(&house, 2, json!([{ "range": place, "text": "" }]));
    assert!(errors(&client.findings(&house, 2)).contains(&"L0301"));
    let place =
        json!({ "start": { "line": 5, "character": 28 }, "end": { "line": 5, "character": 28 } });
    client.change_by(&house, 3, json!([{ "range": place, "text": "d" }]));
    assert!(errors(&client.findings(&house, 3)).is_empty());
    assert!(client.leave());
}

#[test]
fn a_slip_in_one_file_is_shown_in_the_file_that_rests_on_it() {
    let root = rulesets("two-files");
    let (swing, wedges) = (
        root.join("common/swing.rules"),
        root.join("common/wedges.rules"),
    );
    let text = fs::read_to_string(&swing).expect("its text");
    let mut client = Client::new();
    client.open(&swing);
    client.open(&wedges);
    assert!(errors(&client.findings(&wedges, 1)).is_empty());
    client.told.clear();
    client.change(
        &swing,
        2,
        &text.replace("input wedge_attack_angle", "input wedge_attack_angl"),
    );
    // The second is open in the state it had.
    let findings = client.findings(&wedges, 1);
    assert!(errors(&findings).contains(&"L0301"), "{findings:#?}");
    let mut messages = findings
        .iter()
        .map(|finding| finding["message"].to_string());
    assert!(messages.any(|said| said.contains("help: did you mean `wedge_attack_angl`?")));
    client.told.clear();
    client.change(&swing, 3, &text);
    assert!(errors(&client.findings(&wedges, 1)).is_empty());
    assert!(client.leave());
}

#[test]
fn a_house_is_checked_on_the_unsaved_rules_it_builds_on() {
    let root = rulesets("layers");
    let (wedges, house) = (
        root.join("common/wedges.rules"),
        root.join("skerry/house.rules"),
    );
    let text = fs::read_to_string(&wedges).expect("its text");
    let mut client = Client::new();
    client.open(&house);
    assert!(errors(&client.findings(&house, 1)).is_empty());
    let broken = text.replace("let steepness", "let steepnes");
    client.open_as(&wedges, &format!("{broken}\nlet nonsense = nowhere\n"));
    client.told.clear();
    // The house speaks of it; what is wrong below is said once more at its `ruleset` line.
    client.change(&house, 2, &fs::read_to_string(&house).expect("its text"));
    let findings = client.findings(&house, 2);
    assert!(errors(&findings).contains(&"L0301"), "{findings:#?}");
    let head = root.join("skerry/ruleset.rules");
    let of_head = client.findings_on_disk(&head);
    let said = of_head.first().expect("a finding");
    let message = said["message"].as_str().expect("a message");
    assert!(message.starts_with("in `common`: "), "{message}");
    assert!(
        said["relatedInformation"][0]["location"]["uri"].is_string(),
        "{said}"
    );
    assert!(client.leave());
}

#[test]
fn two_places_of_one_finding_are_both_named() {
    let text = "ruleset house\n\nlet one : length = 1 in\n\nlet one : length = 2 in\n";
    let file = one_file("twice", text);
    let mut client = Client::new();
    client.open(&file);
    let findings = client.findings(&file, 1);
    let twice = findings.iter().find(|finding| finding["code"] == "L0202");
    let twice = twice.expect("the clash");
    assert_eq!(
        twice["range"]["start"],
        json!({ "line": 4, "character": 4 })
    );
    let related = &twice["relatedInformation"][0];
    assert_eq!(related["message"], "first here");
    assert_eq!(related["location"]["range"]["start"]["line"], 2);
    assert!(client.leave());
}

#[test]
fn the_cases_are_run_when_a_file_is_saved_and_not_before() {
    let root = rulesets("cases");
    let cases = root.join("skerry/cases.rules");
    let text = fs::read_to_string(&cases).expect("its text");
    let failing = text.replacen(
        "expect every wedge_bounce = standard",
        "expect every wedge_bounce = low",
        1,
    );
    let mut client = Client::new();
    client.open(&cases);
    client.change(&cases, 2, &failing);
    assert!(errors(&client.findings(&cases, 2)).is_empty());
    client.told.clear();
    client.tell(
        "textDocument/didSave",
        json!({ "textDocument": { "uri": uri(&cases) } }),
    );
    let findings = client.findings(&cases, 2);
    assert_eq!(errors(&findings), ["L0601"], "{findings:#?}");
    client.change(&cases, 3, &text);
    assert!(errors(&client.findings(&cases, 3)).is_empty());
    assert!(client.leave());
}

#[test]
fn what_was_said_of_a_folder_is_taken_back_when_nothing_of_it_is_open() {
    let root = rulesets("closed");
    let house = root.join("skerry/house.rules");
    let cases = root.join("skerry/cases.rules");
    let text = fs::read_to_string(&house).expect("its text");
    let mut client = Client::new();
    client.open_as(&house, &text.replace("input bunker_sand ", "input sand "));
    assert!(!client.findings(&house, 1).is_empty());
    assert!(!client.findings_on_disk(&cases).is_empty());
    client.told.clear();
    let closed = json!({ "textDocument": { "uri": uri(&house) } });
    client.tell("textDocument/didClose", closed);
    assert!(client.findings_on_disk(&cases).is_empty());
    assert!(client.leave());
}

#[test]
fn columns_are_counted_as_was_agreed() {
    // Before the name stand two bytes of `ü` (one unit) and four of U+1F3CC (two units).
    let text = "ruleset house\n\ncaution wet : yes\n  says \"Grün 🏌: {nowhere}\"\n";
    let file = one_file("columns", text);
    let line = "  says \"Grün 🏌: {nowhere}\"";
    let before = line.split("nowhere").next().expect("what stands before");
    for (encoding, column) in [
        ("utf-16", before.encode_utf16().count()),
        ("utf-8", before.len()),
    ] {
        let mut client = Client::with_encodings(&[encoding]);
        client.open(&file);
        let findings = client.findings(&file, 1);
        let unknown = findings.iter().find(|finding| finding["code"] == "L0301");
        let start = &unknown.expect("the unknown name")["range"]["start"];
        assert_eq!(
            *start,
            json!({ "line": 3, "character": column }),
            "{encoding}"
        );
        assert!(client.leave());
    }
}
