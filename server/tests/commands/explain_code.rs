//! `explain-code`: the page of a code, the list of all, and a code that is none.

use serde_json::Value;

use crate::support::{assert_exit, loftwright};

fn printed(arguments: &[&str]) -> String {
    let output = loftwright(arguments);
    assert_exit(&output, 0);
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn a_page_is_printed_for_a_code_in_capitals_or_not() {
    let page = printed(&["explain-code", "L0402"]);
    assert!(
        page.starts_with("# L0402: a player matches no row\n"),
        "{page}"
    );
    assert!(page.contains("\n## Why\n"), "{page}");
    assert_eq!(page, printed(&["explain-code", "l0402"]));
    let json: Value =
        serde_json::from_str(&printed(&["explain-code", "l0402", "--json"])).expect("JSON");
    assert_eq!(json.get("code"), Some(&"L0402".into()));
    assert_eq!(json.get("title"), Some(&"a player matches no row".into()));
    assert_eq!(
        json.get("page").and_then(Value::as_str),
        Some(page.as_str())
    );
}

#[test]
fn without_a_code_all_are_listed_with_their_titles() {
    let list = printed(&["explain-code"]);
    assert!(
        list.contains("L0301  a name that is declared nowhere\n"),
        "{list}"
    );
    let json: Value = serde_json::from_str(&printed(&["explain-code", "--json"])).expect("JSON");
    let codes = json.get("codes").and_then(Value::as_array).expect("codes");
    assert_eq!(codes.len(), list.lines().count());
    let mut sorted: Vec<&str> = list.lines().collect();
    sorted.sort_unstable();
    assert_eq!(sorted, list.lines().collect::<Vec<_>>());
}

#[test]
fn a_code_that_is_none_is_answered_with_the_nearest() {
    let output = loftwright(&["explain-code", "L301"]);
    assert_exit(&output, 2);
    assert!(output.stdout.is_empty());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.starts_with("no finding has the code `L301`; the nearest are:\n  L0301  "),
        "{said}"
    );
    let far = loftwright(&["explain-code", "hello, everybody"]);
    assert_exit(&far, 2);
    let said = String::from_utf8_lossy(&far.stderr);
    assert!(said.contains("lists them all"), "{said}");
}
