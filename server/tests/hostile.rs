//! What nobody sends on purpose, and some do: every folder of it ends in a named error, and the
//! program stays within 100 MB of memory.

#![cfg(unix)]
#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;

use nix::sys::resource::{UsageWho, getrusage};

/// The most memory that the program may have in use at once, in KiB.
const MOST_KIB: i64 = 100 * 1000 * 1000 / 1024;

/// A folder of this test's own, new.
fn folder(test: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("hostile")
        .join(test);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("removed");
    }
    fs::create_dir_all(&folder).expect("a folder");
    folder
}

fn ruleset(name: &str) -> String {
    format!("ruleset {name}\n  title    \"A trial\"\n  language 1\n  builds on common\n")
}

/// A folder with a house on the trade's practice, and this file beside it.
fn with_file(test: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let folder = folder(test);
    fs::write(folder.join("house.rules"), ruleset("trial")).expect("written");
    fs::write(folder.join("sent.rules"), bytes).expect("written");
    folder
}

/// Runs a command over a folder: its exit code and all it says. It had little memory in use.
fn run(command: &str, folder: &Path) -> (Option<i32>, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .arg(command)
        .arg(folder)
        .output()
        .expect("the program starts");
    // The most that any run had: all of them are hostile.
    let usage = getrusage(UsageWho::RUSAGE_CHILDREN).expect("what they used");
    let most_kib = usage.max_rss();
    assert!(most_kib <= MOST_KIB, "{most_kib} KiB in use for {command}");
    let mut said = String::from_utf8_lossy(&output.stdout).into_owned();
    said.push_str(&String::from_utf8_lossy(&output.stderr));
    (output.status.code(), said)
}

/// `check` and `format` both end with this code and say all of this.
#[track_caller]
fn is_refused(folder: &Path, code: i32, texts: &[&str]) {
    for command in ["check", "format"] {
        let (ended, said) = run(command, folder);
        assert_eq!(ended, Some(code), "{command}: {said}");
        for text in texts {
            assert!(said.contains(text), "{command}: `{text}` is not in {said}");
        }
    }
}

#[test]
fn ten_megabytes_of_junk_in_one_file() {
    let junk: Vec<u8> = (0..10_000_000_u32)
        .map(|number| b"(\"#\n \0z-"[number.wrapping_mul(2_654_435_761) as usize % 8])
        .collect();
    let folder = with_file("one_large", junk);
    let limit = "sent.rules: has 10000000 bytes; at most 1048576 are read of such a file";
    is_refused(&folder, 2, &[limit]);
}

#[test]
fn ten_megabytes_of_junk_in_many_files() {
    let folder = with_file("many_large", "");
    let junk = "junk ( and \"more\n".repeat(61_680);
    for number in 0..10 {
        fs::write(folder.join(format!("{number}.rules")), &junk).expect("written");
    }
    let (ended, said) = run("check", &folder);
    assert_eq!(ended, Some(1), "{said}");
    assert!(said.contains("L0001") && said.contains("the limit `folder size` is 10485760 bytes"));
    let (ended, said) = run("format", &folder);
    assert_eq!(ended, Some(1), "{said}");
    assert!(said.contains("10 left with errors"), "{said}");
}

#[test]
fn a_file_full_of_errors_shows_a_hundred() {
    let folder = with_file("errors", "junk ( and \"more\n".repeat(60_000));
    is_refused(
        &folder,
        1,
        &["the limit `findings in a file` is 100 findings"],
    );
}

#[test]
fn ten_thousand_nested_parentheses() {
    let text = format!(
        "let a = {}1{}\n",
        "(\n".repeat(10_000),
        ")\n".repeat(10_000)
    )
    .replace('\n', "\n ");
    let folder = with_file("nested", text);
    is_refused(
        &folder,
        1,
        &["L0001", "the limit `nesting` is 64 parentheses"],
    );
}

#[test]
fn one_line_of_sixty_four_kibibytes() {
    let folder = with_file("line", format!("let a = {}1\n", "1 + ".repeat(16_384)));
    is_refused(
        &folder,
        1,
        &["L0001", "the limit `line length` is 4096 bytes"],
    );
}

#[test]
fn a_declaration_of_a_megabyte() {
    let rows = "    under 5 deg gives low\n".repeat(40_000);
    let folder = with_file(
        "declaration",
        format!("decide a : flex\n  by wedge_attack_angle\n{rows}"),
    );
    is_refused(
        &folder,
        1,
        &["L0001", "the limit `declaration size` is 65536 bytes"],
    );
}

/// As much as the limits allow of what is laid out one by one: each is a file without an error.
#[test]
fn a_mebibyte_of_comments_and_a_text_of_thousands() {
    let comments = "#\n".repeat(524_288);
    let texts = format!(
        "let a : flag = yes\ncaution b : a\n  says {}",
        "\"c\" # d\n ".repeat(3_500)
    );
    for (test, text) in [("comments", comments), ("texts", texts)] {
        let folder = with_file(test, text);
        let (ended, said) = run("format", &folder);
        assert_eq!(ended, Some(0), "{said}");
    }
}

#[test]
fn bytes_that_are_no_text() {
    let folder = with_file("bytes", b"let a = 1\nlet b = \xff\xfe\n");
    is_refused(&folder, 2, &["sent.rules:2: is not UTF-8 text"]);
    let folder = with_file("utf_16", b"l\0e\0t\0 \0a\0 \0=\0 \x001\0\n\0");
    is_refused(&folder, 1, &["L0002", "U+0000"]);
}

#[test]
fn pasted_characters() {
    let folder = with_file("pasted", "let a =\u{a0}\u{2212}1 deg\n");
    is_refused(
        &folder,
        1,
        &["L0002", "U+2212", "write `-`", "U+00A0", "write a space"],
    );
}

#[test]
fn line_ends_of_another_system_are_read() {
    let folder = with_file(
        "line_ends",
        "let a : angle = 1 deg\r\n\r\nlet b : angle = a\r\n",
    );
    let (ended, said) = run("check", &folder);
    assert_eq!(ended, Some(0), "{said}");
    let (ended, said) = run("format", &folder);
    assert_eq!(ended, Some(0), "{said}");
    let text = fs::read_to_string(folder.join("sent.rules")).expect("a file");
    assert_eq!(text, "let a : angle = 1 deg\n\nlet b : angle = a\n");
}

#[test]
fn no_ruleset_line_or_two() {
    let folder = with_file("two", ruleset("other"));
    let (ended, said) = run("check", &folder);
    assert_eq!(ended, Some(1), "{said}");
    assert!(said.contains("L0201"), "{said}");
    fs::remove_file(folder.join("house.rules")).expect("removed");
    fs::write(folder.join("sent.rules"), "let a = 1\n").expect("written");
    let (ended, said) = run("check", &folder);
    assert_eq!(ended, Some(1), "{said}");
    assert!(
        said.contains("L0201") && said.contains("`ruleset`"),
        "{said}"
    );
}

#[test]
fn what_is_no_file() {
    let folder = with_file("no_file", "");
    let sent = folder.join("sent.rules");
    fs::remove_file(&sent).expect("removed");
    fs::create_dir(&sent).expect("a folder");
    is_refused(&folder, 2, &["sent.rules: is a folder; a file is needed"]);
    fs::remove_dir(&sent).expect("removed");
    let pipe = Command::new("mkfifo").arg(&sent).status().expect("mkfifo");
    assert!(pipe.success());
    is_refused(
        &folder,
        2,
        &["sent.rules: is a device or pipe; a file is needed"],
    );
    fs::remove_file(&sent).expect("removed");
    symlink("/dev/zero", &sent).expect("a link");
    is_refused(
        &folder,
        2,
        &["sent.rules: is a device or pipe; a file is needed"],
    );
}

#[test]
fn links_in_a_circle() {
    let folder = with_file("circle", "");
    let sent = folder.join("sent.rules");
    fs::remove_file(&sent).expect("removed");
    symlink("other.rules", &sent).expect("a link");
    symlink("sent.rules", folder.join("other.rules")).expect("a link");
    is_refused(
        &folder,
        2,
        &["sent.rules: cannot be read", "other.rules: cannot be read"],
    );
    let itself = folder.join("itself");
    symlink("itself", &itself).expect("a link");
    is_refused(&itself, 2, &["itself: cannot be read"]);
}

/// The rights of a file stop no superuser; the memory of a process is a file that cannot be read at
/// its start, whoever asks.
#[test]
#[cfg(target_os = "linux")]
fn a_file_that_cannot_be_read() {
    let folder = with_file("unreadable", "");
    let sent = folder.join("sent.rules");
    fs::remove_file(&sent).expect("removed");
    symlink("/proc/self/mem", &sent).expect("a link");
    is_refused(&folder, 2, &["sent.rules: cannot be read"]);
}
