//! What is said of names, and where they stand.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use super::{Client, rulesets, uri};

fn opened(test: &str, file: &str) -> (Client, std::path::PathBuf, String) {
    let path = rulesets(test).join(file);
    let text = fs::read_to_string(&path).expect("its text");
    let mut client = Client::new();
    client.open(&path);
    (client, path, text)
}

fn hover_text(client: &mut Client, path: &Path, text: &str, place: &str) -> String {
    let answer = client.ask_at("textDocument/hover", path, text, place);
    assert_eq!(answer["result"]["contents"]["kind"], "markdown", "{answer}");
    let value = answer["result"]["contents"]["value"].as_str();
    value.expect("a text").to_owned()
}

#[test]
fn a_hover_says_what_a_name_is_and_what_rests_on_it() {
    let (mut client, path, text) = opened("hover", "skerry/house.rules");
    let said = hover_text(&mut client, &path, &text, "wedge_bounce");
    for part in [
        "decide wedge\\_bounce : bounce\\_class, for each wedge",
        "decision, type `bounce_class`",
        "Source: common practice",
        "Layer: `skerry`, replaces that of `common`",
        " cases",
    ] {
        let part = if part.starts_with("decide") {
            part.replace('\\', "")
        } else {
            part.to_owned()
        };
        assert!(said.contains(&part), "{part} is missing in: {said}");
    }
    // What the house declares is replaced by nobody.
    assert!(!said.contains("stands on"), "{said}");
    let said = hover_text(&mut client, &path, &text, "steepness\n");
    let (_, digits) = said
        .split_once("a replacement stands on `\"")
        .expect("digits");
    let (digits, _) = digits.split_once("\"`").expect("digits");
    assert!(digits.len() == 8 && digits.bytes().all(|digit| digit.is_ascii_hexdigit()));
    assert!(said.contains("let steepness : angle"), "{said}");
    assert!(said.contains("shown in `deg`"), "{said}");
    assert!(said.contains("`wedge_bounce`"), "{said}");
    let said = hover_text(&mut client, &path, &text, "bunker_sand and");
    assert!(said.contains("input bunker_sand : sand_kind"), "{said}");
    assert!(said.contains("How is the sand of the bunkers"), "{said}");
    // Nothing is declared in a question.
    let answer = client.ask_at("textDocument/hover", &path, &text, "sand of the bunkers");
    assert_eq!(answer["result"], Value::Null);
    assert!(client.leave());
}

#[test]
fn a_private_reading_shows_its_declaration_alone() {
    let (mut client, path, text) = opened("private", "common/body.rules");
    let place = text.find("private").expect("a private input");
    let header = text
        .get(..place)
        .expect("before")
        .rfind("input ")
        .expect("its header");
    let name = text
        .get(header + 6..)
        .expect("its name")
        .split(' ')
        .next()
        .expect("a name");
    let said = hover_text(&mut client, &path, &text, &format!("{name} "));
    assert!(said.contains(", private"), "{said}");
    assert!(client.leave());
}

#[test]
fn a_definition_is_found_in_the_layer_that_has_it() {
    let (mut client, path, text) = opened("definition", "skerry/house.rules");
    let root = path.parent().and_then(Path::parent).expect("the rulesets");
    let answer = client.ask_at("textDocument/definition", &path, &text, "steepness\n");
    let expected = uri(&root.join("common/wedges.rules"));
    assert_eq!(answer["result"]["uri"], expected, "{answer}");
    // At a declaration that replaces another: what is replaced.
    let answer = client.ask_at("textDocument/definition", &path, &text, "wedge_bounce");
    let expected = uri(&root.join("common/wedges.rules"));
    assert_eq!(answer["result"]["uri"], expected, "{answer}");
    // A value of a vocabulary is declared with it.
    let answer = client.ask_at(
        "textDocument/definition",
        &path,
        &text,
        "soft        and yes",
    );
    assert_eq!(answer["result"]["uri"], uri(&path));
    assert_eq!(
        answer["result"]["range"]["start"],
        json!({ "line": 2, "character": 26 })
    );
    let answer = client.ask_at("textDocument/definition", &path, &text, "wedge\n  about");
    let expected = uri(&root.join("common/set.rules"));
    assert_eq!(answer["result"]["uri"], expected, "{answer}");
    assert!(client.leave());
}

/// What the program itself carries is in no file: the hover quotes it.
#[test]
fn what_the_engine_declares_is_quoted() {
    let (mut client, path, text) = opened("engine", "common/set.rules");
    let place = "planned where kind is wedge";
    let answer = client.ask_at("textDocument/definition", &path, &text, place);
    assert_eq!(answer["result"], Value::Null);
    let said = hover_text(&mut client, &path, &text, place);
    assert!(
        said.contains("group planned, made by make_up from candidate"),
        "{said}"
    );
    let answer = client.ask_at("textDocument/prepareRename", &path, &text, place);
    let message = answer["error"]["message"].as_str().expect("a refusal");
    assert!(
        message.contains("belongs to `contract`, a layer below"),
        "{message}"
    );
    assert!(client.leave());
}

#[test]
fn references_are_found_in_all_files_and_layers() {
    let (mut client, path, text) = opened("references", "skerry/house.rules");
    let answer = client.ask_at("textDocument/references", &path, &text, "bunker_sand and");
    let places = answer["result"].as_array().expect("a list");
    let of = |name: &str| {
        let ends = |place: &&Value| place["uri"].as_str().is_some_and(|uri| uri.ends_with(name));
        places.iter().filter(ends).count()
    };
    // The declaration and the table; three cases.
    assert_eq!(
        (of("house.rules"), of("cases.rules")),
        (2, 3),
        "{places:#?}"
    );
    let answer = client.ask_at("textDocument/references", &path, &text, "driver_length");
    let places = answer["result"].as_array().expect("a list");
    let in_layer = |name: &str| {
        let is_in = |place: &&Value| place["uri"].as_str().is_some_and(|uri| uri.contains(name));
        places.iter().filter(is_in).count()
    };
    assert!(
        in_layer("/skerry/") >= 2 && in_layer("/common/") >= 2,
        "{places:#?}"
    );
    assert!(client.leave());
}

#[test]
fn a_client_that_can_is_asked_to_watch_the_rules_on_disk() {
    let mut client = Client::silent();
    let watched = json!({ "didChangeWatchedFiles": { "dynamicRegistration": true } });
    let capabilities = json!({ "workspace": watched });
    client.ask("initialize", json!({ "capabilities": capabilities }));
    client.tell("initialized", json!({}));
    let asked = client.receive();
    assert_eq!(asked["method"], "client/registerCapability");
    let registration = &asked["params"]["registrations"][0];
    assert_eq!(registration["method"], "workspace/didChangeWatchedFiles");
    client.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "result": null }));
    assert!(client.leave());
}

#[test]
fn a_file_is_outlined() {
    let (mut client, path, _) = opened("outline", "skerry/house.rules");
    let document = json!({ "textDocument": { "uri": uri(&path) } });
    let answer = client.ask("textDocument/documentSymbol", document);
    let symbols = answer["result"].as_array().expect("a list");
    let names: Vec<&str> = symbols
        .iter()
        .filter_map(|symbol| symbol["name"].as_str())
        .collect();
    let expected = [
        "sand_kind",
        "finish",
        "bunker_sand",
        "plays_by_the_sea",
        "is_sand_wedge",
        "wedge_bounce",
        "wedge_finish",
        "driver_length",
        "cure_overnight",
    ];
    assert_eq!(names, expected);
    let values = symbols[0]["children"].as_array().expect("its values");
    assert_eq!(values.len(), 2);
    assert!(client.leave());
}
