//! Names changed in a whole folder.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::{Client, errors, rulesets, uri};

/// The texts of a folder's files after the edits of an answer.
fn edited(folder: &Path, answer: &Value) -> BTreeMap<PathBuf, String> {
    let mut texts = BTreeMap::new();
    for (file, edits) in answer["result"]["changes"].as_object().expect("changes") {
        let path = PathBuf::from(file.strip_prefix("file://").expect("a file"));
        assert!(path.starts_with(folder), "{file}");
        let text = fs::read_to_string(&path).expect("its text");
        let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
        let number =
            |value: &Value| usize::try_from(value.as_u64().expect("a number")).expect("it");
        // From the last to the first, each within a line; the rules are ASCII.
        for edit in edits.as_array().expect("a list").iter().rev() {
            let (start, end) = (&edit["range"]["start"], &edit["range"]["end"]);
            assert_eq!(start["line"], end["line"]);
            let columns = number(&start["character"])..number(&end["character"]);
            let line = &mut lines[number(&start["line"])];
            line.replace_range(columns, edit["newText"].as_str().expect("a text"));
        }
        texts.insert(path, lines.join("\n"));
    }
    texts
}

#[test]
fn a_renamed_input_is_renamed_everywhere_and_the_folder_checks_the_same() {
    let root = rulesets("rename");
    let (folder, house) = (root.join("skerry"), root.join("skerry/house.rules"));
    let text = fs::read_to_string(&house).expect("its text");
    let mut client = Client::new();
    client.open(&house);
    let answer = client.ask_at(
        "textDocument/prepareRename",
        &house,
        &text,
        "bunker_sand and",
    );
    assert_eq!(answer["result"]["placeholder"], "bunker_sand", "{answer}");
    let answer = client.ask_at("textDocument/rename", &house, &text, "bunker_sand and");
    let texts = edited(&folder, &answer);
    assert_eq!(texts.len(), 2);
    for (path, new) in &texts {
        let old = fs::read_to_string(path).expect("its text");
        // Only the three cases, the table and the declaration speak of it by this word.
        let expected = old
            .replace("input bunker_sand ", "input other ")
            .replace("given  bunker_sand ", "given  other ")
            .replace("by bunker_sand ", "by other ")
            .replace("soft?\"\n", "soft?\"\n  formerly bunker_sand\n");
        assert_eq!(*new, expected, "{}", path.display());
        fs::write(path, new).expect("it is saved");
    }
    let renamed = texts.get(&house).expect("the house");
    client.change(&house, 2, renamed);
    let files = json!({ "changes": [{ "uri": uri(&folder.join("cases.rules")), "type": 2 }] });
    client.tell("workspace/didChangeWatchedFiles", files);
    assert!(errors(&client.findings(&house, 2)).is_empty());
    assert!(client.leave());
}

#[test]
fn a_name_that_cannot_be_changed_is_refused_with_the_reason() {
    let root = rulesets("refused");
    let house = root.join("skerry/house.rules");
    let text = fs::read_to_string(&house).expect("its text");
    let mut client = Client::new();
    client.open(&house);
    let mut expect = |method: &str, place: &str, said: &str| {
        let answer = client.ask_at(&format!("textDocument/{method}"), &house, &text, place);
        let message = answer["error"]["message"].as_str();
        let message = message.unwrap_or_else(|| panic!("{place}: {answer}"));
        assert!(message.contains(said), "{message}");
    };
    expect(
        "prepareRename",
        "steepness\n",
        "belongs to `common`, a layer below",
    );
    expect(
        "prepareRename",
        "wedge_bounce",
        "belongs to `common`, a layer below",
    );
    expect("rename", "wedge\n", "belongs to `common`, a layer below");
    let at_name = |new: &str| {
        json!({
            "textDocument": { "uri": uri(&house) }, "position": { "line": 5, "character": 7 },
            "newName": new,
        })
    };
    for (new, said) in [
        ("within", "a word of the language"),
        ("Turf", "is no name"),
        ("steepness", "is the name of another let"),
    ] {
        let answer = client.ask("textDocument/rename", at_name(new));
        let message = answer["error"]["message"].as_str().expect("a refusal");
        assert!(message.contains(said), "{message}");
    }
    // A keyword is no name at all.
    let answer = client.ask_at("textDocument/prepareRename", &house, &text, "gives low");
    assert_eq!(answer["result"], Value::Null);
    assert!(client.leave());
}
