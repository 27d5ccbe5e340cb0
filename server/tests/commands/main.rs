//! The program from outside: what it prints where, and its exit codes.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

use std::io::{BufRead, BufReader};
use std::process::{Command, Output, Stdio};

mod compare;
mod explain_code;
mod findings;
mod format;
mod outline;
mod parts;
mod plan;
mod readme;
mod support;
mod verify_log;

use support::{assert_exit, folder_with, loftwright, path_text, rulesets};

#[test]
fn the_demo_prints_the_bag_and_nothing_else() {
    let output = loftwright(&["demo"]);
    assert_exit(&output, 0);
    assert!(output.stderr.is_empty(), "{:?}", output.stderr);
    let sheet = String::from_utf8(output.stdout).expect("UTF-8");
    for section in ["\nPull\n", "\nBuild\n", "\nWhy\n", "\nCautions\n"] {
        assert!(sheet.contains(section), "{sheet}");
    }
    assert!(!sheet.contains('\u{1b}'), "no colour where nobody looks");
}

#[test]
fn every_player_of_the_demo_gets_a_sheet() {
    let players = std::fs::read_dir(rulesets().join("demo/players")).expect("players");
    let mut count = 0;
    for player in players {
        let path = player.expect("an entry").path();
        let name = path
            .file_stem()
            .and_then(|stem| stem.to_str())
            .expect("a name");
        assert_exit(&loftwright(&["demo", "--player", name]), 0);
        count += 1;
    }
    assert_eq!(count, 6);
}

#[test]
fn an_unknown_player_is_bad_input_with_the_nearest_name() {
    let output = loftwright(&["demo", "--player", "junor"]);
    assert_exit(&output, 2);
    assert!(output.stdout.is_empty());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("`junor`") && said.contains("did you mean `junior`"),
        "{said}"
    );
}

#[test]
fn the_demo_over_the_wire_and_the_fit_of_files_are_the_same_sheet() {
    let demo = loftwright(&["demo", "--player", "very-steep", "--full"]);
    let rules = rulesets().join("skerry");
    let parts = rulesets().join("demo");
    let player = rulesets().join("demo/players/very-steep.toml");
    let fit = loftwright(&[
        "fit",
        "--rules",
        path_text(&rules),
        "--parts",
        path_text(&parts),
        path_text(&player),
        "--full",
    ]);
    assert_exit(&fit, 0);
    // The stock of a folder says as of when it is; that of the program itself has no such instant.
    let without_parts = |output: Output| {
        let text = String::from_utf8(output.stdout).expect("UTF-8");
        let lines = text.lines().filter(|line| !line.starts_with("  parts "));
        lines.map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(without_parts(demo), without_parts(fit));
}

#[test]
fn json_is_the_same_text_for_the_same_day() {
    let player = rulesets().join("demo/players/junior.toml");
    let fit = || loftwright(&["fit", path_text(&player), "--json", "--on", "2026-05-01"]);
    let first = fit();
    assert_exit(&first, 0);
    assert_eq!(first.stdout, fit().stdout);
    let json: serde_json::Value = serde_json::from_slice(&first.stdout).expect("JSON");
    assert_eq!(json.get("preview"), Some(&true.into()));
    assert_eq!(json.get("madeOn"), Some(&"2026-05-01".into()));
}

#[test]
fn a_player_file_with_faults_is_bad_input_and_all_of_them_are_named() {
    let text = "ruleset = \"skerry\"\n[readings]\nheight = \"NaN in\"\nwedge_atack_angle = \"-5 deg\"\n\
                driver_head_speed = 97.5\nwrist_to_floor = \"35 kg\"\n";
    let folder = folder_with("faulty-player", "player.toml", text);
    let output = loftwright(&["fit", path_text(&folder.join("player.toml"))]);
    assert_exit(&output, 2);
    assert!(output.stdout.is_empty());
    let said = String::from_utf8_lossy(&output.stderr);
    for fault in ["NaN", "`wedge_attack_angle`", "97.5", "35 kg"] {
        assert!(said.contains(fault), "{fault} is missing in: {said}");
    }
}

#[test]
fn the_built_in_rules_are_clean_and_their_cases_pass() {
    let (common, skerry) = (rulesets().join("common"), rulesets().join("skerry"));
    let output = loftwright(&["check", path_text(&common), path_text(&skerry)]);
    let said = String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains(" 0 failed"), "{said}");
    let cases = loftwright(&["cases", path_text(&skerry)]);
    assert_exit(&cases, 0);
}

#[test]
fn rules_with_errors_are_findings_to_check_and_bad_input_to_fit() {
    let text = "ruleset broken\n  title \"Broken\"\n  language 1\n  builds on common\n\n\
                decide strange : lenght\n  gives 5 furlong\n";
    let folder = folder_with("broken", "broken.rules", text);
    let checked = loftwright(&["check", path_text(&folder)]);
    assert_exit(&checked, 1);
    assert!(String::from_utf8_lossy(&checked.stdout).contains("error"));
    let player = rulesets().join("demo/players/junior.toml");
    let fitted = loftwright(&["fit", "--rules", path_text(&folder), path_text(&player)]);
    assert_exit(&fitted, 2);
    assert!(fitted.stdout.is_empty());
}

#[test]
fn what_is_not_there_is_bad_input() {
    for arguments in [
        ["check", "no-such-folder"],
        ["cases", "no-such-folder"],
        ["fit", "no-such-file.toml"],
        ["serve", "--rules=no-such-folder"],
        ["serve", "--listen=0.0.0.0:0"],
        ["serve", "--ruleset=nobody"],
        ["fit", "--no-such-option"],
    ] {
        assert_exit(&loftwright(&arguments), 2);
    }
}

#[test]
fn a_terminated_service_ends_well() {
    let mut service = Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .args(["serve", "--listen", "127.0.0.1:0"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let output = service.stdout.take().expect("its output");
    let mut line = String::new();
    BufReader::new(output).read_line(&mut line).expect("a line");
    assert!(line.starts_with("listening on http://127.0.0.1:"), "{line}");
    let sent = Command::new("kill")
        .args(["-TERM", &service.id().to_string()])
        .status()
        .expect("kill starts");
    assert!(sent.success());
    let ended = service.wait_with_output().expect("it ends");
    assert_exit(&ended, 0);
    assert!(ended.stderr.is_empty());
}
