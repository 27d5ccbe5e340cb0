//! `format`: what it writes, what it leaves, and how it ends.

use std::fs;
use std::path::PathBuf;

use super::support::{assert_exit, folder_with, loftwright, path_text};

const UNTIDY: &str = "ruleset trial\r\n title   \"A trial\"\r\n language 1 # one";
const TIDY: &str = "ruleset trial\n  title    \"A trial\"\n  language 1  # one\n";

/// A folder of this test's own with a file `trial.rules`, and nothing else.
fn folder(test: &str, text: &str) -> (PathBuf, PathBuf) {
    let folder = folder_with(test, "trial.rules", text);
    for entry in fs::read_dir(&folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if !path.ends_with("trial.rules") {
            fs::remove_file(&path).expect("removed");
        }
    }
    let file = folder.join("trial.rules");
    (folder, file)
}

fn said(output: &std::process::Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn a_file_is_laid_out_and_then_stays() {
    let (folder, file) = folder("format_writes", UNTIDY);
    let output = loftwright(&["format", path_text(&folder)]);
    assert_exit(&output, 0);
    assert!(said(&output).contains("trial.rules: formatted\n1 file: 1 changed, 0 left"));
    assert_eq!(fs::read_to_string(&file).expect("a file"), TIDY);
    let names = fs::read_dir(&folder).expect("a folder").count();
    assert_eq!(names, 1, "nothing is left beside it");
    let output = loftwright(&["format", path_text(&folder)]);
    assert_exit(&output, 0);
    assert_eq!(said(&output), "1 file: 0 changed, 0 left with errors\n");
    assert_exit(&loftwright(&["format", "--check", path_text(&folder)]), 0);
}

#[test]
fn a_check_changes_nothing_and_shows_the_difference() {
    let (folder, file) = folder("format_check", UNTIDY);
    let output = loftwright(&["format", "--check", path_text(&folder)]);
    assert_exit(&output, 1);
    let said = said(&output);
    for line in [
        "trial.rules: would change",
        "-ruleset trial",
        "+ruleset trial",
        "+  title    \"A trial\"",
        "1 file: 1 would change, 0 left with errors",
    ] {
        assert!(said.contains(line), "{said}");
    }
    assert_eq!(fs::read_to_string(&file).expect("a file"), UNTIDY);
}

#[test]
fn a_file_with_errors_is_left_and_the_others_are_laid_out() {
    let broken = "let  a = \u{2212}1\n";
    let (folder, file) = folder("format_leaves", broken);
    fs::write(folder.join("other.rules"), UNTIDY).expect("written");
    let output = loftwright(&["format", path_text(&folder)]);
    assert_exit(&output, 1);
    let said = said(&output);
    assert!(said.contains("L0002") && said.contains("trial.rules: left as it is: it has"));
    assert!(
        said.contains("2 files: 1 changed, 1 left with errors"),
        "{said}"
    );
    assert_eq!(fs::read_to_string(&file).expect("a file"), broken);
    assert_eq!(
        fs::read_to_string(folder.join("other.rules")).expect("a file"),
        TIDY
    );
}

#[test]
fn as_json_it_says_the_same() {
    let (folder, _) = folder("format_json", UNTIDY);
    fs::write(folder.join("broken.rules"), "let\n").expect("written");
    let output = loftwright(&["format", "--check", "--json", path_text(&folder)]);
    assert_exit(&output, 1);
    let reports: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(reports[0]["state"], "left");
    assert_eq!(reports[0]["findings"][0]["code"], "L0101");
    assert_eq!(reports[1]["state"], "changed");
    let difference = reports[1]["difference"].as_str().expect("a text");
    assert!(difference.contains("+  language 1  # one"), "{difference}");
}

#[test]
#[cfg(unix)]
fn a_link_is_not_written_through() {
    let (folder, file) = folder("format_link", UNTIDY);
    let target = folder.join("elsewhere.txt");
    fs::rename(&file, &target).expect("renamed");
    std::os::unix::fs::symlink(&target, &file).expect("a link");
    let output = loftwright(&["format", path_text(&folder)]);
    assert_exit(&output, 2);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(
        stderr.contains("trial.rules: is a link; only files are written"),
        "{stderr}"
    );
    assert_eq!(fs::read_to_string(&target).expect("a file"), UNTIDY);
    assert!(
        fs::symlink_metadata(&file)
            .expect("there")
            .file_type()
            .is_symlink()
    );
}

#[test]
fn a_folder_without_rules_is_bad_input() {
    let (folder, file) = folder("format_nothing", UNTIDY);
    fs::remove_file(&file).expect("removed");
    let output = loftwright(&["format", path_text(&folder)]);
    assert_exit(&output, 2);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(stderr.contains("holds no `*.rules` file"), "{stderr}");
}
