//! `check` and `cases`: the same data as text, as short lines and as JSON; the rows that are asked
//! to be touched.

use std::path::PathBuf;
use std::process::{Command, Output};

use serde_json::Value;

use crate::support::{assert_exit, folder_with, loftwright, path_text};

const HEAD: &str =
    "ruleset house\n  title \"Ein Haus für Grüne\"\n  language 1\n  builds on common\n\n";

/// A decision of three rows, of which one cannot happen, with a case that touches one of the rest.
const HALF_TOUCHED: &str = "\
input balls_a_week : count
  ask     \"Balls in a week.\"
  between 0 and 5000

decide practice : count
  source common practice
  by balls_a_week
    0                  gives 0
    1 through 4000     gives 1
    over 4000          cannot happen because \"Nobody hits as many.\"

case \"no balls\"
  given  balls_a_week = 0
  expect practice = 0
";

fn house(test: &str, rules: &str) -> PathBuf {
    folder_with(test, "house.rules", &format!("{HEAD}{rules}"))
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("one JSON document")
}

fn at<'a>(value: &'a Value, pointer: &str) -> &'a Value {
    value.pointer(pointer).expect(pointer)
}

/// The first finding of a code in the first folder.
fn finding<'a>(document: &'a Value, code: &str) -> &'a Value {
    let findings = at(document, "/folders/0/findings").as_array();
    let mut findings = findings.expect("findings").iter();
    findings
        .find(|finding| at(finding, "/code") == code)
        .expect(code)
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

#[test]
fn a_finding_is_json_with_its_place_and_help() {
    let rules = "decide größe : angle\n  source common practice\n\
                 decide steep : angle # für alle\n  gives 2 * (head_sped + 1 mph)\n";
    let folder = house("findings-json", rules);
    let output = loftwright(&["check", "--json", path_text(&folder)]);
    assert_exit(&output, 1);
    let document = json(&output);
    assert_eq!(at(&document, "/folders/0/folder"), path_text(&folder));
    assert_eq!(at(&document, "/folders/0/cases"), &Value::Null);
    let unknown = finding(&document, "L0301");
    assert_eq!(at(unknown, "/severity"), "error");
    assert_eq!(at(unknown, "/layer"), "house");
    assert!(
        at(unknown, "/message")
            .as_str()
            .is_some_and(|text| text.contains("`head_sped`"))
    );
    assert!(
        at(unknown, "/file")
            .as_str()
            .is_some_and(|name| name.ends_with("house.rules"))
    );
    assert_eq!(at(unknown, "/labels"), &Value::Array(Vec::new()));
    // The place by bytes, and the same by line and column in characters.
    let text = format!("{HEAD}{rules}");
    let byte = text.find("head_sped").expect("it is there");
    assert_eq!(at(unknown, "/span/start/byte"), byte);
    assert_eq!(at(unknown, "/span/end/byte"), byte + "head_sped".len());
    assert_eq!(at(unknown, "/span/start/line"), 9);
    assert_eq!(at(unknown, "/span/start/column"), "  gives 2 * (".len() + 1);
}

#[test]
fn operands_are_data_beside_the_message() {
    let folder = house(
        "operands-json",
        "let odd : angle = 5 deg + 1 in\ncaution odd_one : odd over 1 deg\n  says \"Odd.\"\n",
    );
    let output = loftwright(&["check", "--json", path_text(&folder)]);
    assert_exit(&output, 1);
    let document = json(&output);
    let operands = at(finding(&document, "L0303"), "/operands");
    let expected = serde_json::json!([
        { "text": "5 deg", "measures": "angle" },
        { "text": "1 in", "measures": "length" },
    ]);
    assert_eq!(operands, &expected);
}

#[test]
fn a_folder_that_cannot_be_read_is_named_in_the_document_of_the_others() {
    let folder = house("beside-unreadable", HALF_TOUCHED);
    let output = loftwright(&["check", "--json", "no-such-folder", path_text(&folder)]);
    assert_exit(&output, 2);
    let document = json(&output);
    assert_eq!(at(&document, "/folders/0/errors"), 0);
    let sentence = at(&document, "/unreadable/0").as_str().expect("a text");
    assert!(sentence.contains("no-such-folder"), "{sentence}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("no-such-folder"));
}

#[test]
fn cases_as_json_say_what_came_out_and_which_rows_decided() {
    let rules = format!(
        "{HALF_TOUCHED}\ncase \"a few balls\"\n  given  balls_a_week = 10\n  expect practice = 7\n"
    );
    let folder = house("cases-json", &rules);
    let output = loftwright(&["cases", "--json", path_text(&folder)]);
    assert_exit(&output, 1);
    let document = json(&output);
    assert_eq!(at(&document, "/folders/0/cases/failed"), 1);
    let list = at(&document, "/folders/0/cases/list").as_array();
    let case = list
        .expect("cases")
        .iter()
        .find(|case| at(case, "/title") == "a few balls")
        .expect("the case");
    assert_eq!(at(case, "/passed"), false);
    assert_eq!(at(case, "/expectations/0/failure/found"), "1");
    let place = at(case, "/expectations/0/failure/row/span/start/line");
    let line = format!("{HEAD}{rules}")
        .lines()
        .position(|line| line.contains("1 through 4000"));
    assert_eq!(place.as_u64(), line.map(|line| line as u64 + 1));
    let tables = at(&document, "/folders/0/coverage/tables").as_array();
    let table = tables
        .expect("tables")
        .iter()
        .find(|table| at(table, "/decision") == "practice")
        .expect("the table");
    let counts: Vec<_> = at(table, "/rows")
        .as_array()
        .expect("rows")
        .iter()
        .map(|row| {
            (
                at(row, "/cases").as_u64(),
                at(row, "/cannot_happen").as_bool(),
            )
        })
        .collect();
    let expected = [(1, false), (1, false), (0, true)];
    assert_eq!(
        counts,
        expected.map(|(cases, cannot)| (Some(cases), Some(cannot)))
    );
}

#[test]
fn rules_with_errors_have_findings_and_no_cases() {
    let folder = house("cases-of-errors", "let odd : angle = 5 furlong\n");
    let output = loftwright(&["cases", "--json", path_text(&folder)]);
    assert_exit(&output, 2);
    let document = json(&output);
    assert_eq!(at(&document, "/folders/0/coverage"), &Value::Null);
    assert_ne!(at(&document, "/folders/0/errors"), 0);
}

#[test]
fn fewer_rows_than_asked_for_are_a_finding_and_the_untouched_are_named() {
    let folder = house("coverage", HALF_TOUCHED);
    let asked =
        |percent: &str| loftwright(&["cases", path_text(&folder), "--min-coverage", percent]);
    assert_exit(&asked("0"), 0);
    let output = asked("100");
    assert_exit(&output, 1);
    let said = stdout(&output);
    assert!(
        said.contains("not touched: practice (house), table 1, row 2 `1 through 4000 gives 1`\n"),
        "{said}"
    );
    assert!(
        !said.contains("Nobody") && !said.contains("row 3"),
        "{said}"
    );
    assert!(said.contains(" that cannot happen not counted"), "{said}");
    assert!(
        said.contains("fewer than 100 percent of the rows are touched"),
        "{said}"
    );
    for wrong in ["101", "-1", "1.5", "many"] {
        assert_exit(&asked(wrong), 2);
    }
    let as_json = loftwright(&["cases", path_text(&folder), "--json", "--min-coverage=100"]);
    assert_exit(&as_json, 1);
    let document = json(&as_json);
    let coverage = at(&document, "/folders/0/coverage");
    let number = |name: &str| at(coverage, name).as_u64().expect("a number");
    assert_eq!(number("/missing"), number("/rows") - number("/touched"));
    assert!(number("/cannot_happen") >= 1);
}

#[test]
fn short_lines_are_for_tools_that_jump_to_a_place() {
    let folder = house("short", "let odd : angle = head_sped\n");
    let output = loftwright(&["check", "--short", path_text(&folder)]);
    assert_exit(&output, 1);
    let said = stdout(&output);
    let expected = "house.rules:6:19: error[L0301]: `head_sped` is not declared";
    assert!(said.lines().any(|line| line.contains(expected)), "{said}");
}

#[test]
fn colours_are_forced_and_forbidden_by_the_environment() {
    let folder = house("colours", "let odd : angle = head_sped\n");
    let is_coloured = |variables: &[(&str, &str)]| {
        let output = Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .args(["check", path_text(&folder)])
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .envs(variables.iter().copied())
            .output()
            .expect("the program starts");
        stdout(&output).contains('\u{1b}')
    };
    assert!(!is_coloured(&[]), "standard output is no terminal here");
    assert!(is_coloured(&[("CLICOLOR_FORCE", "1")]));
    assert!(!is_coloured(&[("CLICOLOR_FORCE", "0")]));
    assert!(!is_coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
}
