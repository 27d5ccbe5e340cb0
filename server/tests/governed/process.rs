//! The commands and the program itself, as a workshop uses them: keys, a house rule, a kill.

use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

struct Service {
    process: Child,
    address: String,
}

impl Service {
    fn start(data: &Path) -> Self {
        let mut process = Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let output = process.stdout.take().expect("its output");
        let mut line = String::new();
        BufReader::new(output).read_line(&mut line).expect("a line");
        let address = line.trim().strip_prefix("listening on ");
        let address = address.expect("an address").to_owned();
        Service { process, address }
    }
}

impl Drop for Service {
    /// SIGKILL: nothing is drained, nothing is flushed.
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn run(arguments: &[&str], code: i32) -> Output {
    let output = Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .args(arguments)
        .output();
    let output = output.expect("the program starts");
    let text = String::from_utf8_lossy(&output.stdout);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}: {text}\n{errors}"
    );
    output
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Gives somebody roles, and keeps the key in a file.
fn add(folder: &Path, data: &str, name: &str, roles: &[&str]) -> PathBuf {
    let mut arguments = vec!["principals", "add", name, "--data", data];
    for role in roles {
        arguments.extend(["--role", role]);
    }
    let output = run(&arguments, 0);
    let file = folder.join(format!("{name}.key"));
    std::fs::write(&file, &output.stdout).expect("written");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o600)).expect("set");
    file
}

/// The folder of a house with a rule of its own.
fn house(folder: &Path) -> PathBuf {
    let house = folder.join("house");
    std::fs::create_dir(&house).expect("a folder");
    let rules = "ruleset house\n  title \"A house\"\n  language 1\n  builds on skerry\n\n\
                 caution from_the_house : player_hand is right\n  says \"A word of the house.\"\n";
    std::fs::write(house.join("house.rules"), rules).expect("a file");
    house
}

/// It would not know him before its next start; so nothing is changed, no key is shown, and what to
/// do is said.
fn nobody_is_added_behind_a_running_service(data: &str) {
    for change in [
        &["add", "eve", "--role", "caller"][..],
        &["remove", "till-2"][..],
    ] {
        let arguments = [&["principals"], change, &["--data", data]].concat();
        let refused = run(&arguments, 2);
        assert_eq!(text(&refused.stdout), "");
        let said = text(&refused.stderr);
        assert!(
            said.contains("stop that one first") && said.contains("when it starts"),
            "{said}"
        );
    }
}

#[test]
fn a_workshop_gives_keys_publishes_and_finds_its_rules_again_after_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let data_text = data.display().to_string();
    let ada = add(folder.path(), &data_text, "ada", &["editor", "approver"]);
    let till = add(folder.path(), &data_text, "till-2", &["caller"]);
    let listed = text(&run(&["principals", "list", "--data", &data_text], 0).stdout);
    assert_eq!(
        listed,
        "ada  approver, editor\ntill-2  caller\nwhoever published a revision may not put it in \
         force himself\n"
    );
    let house = house(folder.path());
    let (house, ada, till) = (
        house.display().to_string(),
        ada.display().to_string(),
        till.display().to_string(),
    );

    let service = Service::start(&data);
    let refused = run(&["principals", "list", "--data", &data_text], 2);
    assert!(text(&refused.stderr).contains("is in use by another process"));
    nobody_is_added_behind_a_running_service(&data_text);
    let publish = |address: &str, key: &str, code| {
        let reason = ["--activate", "--reason", "the spring meeting"];
        let mut arguments = vec!["publish", &house, "--to", address, "--key-file", key];
        arguments.extend(reason);
        run(&arguments, code)
    };
    let refused = publish(&service.address, &till, 2);
    assert!(text(&refused.stderr).contains("it needs the role `editor`"));
    let refused = publish(&service.address, &ada, 2);
    assert!(text(&refused.stderr).contains("somebody else puts it in force"));
    drop(service);
    let after = text(&run(&["principals", "list", "--data", &data_text], 0).stdout);
    assert_eq!(after, listed, "nobody came, nobody went");

    let allowed = [
        "principals",
        "own-activation",
        "allow",
        "--reason",
        "alone here",
        "--data",
    ];
    run(&[&allowed[..], &[data_text.as_str()]].concat(), 0);
    let service = Service::start(&data);
    let done = text(&publish(&service.address, &ada, 0).stdout);
    assert!(done.contains("was published before: house"), "{done}");
    assert!(done.contains("in force: house"), "{done}");
    drop(service);

    let service = Service::start(&data);
    let file = folder.path().join("player.toml");
    let player = include_str!("../../../rulesets/demo/players/steady-right-hander.toml");
    let player = player.replace("ruleset = \"skerry\"", "ruleset = \"house\"");
    std::fs::write(&file, player).expect("a file");
    let file = file.display().to_string();
    let fit = ["fit", &file, "--to", &service.address, "--key-file"];
    let sheet = text(&run(&[&fit[..], &[till.as_str()]].concat(), 0).stdout);
    assert!(sheet.contains("A word of the house."), "{sheet}");
    goes_back(&service.address, &ada);
    // A key that others can read is not sent.
    std::fs::set_permissions(&till, std::fs::Permissions::from_mode(0o644)).expect("set");
    let refused = run(&[&fit[..], &[till.as_str()]].concat(), 2);
    assert!(text(&refused.stderr).contains("has mode 0644"));
}

/// What was published is listed, an older revision put in force by its first characters, and what
/// decided at an instant is told.
fn goes_back(address: &str, key: &str) {
    let ada_asks = |words: &[&str]| {
        let rest = ["--to", address, "--key-file", key];
        text(&run(&[words, &rest[..]].concat(), 0).stdout)
    };
    let revisions = ada_asks(&["revisions", "house"]);
    let revision = revisions.split_whitespace().nth(1).expect("a revision");
    assert!(revisions.ends_with(" by ada  in force\n"), "{revisions}");
    let reason = ["--reason", "to be sure"];
    let again = ada_asks(&[&["activate", "house", revision][..], &reason[..]].concat());
    assert!(again.starts_with("in force: house, revision "), "{again}");
    let then = ada_asks(&["revisions", "house", "--at", "2100-01-01T00:00:00Z"]);
    assert!(then.contains("by ada: to be sure\n"), "{then}");
    let early = ada_asks(&["revisions", "house", "--at", "2020-01-01T00:00:00Z"]);
    assert!(
        early.starts_with("nothing was in force yet; the first was put in force "),
        "{early}"
    );
}

#[test]
fn names_that_are_none_and_principals_that_are_not_there_are_bad_input() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().display().to_string();
    let refused = run(
        &[
            "principals",
            "add",
            "local",
            "--role",
            "caller",
            "--data",
            &data,
        ],
        2,
    );
    assert!(text(&refused.stderr).contains("a name that this program uses itself"));
    let refused = run(&["principals", "remove", "ines", "--data", &data], 2);
    assert!(text(&refused.stderr).contains("no principal `ines`; there is none"));
    run(
        &[
            "principals",
            "add",
            "ines",
            "--role",
            "caller",
            "--data",
            &data,
        ],
        0,
    );
    let removed = run(&["principals", "remove", "ines", "--data", &data], 0);
    assert!(text(&removed.stderr).contains("nobody is left"));
    let listed = text(&run(&["principals", "list", "--data", &data], 0).stdout);
    assert!(
        listed.contains("nobody is left: every call is refused"),
        "{listed}"
    );
}
