//! Player files.

use loftwright_dsl::program::Value;
use loftwright_dsl::quantity::Rational;
use loftwright_engine::player::Player;
use loftwright_server::files::{FileFaultKind, PlayerFile, report};

use crate::support::program;

fn read(text: &str) -> Result<Player, Vec<String>> {
    let file = PlayerFile::parse("one.toml", text).map_err(|faults| report(&faults))?;
    file.player(&program()).map_err(|faults| report(&faults))
}

fn faults(text: &str) -> Vec<String> {
    match read(text) {
        Ok(player) => panic!("{player:?}"),
        Err(lines) => lines,
    }
}

fn kinds(text: &str) -> Vec<FileFaultKind> {
    let faults = match PlayerFile::parse("one.toml", text) {
        Ok(file) => file.player(&program()).expect_err("faults"),
        Err(faults) => faults,
    };
    faults.iter().map(|fault| fault.kind).collect()
}

#[test]
fn a_whole_file_is_read() {
    let text = r#"
ruleset = "house"
subject = "one"

[readings]
height = "5 ft 10 in"
age = 41
sore_hands = false
first_visit = 2026-05-01
wedge_aoa = { value = "-6.5 deg", spread = "1 deg", shots = 7 }

[[kept]]
kind = "putter"
length = "34 in"

[[kept]]
kind = "iron"
loft = "30 deg"
length = "37 1/2 in"
"#;
    let file = PlayerFile::parse("one.toml", text).expect("TOML");
    assert_eq!(file.ruleset.as_deref(), Some("house"));
    assert_eq!(file.subject.as_deref(), Some("one"));
    let sent = file.text().expect("no float");
    assert_eq!(sent.readings["sore_hands"].value, "no");
    assert_eq!(sent.readings["first_visit"].value, "2026-05-01");
    assert_eq!(sent.readings["wedge_aoa"].shots, Some(7));
    let player = file.player(&program()).expect("a player");
    assert_eq!(player.readings.len(), 5);
    let clubs: Vec<_> = player.given.values().flatten().collect();
    assert_eq!(clubs.len(), 2);
    assert_eq!(clubs[1][1], Some(Value::Number(Rational::whole(30))));
}

#[test]
fn inches_and_millimetres_are_the_same_player() {
    let inches = read("[readings]\nheight = \"69 1/2 in\"").expect("a player");
    let millimetres = read("[readings]\nheight = \"1765.3 mm\"").expect("a player");
    assert_eq!(inches, millimetres);
    let inches = read("[[kept]]\nkind = \"putter\"\nlength = \"34.5 in\"").expect("a player");
    let millimetres = read("[[kept]]\nkind = \"putter\"\nlength = \"876.3 mm\"").expect("a player");
    assert_eq!(inches, millimetres);
}

#[test]
fn a_float_is_refused_with_the_text_to_write() {
    let text = r#"
[readings]
wedge_attack_angle = { value = -6.5, spread = 1.0 }
height = 1.765e0
handicap = 9.4
sore_hands = 0.5
age = 41.0

[[kept]]
kind = "putter"
length = 34.5
"#;
    assert_eq!(
        faults(text),
        [
            "one.toml:3: readings.wedge_attack_angle: `-6.5` is a float of TOML, which bends \
             decimals; write the text `\"-6.5 deg\"`",
            "one.toml:3: readings.wedge_attack_angle.spread: `1.0` is a float of TOML, which bends \
             decimals; write the text `\"1.0 deg\"`",
            "one.toml:4: readings.height: `1.765e0` is a float of TOML, which bends decimals; \
             write the text `\"1.765 in\"`",
            "one.toml:5: readings.handicap: `9.4` is a float of TOML, which bends decimals; write \
             the text `\"9.4\"`",
            "one.toml:6: readings.sore_hands: `0.5` is neither `yes` nor `no`",
            "one.toml:7: readings.age: `41.0` is a float of TOML, which bends decimals; write the \
             text `\"41.0\"`",
            "one.toml:11: kept[1].length: `34.5` is a float of TOML, which bends decimals; write \
             the text `\"34.5 in\"`",
        ]
    );
    assert_eq!(
        faults("[readings]\nwedge_attack_angle = nan"),
        [
            "one.toml:2: readings.wedge_attack_angle: `nan` is not a finite number; an angle from \
          -20 deg through 10 deg is needed, such as `-6.5 deg`"
        ]
    );
    // A service that does not know the rules yet refuses it too.
    let file = PlayerFile::parse("one.toml", "[readings]\nhandicap = 9.4").expect("TOML");
    assert_eq!(
        report(&file.text().expect_err("a float")),
        [
            "one.toml:2: readings.handicap: `9.4` is a float of TOML, which bends decimals; write \
             it \
          in quotes, with its unit"
        ]
    );
}

#[test]
fn every_fault_comes_with_its_line() {
    let text = r#"
rulset = "house"
subject = 7

[readings]
wedge_attack_angel = "-5 deg"
height = ["5 ft 10 in"]
age = { valeu = 41, shots = -3 }
first_visit = 2026-05-01T10:00:00Z
wedge_attack_angle = { value = "-5 deg", spred = "1 deg", shots = "7" }
sore_hands = 0x1F

[[kept]]
kind = "iron"
loft = { value = "30 deg" }
"#;
    assert_eq!(
        faults(text),
        [
            "one.toml:2: rulset: there is no key `rulset`; allowed are `ruleset`, `subject`, \
             `readings`, `kept`; did you mean `ruleset`?",
            "one.toml:3: subject: `7` was sent; a text in quotes is needed",
            "one.toml:6: readings.wedge_attack_angel: `house` has no input `wedge_attack_angel`; \
             did you mean `wedge_attack_angle`?",
            "one.toml:7: readings.height: is a list; a text is needed",
            "one.toml:8: readings.age: `value` is missing; a reading is `{ value = \"…\", \
             spread = \"…\", shots = 7 }`, or the value alone",
            "one.toml:8: readings.age.shots: `-3` was sent; a whole number from 1 through 1000, \
             plain, is needed",
            "one.toml:8: readings.age.valeu: there is no key `valeu`; allowed are `value`, \
             `spread`, `shots`; did you mean `value`?",
            "one.toml:9: readings.first_visit: `2026-05-01T10:00:00Z` has a time of day; a date \
             such as `2026-05-01` is needed",
            "one.toml:10: readings.wedge_attack_angle.shots: `\"7\"` was sent; a whole number from \
             1 through 1000, plain, is needed",
            "one.toml:10: readings.wedge_attack_angle.spred: there is no key `spred`; allowed are \
             `value`, `spread`, `shots`; did you mean `spread`?",
            "one.toml:11: readings.sore_hands: `0x1F` is not a decimal number; write its decimal \
             digits",
            "one.toml:13: kept[1].length: `length` is missing; a length from 18 in through 60 in \
             is needed, such as `34 1/2 in`",
            "one.toml:15: kept[1].loft: is a table; a text is needed",
        ]
    );
}

#[test]
fn tables_have_their_form() {
    assert_eq!(
        faults("readings = 7\nkept = \"putter\"\n[readnigs]\n"),
        [
            "one.toml:1: readings: `7` was sent; a table is needed: `[readings]`, with a line for \
             each reading",
            "one.toml:2: kept: is a list of clubs; write each as a table under `[[kept]]`",
            "one.toml:3: readnigs: there is no key `readnigs`; allowed are `ruleset`, `subject`, \
             `readings`, `kept`; did you mean `readings`?",
        ]
    );
    assert_eq!(
        faults("[[kpet]]\nkind = \"putter\""),
        [
            "one.toml:1: kpet: there is no group `kpet`; clubs are sent for `kept`; did you mean \
          `kept`?"
        ]
    );
    assert_eq!(
        faults("[readings]\nage = 99999999999999999999"),
        ["one.toml:2: readings.age: `99999999999999999999` is too large"]
    );
    read("").expect("a file without readings is one of a player nobody measured");
}

#[test]
fn a_subject_is_short_and_plain() {
    let with = |subject: &str| format!("subject = \"{subject}\"");
    read(&with(&"x".repeat(128))).expect("a player");
    assert_eq!(
        faults(&with(&"x".repeat(129))),
        ["one.toml:1: subject: the subject has 129 characters; at most 128 are allowed"]
    );
    assert_eq!(
        faults(&with("a\\nb")),
        ["one.toml:1: subject: a subject is one line of plain text, without control characters"]
    );
}

#[test]
fn what_is_not_toml_is_named_with_its_line() {
    let lines = faults("[readings]\nheight = \"5 ft\nage = = 41\n");
    assert!(
        lines[0].starts_with("one.toml:2: is not TOML here: "),
        "{lines:?}"
    );
    assert!(lines.len() > 1, "{lines:?}");
    let twice = "[readings]\nage = 41\nage = 42\n";
    assert_eq!(kinds(twice), [FileFaultKind::Twice]);
    assert!(
        faults(twice)[0].starts_with("one.toml:3: "),
        "{:?}",
        faults(twice)
    );
    assert_eq!(kinds("rulset = 1"), [FileFaultKind::UnknownName]);
    assert_eq!(kinds("[readings]\nage = 4.1"), [FileFaultKind::Value]);
    assert_eq!(kinds("[readings]\nhandicap = 4.1"), [FileFaultKind::Float]);
    assert_eq!(kinds("[readings]\nage = [1]"), [FileFaultKind::WrongForm]);
}

#[test]
fn nesting_has_an_end() {
    let deep = format!(
        "[readings]\nage = {}1{}",
        "[".repeat(100_000),
        "]".repeat(100_000)
    );
    assert!(!faults(&deep).is_empty());
    let deep = format!("{} = 1", vec!["a"; 100_000].join("."));
    assert!(!faults(&deep).is_empty());
}

#[test]
fn a_mark_at_the_beginning_is_no_fault() {
    read("\u{feff}[readings]\nage = 41\n").expect("a player");
}

#[test]
fn a_report_has_an_end() {
    let unknown: String = (0..53)
        .map(|place| format!("reading_{place} = 1\n"))
        .collect();
    let lines = faults(&format!("[readings]\n{unknown}"));
    assert_eq!(lines.len(), 51);
    assert_eq!(lines[50], "and 3 more faults");
}
