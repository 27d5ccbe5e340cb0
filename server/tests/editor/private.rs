//! Nothing of a player is in any answer of the editor: neither of the files of players and of the
//! record that lie beside the rules, nor of the cases, which are players too.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use super::{Client, empty, uri};

/// In a player's file and in the record beside the rules.
const OUTSIDE: [&str; 3] = ["planted-subject-7741", "2 3/16 in", "31.5 kg"];
/// In a case, whose own lines an editor shows and nothing else.
const IN_A_CASE: [&str; 3] = ["17.25 kg", "3 7/16 in", "5 ft 1 7/16 in"];

const HOUSE: &str = "ruleset house
  title \"A house\"
  language 1
  builds on saltmarsh

decide of_growth : flag
  source common practice
  by growth_in_twelve_months, if unknown gives no
    under 2 in gives yes
    otherwise gives no

decide of_mass : flag
  source common practice
  by body_mass, if unknown gives no
    under 30 kg gives yes
    otherwise gives no

decide of_age : flag
  source common practice
  by age and pain and sore_hands and guardian_agreed, first, if unknown gives no
    under 8 and no and no and yes gives yes
    otherwise gives no
";

const CASES: &str = "case \"a child that grows\"
  given  age = 7
  given  pain = no
  given  body_mass = 17.25 kg
  given  growth_in_twelve_months = 3 7/16 in
  given  height = 5 ft 1 7/16 in
  expect of_growth = no
";

/// The rules of the house with all that must stay where it is, and the file of the house.
fn folder() -> std::path::PathBuf {
    let root = empty("private_values");
    let house = root.join("house");
    fs::create_dir_all(house.join("data")).expect("a folder");
    fs::write(house.join("house.rules"), HOUSE).expect("a file");
    fs::write(house.join("cases.rules"), CASES).expect("a file");
    let player = format!(
        "ruleset = \"house\"\nsubject = \"{}\"\n\n[readings]\ngrowth_in_twelve_months = \"{}\"\n\
         body_mass = \"{}\"\n",
        OUTSIDE[0], OUTSIDE[1], OUTSIDE[2]
    );
    for path in [
        "player.toml",
        "house/player.toml",
        "house/data/record.sqlite",
    ] {
        fs::write(root.join(path), &player).expect("a file");
    }
    house
}

/// Asks everything about every word of a file.
fn asked(client: &mut Client, path: &Path, text: &str) -> Vec<Value> {
    let mut answers = Vec::new();
    let document = json!({ "uri": uri(path) });
    for (line, content) in text.lines().enumerate() {
        let starts = content
            .char_indices()
            .zip([' '].into_iter().chain(content.chars()));
        let starts = starts.filter(|((_, sign), before)| sign.is_alphanumeric() && *before == ' ');
        for ((column, _), _) in starts {
            for method in [
                "hover",
                "completion",
                "definition",
                "references",
                "prepareRename",
            ] {
                let position = json!({ "line": line, "character": column });
                let asked = json!({
                    "textDocument": document, "position": position,
                    "context": { "includeDeclaration": true },
                });
                answers.push(client.ask(&format!("textDocument/{method}"), asked));
            }
        }
    }
    for method in ["documentSymbol", "formatting"] {
        let options = json!({ "tabSize": 2, "insertSpaces": true });
        let asked = json!({ "textDocument": document, "options": options });
        answers.push(client.ask(&format!("textDocument/{method}"), asked));
    }
    answers.push(client.ask("workspace/symbol", json!({ "query": "" })));
    answers
}

fn found(answers: &[Value], planted: &[&str]) -> BTreeSet<String> {
    let text: Vec<String> = answers.iter().map(Value::to_string).collect();
    let is_found = |value: &&&str| text.iter().any(|answer| answer.contains(**value));
    planted
        .iter()
        .filter(is_found)
        .map(|value| (*value).to_owned())
        .collect()
}

#[test]
fn no_answer_of_the_editor_holds_anything_of_a_player() {
    let house = folder();
    let (rules, cases) = (house.join("house.rules"), house.join("cases.rules"));
    let mut client = Client::new();
    client.open(&rules);
    client.open(&cases);
    for path in [&rules, &cases] {
        assert_eq!(client.findings(path, 1), Vec::<Value>::new());
    }
    let mut answers = asked(&mut client, &rules, HOUSE);
    let hovers = answers.iter().map(Value::to_string);
    assert!(hovers.filter(|answer| answer.contains(", private")).count() >= 6);
    assert_eq!(found(&answers, &IN_A_CASE), BTreeSet::new());
    answers.extend(asked(&mut client, &cases, CASES));
    answers.append(&mut client.told);
    assert!(answers.len() > 100, "{}", answers.len());
    assert_eq!(found(&answers, &OUTSIDE), BTreeSet::new());
    assert!(client.leave());
}
