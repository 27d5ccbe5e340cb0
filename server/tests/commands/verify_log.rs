//! `verify-log` over the files of the corpus: what it prints, how it ends.

use std::path::{Path, PathBuf};

use loftwright_server::audit::export::{ExportWriter, Head, HeadKind};
use serde_json::{Value, json};

use crate::support::{assert_exit, folder_with, loftwright, path_text};

fn corpus(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    folder.join("../tests/corpus/record").join(name)
}

fn verify(export: &Path, further: &[&str]) -> (String, String, Option<i32>) {
    let keys = corpus("log.keys");
    let mut arguments = vec!["verify-log", path_text(export), "--key", path_text(&keys)];
    arguments.extend(further);
    let output = loftwright(&arguments);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("UTF-8");
    (
        text(&output.stdout),
        text(&output.stderr),
        output.status.code(),
    )
}

const CANNOT_BE_FOUND: &str = "Cannot be found: what was never logged; a rewrite by the holder of \
                               the key since the last checkpoint that somebody else kept.\n";

#[test]
fn a_clean_log_is_told_with_what_cannot_be_found() {
    let older = corpus("older.note");
    let (said, wrong, code) = verify(&corpus("log.export"), &["--checkpoint", path_text(&older)]);
    assert_eq!((code, wrong.as_str()), (Some(0), ""));
    let expected = "log       skerry-point.example/log\n\
                    records   0 to 11 (12)\n\
                    signed    12 records, by skerry-point.example/log (key ";
    assert!(said.starts_with(expected), "{said}");
    for line in [
        "bodies    11 as committed to, 1 not handed out\n",
        "older     the log continues the checkpoint of 5 records\n",
        "No fault: all of it is what was signed.\n",
        CANNOT_BE_FOUND,
    ] {
        assert!(said.contains(line), "{said}");
    }
}

#[test]
fn evidence_is_told_with_its_attachments() {
    let (said, _, code) = verify(&corpus("record-6.evidence"), &[]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("records   record 6, in evidence\n"), "{said}");
    assert!(said.contains("attached  rules, parts\n"), "{said}");
}

#[test]
fn a_fault_is_told_with_its_place_and_ends_with_1() {
    let mut bytes = std::fs::read(corpus("log.export")).expect("the corpus");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    let folder = folder_with("verify_log_fault", "empty", "");
    let path = folder.join("log.export");
    std::fs::write(&path, bytes).expect("a file");
    let (said, _, code) = verify(&path, &[]);
    assert_eq!(code, Some(1));
    let fault = said.lines().find(|line| line.starts_with("fault at byte "));
    let fault = fault.expect("a fault");
    assert!(
        fault.ends_with("this record is not as it was written"),
        "{said}"
    );
    assert!(said.ends_with(CANNOT_BE_FOUND), "{said}");

    let (said, _, code) = verify(&path, &["--json"]);
    assert_eq!(code, Some(1));
    let report: Value = serde_json::from_str(&said).expect("JSON");
    assert_eq!(report["is_clean"], json!(false));
    assert_eq!(report["faults"][0]["kind"], json!("damaged"));
    assert!(report["faults"][0]["record"].is_u64(), "{said}");
    assert_eq!(report["cannot_be_found"][0], json!("what was never logged"));
}

#[test]
fn a_stretch_that_begins_after_the_older_checkpoint_says_what_to_ask_for() {
    let older = corpus("older.note");
    let further = ["--checkpoint", path_text(&older)];
    let (said, _, code) = verify(&corpus("stretch.export"), &further);
    assert_eq!(code, Some(1));
    assert!(
        said.contains("ask for an export from record 5 or before"),
        "{said}"
    );
}

#[test]
fn what_cannot_be_used_ends_with_2() {
    let log = corpus("log.export");
    let keys = corpus("log.keys");
    let (older, nowhere) = (corpus("older.note"), corpus("nowhere"));
    let folder = folder_with(
        "verify_log_keys",
        "private.key",
        "PRIVATE+KEY+example.com/log/testdata+33d7b496+AeymY/SZAX0jZcJ8enZ5FY1Dz+wTML2yWSkK+9DSF3eg\n",
    );
    let private = folder.join("private.key");
    let key = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k\n";
    let other = folder_with("verify_log_other", "other.keys", key).join("other.keys");
    let cases: [(&Path, &Path, &Path, &str); 6] = [
        (&nowhere, &keys, &older, "cannot be read"),
        (&older, &keys, &older, "this is no export of a log"),
        (&log, &nowhere, &nowhere, "nowhere` cannot be read"),
        (&log, &private, &older, "keep the private one to its owner"),
        (&log, &other, &older, "not signed by a key that is trusted"),
        (&log, &keys, &keys, "not a checkpoint: byte "),
    ];
    for (export, key, checkpoint, expected) in cases {
        let output = loftwright(&[
            "verify-log",
            path_text(export),
            "--key",
            path_text(key),
            "--checkpoint",
            path_text(checkpoint),
        ]);
        assert_exit(&output, 2);
        assert!(output.stdout.is_empty());
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(said.contains(expected), "{said}");
        assert!(!said.contains("AeymY"), "a secret is shown: {said}");
    }
}

/// What a file says of itself may not look like what the program says of it.
#[test]
fn a_name_with_control_characters_does_no_harm() {
    let head = Head {
        origin: "log\n\nNo fault: all of it is what was signed.\u{1b}[2J\u{202e}".to_owned(),
        size: 0,
        kind: HeadKind::Log {
            first: 0,
            peaks: Vec::new(),
        },
    };
    let writer = ExportWriter::begin(Vec::new(), &head).expect("begun");
    let bytes = writer.end().expect("ended");
    let path = folder_with("verify_log_hostile", "empty", "").join("hostile.export");
    std::fs::write(&path, bytes).expect("a file");
    let (said, _, code) = verify(&path, &[]);
    assert_eq!(code, Some(1));
    let is_plain = |line: &str| !line.contains(|character: char| character.is_control());
    assert!(
        said.lines().all(is_plain) && !said.contains('\u{202e}'),
        "{said}"
    );
    assert!(
        !said.lines().any(|line| line.starts_with("No fault")),
        "{said}"
    );
}

#[test]
fn keys_that_nobody_gave_are_not_trusted() {
    let key = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k\n";
    let other = folder_with("verify_log_strange", "other.keys", key).join("other.keys");
    let log = corpus("log.export");
    let output = loftwright(&["verify-log", path_text(&log), "--key", path_text(&other)]);
    assert_exit(&output, 1);
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        said.contains("signed    no checkpoint by a key that you trust fits what is here\n"),
        "{said}"
    );
}
