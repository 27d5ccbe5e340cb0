//! The program itself, from its start to its exit code.

use std::io::{BufReader, Write};
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};

use super::{one_file, receive, uri};

fn start() -> Child {
    Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .arg("editor")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

fn write(child: &mut Child, message: &Value) {
    let text = message.to_string();
    let frame = format!("Content-Length: {}\r\n\r\n{text}", text.len());
    let input = child.stdin.as_mut().expect("its input");
    input.write_all(frame.as_bytes()).expect("it listens");
}

#[test]
fn a_session_with_the_program_ends_with_exit_code_0() {
    let file = one_file("process", "ruleset house\n\nlet one : length = 1 deg\n");
    let mut child = start();
    let mut from = BufReader::new(child.stdout.take().expect("its output"));
    write(
        &mut child,
        &json!({ "jsonrpc": "2.0", "id": 1, "method": "initialize", "params": { "capabilities": {} } }),
    );
    assert_eq!(receive(&mut from).expect("an answer")["id"], 1);
    let document = json!({ "uri": uri(&file), "languageId": "loftwright", "version": 1, "text": "ruleset house\n\nlet one : length = 1 deg\n" });
    write(
        &mut child,
        &json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen", "params": { "textDocument": document } }),
    );
    let told = receive(&mut from).expect("its findings");
    let said = told["params"]["diagnostics"].to_string();
    assert!(said.contains("L0303"), "{said}");
    write(
        &mut child,
        &json!({ "jsonrpc": "2.0", "id": "two", "method": "shutdown" }),
    );
    assert_eq!(receive(&mut from).expect("an answer")["id"], "two");
    write(&mut child, &json!({ "jsonrpc": "2.0", "method": "exit" }));
    let ended = child.wait_with_output().expect("it ends");
    assert_eq!(ended.status.code(), Some(0));
    let said = String::from_utf8_lossy(&ended.stderr);
    assert!(said.is_empty(), "{said}");
}

#[test]
fn an_exit_or_an_end_without_shutdown_is_exit_code_1() {
    let mut child = start();
    write(&mut child, &json!({ "jsonrpc": "2.0", "method": "exit" }));
    assert_eq!(child.wait().expect("it ends").code(), Some(1));
    let mut child = start();
    drop(child.stdin.take());
    assert_eq!(child.wait().expect("it ends").code(), Some(1));
}

#[test]
fn the_grammar_is_printed_as_it_is_kept() {
    let printed = Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .args(["editor", "--grammar"])
        .output()
        .expect("the program runs");
    assert!(printed.status.success());
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/editor/loftwright.tmLanguage.json"
    );
    let printed = String::from_utf8(printed.stdout).expect("text");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(path, &printed).expect("it is written");
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(printed == kept, "{path} has drifted: UPDATE=1 rewrites it");
    let grammar: Value = serde_json::from_str(&printed).expect("JSON");
    assert_eq!(grammar["scopeName"], "source.loftwright");
}
