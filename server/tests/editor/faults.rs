//! What is wrong is answered, and the next message is heard.

use std::fs;
use std::io::Write;
use std::path::Path;

use serde_json::{Value, json};

use super::{Client, errors, one_file, rulesets, uri};

#[track_caller]
fn expect_error(answer: &Value, code: i32, said: &str) {
    assert_eq!(answer["error"]["code"], code, "{answer}");
    let message = answer["error"]["message"].as_str().expect("a message");
    assert!(message.contains(said), "{message}");
}

#[test]
fn a_message_that_is_none_is_answered_and_the_next_is_heard() {
    let mut client = Client::new();
    client.send_text("{ not JSON");
    expect_error(&client.receive(), -32700, "not JSON");
    client.send_text("[1, 2]");
    expect_error(&client.receive(), -32600, "neither a request");
    client.send_text("");
    expect_error(&client.receive(), -32700, "not JSON");
    client
        .to
        .write_all(b"Content-Length: many\r\n\r\n")
        .expect("it listens");
    expect_error(&client.receive(), -32700, "Content-Length");
    client.to.write_all(b"hello\n\n").expect("it listens");
    expect_error(&client.receive(), -32700, "Content-Length");
    client
        .to
        .write_all(b"Content-Length: 3\r\n\r\n\xff\xfe\xfd")
        .expect("it listens");
    expect_error(&client.receive(), -32700, "not JSON");
    let answer = client.ask("textDocument/hover", json!({ "textDocument": 5 }));
    expect_error(&answer, -32602, "");
    let answer = client.ask("workspace/makeTea", json!({}));
    expect_error(&answer, -32601, "`workspace/makeTea` is not known");
    client.tell("workspace/makeTea", json!({}));
    client.tell("textDocument/didOpen", json!("nothing"));
    assert!(client.leave());
}

#[test]
fn a_message_beyond_the_limit_is_passed_over() {
    let mut client = Client::new();
    let length = 16 * 1024 * 1024 + 1;
    let head = format!("Content-Length: {length}\r\n\r\n");
    client.to.write_all(head.as_bytes()).expect("it listens");
    client
        .to
        .write_all(&vec![b' '; length])
        .expect("it listens");
    expect_error(&client.receive(), -32600, "at most 16777216 are read");
    assert!(client.leave());
}

#[test]
fn what_is_not_open_is_not_answered() {
    let root = rulesets("unopened");
    let house = root.join("skerry/house.rules");
    let text = fs::read_to_string(&house).expect("its text");
    let mut client = Client::new();
    let answer = client.ask_at("textDocument/hover", &house, &text, "turf");
    expect_error(&answer, -32602, "is not open");
    client.change(&house, 2, "nothing");
    let document = json!({ "textDocument": { "uri": "untitled:one" }, "position": { "line": 0, "character": 0 } });
    let answer = client.ask("textDocument/hover", document);
    expect_error(&answer, -32602, "is not a file on this machine");
    assert!(client.leave());
}

#[test]
fn order_is_kept() {
    let mut client = Client::silent();
    let answer = client.ask("textDocument/hover", json!({}));
    expect_error(&answer, -32002, "`initialize` comes first");
    client.ask("initialize", json!({ "capabilities": {} }));
    let answer = client.ask("initialize", json!({ "capabilities": {} }));
    expect_error(&answer, -32600, "came before");
    client.ask("shutdown", Value::Null);
    let answer = client.ask("textDocument/hover", json!({}));
    expect_error(&answer, -32600, "only `exit` follows");
    client.tell("exit", Value::Null);
    assert!(client.service.join().expect("it does not panic"));
}

#[test]
fn a_folder_that_vanishes_is_said_and_comes_back() {
    let file = one_file("vanishing", "ruleset house\n\nlet one : length = 1 in\n");
    let folder = file.parent().expect("its folder");
    let text = fs::read_to_string(&file).expect("its text");
    let mut client = Client::new();
    client.open(&file);
    client.findings(&file, 1);
    fs::remove_dir_all(folder).expect("it goes");
    client.change(&file, 2, &text);
    let findings = client.findings(&file, 2);
    let said = findings[0]["message"].as_str().expect("a message");
    assert!(said.contains("is not there"), "{said}");
    let answer = client.ask_at("textDocument/hover", &file, &text, "one");
    expect_error(&answer, -32803, "is not there");
    fs::create_dir_all(folder).expect("it comes back");
    client.change(&file, 3, &text);
    assert!(!errors(&client.findings(&file, 3)).is_empty());
    let answer = client.ask_at("textDocument/hover", &file, &text, "one");
    assert!(answer["result"].is_object(), "{answer}");
    assert!(client.leave());
}

#[test]
fn rules_that_build_on_nobody_say_so_at_the_open_file() {
    let file = one_file("alone", "ruleset house\n  builds on nobody\n");
    let mut client = Client::new();
    client.open(&file);
    let findings = client.findings(&file, 1);
    let said = findings[0]["message"].as_str().expect("a message");
    assert!(said.contains("`nobody`"), "{said}");
    assert!(client.leave());
}

#[test]
fn a_file_beyond_the_limit_is_a_finding() {
    let file = one_file("too-large", "ruleset house\n");
    let mut client = Client::new();
    let line = "# A line of a comment that goes on and on.\n";
    client.open_as(&file, &format!("ruleset house\n{}", line.repeat(30_000)));
    let findings = client.findings(&file, 1);
    assert!(errors(&findings).contains(&"L0001"), "{findings:#?}");
    assert!(client.leave());
}

#[test]
fn a_file_that_is_none_of_rules_is_left_alone() {
    let file = one_file("other-file", "ruleset house\n");
    let other = file.with_file_name("notes.txt");
    let mut client = Client::new();
    client.open_as(&other, "let nonsense\n");
    assert!(client.findings(&other, 1).is_empty());
    let answer = client.ask_at("textDocument/hover", &other, "let nonsense\n", "nonsense");
    expect_error(&answer, -32803, "is not a file of rules");
    let nowhere = Path::new("/no-such-folder/at-all/one.rules");
    client.open_as(nowhere, "ruleset one\n");
    assert_eq!(client.findings(nowhere, 1).len(), 1);
    let document = json!({ "textDocument": { "uri": uri(nowhere) } });
    let answer = client.ask("textDocument/documentSymbol", document);
    expect_error(&answer, -32803, "is not there");
    assert!(client.leave());
}
