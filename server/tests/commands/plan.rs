//! `plan`: the demo's week, rosters with faults, and the page about rosters.

use std::fs;

use serde_json::Value;

use crate::support::{assert_exit, folder_with, loftwright, path_text, rulesets};

fn printed(arguments: &[&str]) -> String {
    let output = loftwright(arguments);
    assert_exit(&output, 0);
    assert!(output.stderr.is_empty(), "{:?}", output.stderr);
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn demo_week(more: &[&str]) -> String {
    let roster = rulesets().join("demo/rosters/open-week.toml");
    let mut arguments = vec!["plan", path_text(&roster), "--on", "2026-04-28"];
    arguments.extend(more);
    printed(&arguments)
}

#[test]
fn the_demos_week_is_planned_and_its_json_says_the_same() {
    let text = demo_week(&[]);
    let json = demo_week(&["--json"]);
    assert_eq!(json, demo_week(&["--json"]));
    let plan: Value = serde_json::from_str(&json).expect("JSON");
    let players = plan["players"].as_array().expect("players");
    assert_eq!(players.len(), 11);
    let days: Vec<&str> = players
        .iter()
        .filter_map(|one| one["on"].as_str())
        .collect();
    assert!(days.is_sorted(), "{days:?}");
    let drawers = plan["drawers"].as_array().expect("drawers");
    let number = |value: &Value| value.as_i64().expect("a number");
    for drawer in drawers {
        let part = drawer["part"].as_str().expect("a code");
        assert!(
            text.contains(&format!("  {part} ")),
            "{part} is in no table"
        );
        // What is drawn was there, and what is to be loaded is there or ordered.
        assert!(
            number(&drawer["drawn"]) <= number(&drawer["on_hand"]),
            "{drawer}"
        );
        let have = number(&drawer["on_hand"]) + number(&drawer["order"]);
        assert!(number(&drawer["load"]) <= have, "{drawer}");
        let is_ordered = number(&drawer["order"]) > 0;
        assert_eq!(drawer["needed_on"].is_string(), is_ordered, "{drawer}");
    }
    // Only those who come for certain take something.
    let certain = players.iter().filter(|one| one["chance"]["exact"] == "1");
    let taken: usize = certain
        .flat_map(|one| one["takes"].as_array().expect("takes"))
        .filter(|taking| taking["is_ordered"] == false)
        .count();
    let drawn: i64 = drawers.iter().map(|drawer| number(&drawer["drawn"])).sum();
    assert_eq!(i64::try_from(taken), Ok(drawn));
    // The second twin, who would have what the first has, finds something else or has it ordered.
    assert!(text.contains("next best: "), "{text}");
}

#[test]
fn more_confidence_never_loads_less() {
    let loads = |confidence: &str| -> Vec<(String, i64)> {
        let plan = demo_week(&["--json", "--confidence", confidence]);
        let plan: Value = serde_json::from_str(&plan).expect("JSON");
        let drawers = plan["drawers"].as_array().expect("drawers").iter();
        drawers
            .map(|drawer| {
                let part = drawer["part"].as_str().expect("a code").to_owned();
                (part, drawer["load"].as_i64().expect("a number"))
            })
            .collect()
    };
    let (half, most) = (loads("50%"), loads("99.9 percent"));
    assert_eq!(half.len(), most.len());
    assert!(half.iter().zip(&most).all(|(one, other)| one.1 <= other.1));
    assert_ne!(half, most);
    for wrong in ["0", "101 percent", "-5%", "much", "3 in"] {
        let roster = rulesets().join("demo/rosters/open-week.toml");
        let said = loftwright(&["plan", path_text(&roster), "--confidence", wrong]);
        assert_exit(&said, 2);
    }
}

const FAULTY: &str = r#"titel = "A week"
from = "2026-02-30"
horizon = "0 days"

[[player]]
file = "nobody.toml"
chance = "150 percent"
on = "tomorrow"

[[player]]
wants = ["wegde", "iron"]
chnace = "50 percent"
chance = 0.5
[player.readings]
height = "5 ft 40 kg"
handicapp = "12"

[[player]]
file = "broken.toml"

[[player]]
name = "nothing else"

[[player]]
file = "other.toml"
[player.readings]
height = "5 ft 10 in"
"#;

#[test]
fn a_roster_with_faults_is_bad_input_and_all_of_them_are_named() {
    folder_with("faulty-roster", "broken.toml", "height = [\n");
    folder_with("faulty-roster", "other.toml", "");
    let folder = folder_with("faulty-roster", "roster.toml", FAULTY);
    let output = loftwright(&["plan", path_text(&folder.join("roster.toml"))]);
    assert_exit(&output, 2);
    assert!(output.stdout.is_empty());
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let said = said.replace(&format!("{}/", folder.display()), "");
    for fault in [
        "roster.toml:1: titel: there is no key `titel`; allowed are `title`, `ruleset`, `from`, \
         `horizon`, `player`; did you mean `title`?",
        "roster.toml:2: from: `2026-02-30` is not a date",
        "roster.toml:3: horizon: `0 days` is out of range",
        "roster.toml:6: player[1].file: `nobody.toml` is not there",
        "roster.toml:7: player[1].chance: `150 percent` is out of range; a chance above `0 \
         percent` and of at most `100 percent` is allowed",
        "roster.toml:8: player[1].on: `tomorrow` is not a date; a date such as `2026-05-01` is \
         needed",
        "roster.toml:11: player[2].wants: `wegde` is not a kind of club; allowed are `driver`, \
         `fairway`, `hybrid`, `iron`, `wedge`, `putter`; did you mean `wedge`?",
        "roster.toml:12: player[2].chnace: there is no key `chnace`",
        "roster.toml:13: player[2].chance: `0.5` is a float of TOML",
        "roster.toml:15: player[2].readings.height: ",
        "roster.toml:16: player[2].readings.handicapp: ",
        "did you mean `handicap`?",
        "broken.toml:1: is not TOML here: ",
        "roster.toml:21: player[4]: neither `file`, the path of a player's file, nor `readings` is \
         here",
        "roster.toml:25: player[5].file: the player stands in a file of his own or in the roster; \
         `readings` is here too",
    ] {
        assert!(said.contains(fault), "`{fault}` is missing in:\n{said}");
    }
    let empty = folder_with("empty-roster", "roster.toml", "title = \"Nobody\"\n");
    let output = loftwright(&["plan", path_text(&empty.join("roster.toml"))]);
    assert_exit(&output, 2);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("holds no player"), "{said}");
}

/// The rosters of the reference's page are planned, and what stands below them is said.
#[test]
fn the_page_about_rosters_does_what_it_says() {
    let page = rulesets().join("../dsl/reference/rosters.md");
    let page = fs::read_to_string(page).expect("the page");
    let mut lines = page.lines();
    let mut said = String::new();
    let mut count = 0;
    while let Some(line) = lines.next() {
        let Some(mark) = line.strip_prefix("```") else {
            continue;
        };
        let inside: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
        match mark {
            "roster" => {
                let folder = folder_with("page-roster", "roster.toml", &inside.join("\n"));
                let roster = folder.join("roster.toml");
                said = printed(&["plan", path_text(&roster), "--on", "2026-05-01"]);
                count += 1;
            }
            "output" => {
                for line in inside {
                    assert!(said.contains(line), "`{line}` is not said:\n{said}");
                }
            }
            _ => panic!("`{mark}` is no kind of block"),
        }
    }
    assert!(count > 0);
}
