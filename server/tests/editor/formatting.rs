//! A file laid out by the editor.

use serde_json::{Value, json};

use super::{Client, one_file, uri};

const LAID_OUT: &str = "ruleset house

# The turf.
choice turf_kind is firm, soft

input turf : turf_kind
  ask     \"Which?\"
  default soft
";

fn formatted(test: &str, text: &str) -> Value {
    let file = one_file(test, text);
    let mut client = Client::new();
    client.open(&file);
    let options = json!({ "tabSize": 2, "insertSpaces": true });
    let document = json!({ "uri": uri(&file) });
    let params = json!({ "textDocument": document, "options": options });
    let answer = client.ask("textDocument/formatting", params);
    assert!(client.leave());
    answer
}

#[test]
fn a_file_that_is_laid_out_is_left_alone() {
    assert_eq!(formatted("laid-out", LAID_OUT)["result"], json!([]));
}

#[test]
fn only_the_lines_that_change_are_replaced() {
    let text = LAID_OUT.replace("  ask     \"", " ask \"");
    let answer = formatted("askew", &text);
    let range = json!({
        "start": { "line": 6, "character": 0 }, "end": { "line": 7, "character": 0 },
    });
    let edit = json!([{ "range": range, "newText": "  ask     \"Which?\"\n" }]);
    assert_eq!(answer["result"], edit);
}

#[test]
fn a_file_with_errors_is_left_as_it_is() {
    let answer = formatted("unreadable", "ruleset house\n\ninput turf ::\n");
    let said = answer["error"]["message"].as_str().expect("a reason");
    assert!(said.starts_with("the file is left as it is"), "{said}");
}
