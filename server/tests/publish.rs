//! The way of a house rule from a folder to a running service, as a manager goes it.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// A running `loftwright serve`; it ends with the test.
struct Service {
    process: Child,
    address: String,
}

impl Service {
    fn start() -> Self {
        let mut process = Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .args(["serve", "--listen", "127.0.0.1:0"])
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

    fn publish(&self, folder: &Path, more: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .arg("publish")
            .arg(folder)
            .args(["--to", &self.address])
            .args(more)
            .output()
            .expect("the program starts")
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// A folder of this test's own with a house in it that builds on skerry.
fn house(test: &str, more: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(test);
    std::fs::create_dir_all(&folder).expect("a folder");
    let text = format!(
        "ruleset house\n  title \"A house\"\n  language 1\n  builds on skerry\n\n\
         caution from_the_house : player_hand is right\n  says \"A word.\"\n{more}"
    );
    std::fs::write(folder.join("house.rules"), text).expect("a file");
    folder
}

fn stdout(output: &Output, code: i32) -> String {
    let stderr = String::from_utf8_lossy(&output.stderr);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(code), "{text}\n{stderr}");
    text
}

#[test]
fn a_house_rule_is_published_and_put_in_force() {
    let service = Service::start();
    let folder = house("published", "");
    let looked = stdout(&service.publish(&folder, &["--validate-only"]), 0);
    assert!(
        looked.contains("would be published: house, revision "),
        "{looked}"
    );
    let activate = ["--activate", "--reason", "the spring meeting decided so"];
    let first = stdout(&service.publish(&folder, &activate), 0);
    assert!(first.contains("\npublished: house, revision ") || first.starts_with("published: "));
    assert!(first.contains("in force: house, revision ") && first.contains("before it none"));
    let again = stdout(&service.publish(&folder, &activate), 0);
    assert!(again.contains("was published before: house"), "{again}");
    assert!(again.contains("before it the same"), "{again}");
}

#[test]
fn a_gap_is_refused_with_its_place_and_exit_code_1() {
    let service = Service::start();
    let gap = "\ndecide of_a_gap : flag\n  by driver_head_speed\n    under 90 mph gives yes\n    \
               over 90 mph  gives no\n";
    let text = stdout(&service.publish(&house("gap", gap), &[]), 1);
    assert!(
        text.contains("house/house.rules:10:3: error L0402: "),
        "{text}"
    );
    assert!(
        text.contains("not published: the rules are refused"),
        "{text}"
    );
}

#[test]
fn a_service_that_is_not_there_is_bad_input() {
    let folder = house("nowhere", "");
    let service = Service::start();
    let address = service.address.clone();
    drop(service);
    for address in [address.as_str(), "not an address"] {
        let output = Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .arg("publish")
            .arg(&folder)
            .args(["--to", address])
            .output()
            .expect("the program starts");
        assert_eq!(output.status.code(), Some(2), "{address}");
        let stderr = String::from_utf8_lossy(&output.stderr);
        assert!(stderr.contains(address), "{stderr}");
    }
}
