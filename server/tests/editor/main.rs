//! The editor service as its clients meet it: JSON-RPC frames in, JSON-RPC frames out.

#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a panic is how a test fails"
)]

mod asking;
mod completing;
mod faults;
mod formatting;
mod private;
mod process;
mod renaming;
mod typing;

use std::fs;
use std::io::{BufRead, BufReader, PipeWriter, Write, pipe};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use loftwright_server::editor::serve;
use serde_json::{Value, json};

/// After this a service that says nothing has failed the test.
const LONGEST_WAIT: Duration = Duration::from_secs(100);

/// A client with a service of its own.
struct Client {
    to: PipeWriter,
    from: Receiver<Value>,
    service: JoinHandle<bool>,
    last_id: i32,
    /// What the service said without being asked, oldest first.
    told: Vec<Value>,
}

impl Client {
    /// A client that has shaken hands, and offers these position encodings.
    fn with_encodings(encodings: &[&str]) -> Self {
        let mut client = Client::silent();
        let capabilities = json!({ "general": { "positionEncodings": encodings } });
        let answer = client.ask("initialize", json!({ "capabilities": capabilities }));
        assert!(
            answer["result"]["capabilities"]["hoverProvider"] == true,
            "{answer}"
        );
        client.tell("initialized", json!({}));
        client
    }

    fn new() -> Self {
        Client::with_encodings(&["utf-16"])
    }

    /// A client that has said nothing yet.
    fn silent() -> Self {
        let (input, to) = pipe().expect("a pipe");
        let (from, output) = pipe().expect("a pipe");
        Client {
            to,
            from: received(BufReader::new(from)),
            service: std::thread::spawn(move || serve(input, output, Vec::new())),
            last_id: 0,
            told: Vec::new(),
        }
    }

    fn send(&mut self, message: &Value) {
        self.send_text(&message.to_string());
    }

    fn send_text(&mut self, text: &str) {
        let frame = format!("Content-Length: {}\r\n\r\n{text}", text.len());
        self.to.write_all(frame.as_bytes()).expect("it listens");
    }

    fn receive(&mut self) -> Value {
        let answer = self.from.recv_timeout(LONGEST_WAIT);
        answer.expect("it says something in time")
    }

    fn tell(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// The whole response to a request.
    fn ask(&mut self, method: &str, params: Value) -> Value {
        self.last_id += 1;
        let id = self.last_id;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        loop {
            let message = self.receive();
            if message["id"] == id && message.get("method").is_none() {
                return message;
            }
            self.told.push(message);
        }
    }

    fn open(&mut self, path: &Path) {
        let text = fs::read_to_string(path).expect("its text");
        self.open_as(path, &text);
    }

    fn open_as(&mut self, path: &Path, text: &str) {
        let document = json!({
            "uri": uri(path), "languageId": "loftwright", "version": 1, "text": text,
        });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    /// The whole text anew.
    fn change(&mut self, path: &Path, version: i32, text: &str) {
        self.change_by(path, version, json!([{ "text": text }]));
    }

    fn change_by(&mut self, path: &Path, version: i32, changes: Value) {
        let document = json!({ "uri": uri(path), "version": version });
        let params = json!({ "textDocument": document, "contentChanges": changes });
        self.tell("textDocument/didChange", params);
    }

    /// The findings of a version of a file, once they are told.
    fn findings(&mut self, path: &Path, version: i32) -> Vec<Value> {
        self.findings_of(path, &json!(version))
    }

    /// The findings of a file that is not open, once they are told.
    fn findings_on_disk(&mut self, path: &Path) -> Vec<Value> {
        self.findings_of(path, &Value::Null)
    }

    fn findings_of(&mut self, path: &Path, version: &Value) -> Vec<Value> {
        let wanted = json!(uri(path));
        let is_it = |message: &Value| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == wanted
                && message["params"]["version"] == *version
        };
        loop {
            if let Some(found) = self.told.iter().find(|message| is_it(message)) {
                let found = found["params"]["diagnostics"].as_array();
                return found.expect("a list").clone();
            }
            let message = self.receive();
            self.told.push(message);
        }
    }

    /// Asks about the place of a text in a file, at its first byte.
    fn ask_at(&mut self, method: &str, path: &Path, text: &str, place: &str) -> Value {
        let offset = text.find(place).unwrap_or_else(|| panic!("no {place}"));
        let before = text.get(..offset).expect("a place");
        let line = before.matches('\n').count();
        let column = before.rsplit('\n').next().unwrap_or_default();
        let position = json!({ "line": line, "character": column.encode_utf16().count() });
        let document = json!({ "uri": uri(path) });
        let params = json!({
            "textDocument": document, "position": position,
            "context": { "includeDeclaration": true }, "newName": "other",
        });
        self.ask(method, params)
    }

    /// Takes leave as the protocol asks; whether the service saw it so.
    fn leave(mut self) -> bool {
        let answer = self.ask("shutdown", Value::Null);
        assert!(answer.get("result").is_some_and(Value::is_null), "{answer}");
        self.tell("exit", Value::Null);
        self.service.join().expect("it does not panic")
    }
}

/// The messages of a service, read by a thread of its own, so that a wait for one can end.
fn received(mut from: impl BufRead + Send + 'static) -> Receiver<Value> {
    let (to, messages) = channel();
    std::thread::spawn(move || {
        while let Some(message) = receive(&mut from)
            && to.send(message).is_ok()
        {}
    });
    messages
}

/// The next message of a service; none where it has ended.
fn receive(from: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if from.read_line(&mut line).expect("a line") == 0 {
            return None;
        }
        match line.trim_end().split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().expect("a number"),
            Some(_) => {}
            None => break,
        }
    }
    let mut content = vec![0; length];
    from.read_exact(&mut content).expect("the content");
    Some(serde_json::from_slice(&content).expect("JSON"))
}

/// The paths of these tests need no escapes.
fn uri(path: &Path) -> String {
    format!("file://{}", path.display())
}

/// A folder of its own for one test, with the trade's rules and the house's beside each other.
fn rulesets(test: &str) -> PathBuf {
    let root = empty(test);
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("../rulesets");
    for name in ["common", "skerry"] {
        let to = root.join(name);
        fs::create_dir_all(&to).expect("a folder");
        for entry in fs::read_dir(from.join(name)).expect("the rules") {
            let file = entry.expect("an entry").path();
            let name = file.file_name().expect("a name");
            fs::copy(&file, to.join(name)).expect("a copy");
        }
    }
    root
}

/// A folder with one file of rules that builds on nothing.
fn one_file(test: &str, text: &str) -> PathBuf {
    let folder = empty(test).join("house");
    fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join("house.rules");
    fs::write(&file, text).expect("a file");
    file
}

fn empty(test: &str) -> PathBuf {
    let root = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("editor")
        .join(test);
    if root.exists() {
        fs::remove_dir_all(&root).expect("what an earlier run left");
    }
    fs::create_dir_all(&root).expect("a folder");
    root.canonicalize().expect("its path")
}

/// The codes of the errors among findings.
fn errors(findings: &[Value]) -> Vec<&str> {
    let errors = findings.iter().filter(|finding| finding["severity"] == 1);
    errors
        .filter_map(|finding| finding["code"].as_str())
        .collect()
}
