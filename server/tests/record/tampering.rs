//! Rows changed behind the log's back are found, with their place.

use std::process::Command;

use loftwright_server::audit::leaf::LeafKind;
use loftwright_server::store::{Entry, Store, StoreError, check_store, check_tree, root_of};

use crate::support::{Log, behind_its_back, entry, fault, image};

#[tokio::test]
async fn an_untouched_tree_comes_to_its_own_root() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 37).await;
    let root = check_tree(log.store.as_ref()).await.expect("whole");
    assert_eq!(root, root_of(log.store.as_ref(), 37).await.expect("a root"));
}

#[tokio::test]
async fn a_changed_leaf_is_found_by_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 12).await;
    let change = "UPDATE leaves SET header = CAST(replace(CAST(header AS TEXT), 'till-2', \
                  'till-3') AS BLOB) WHERE position = 5";
    behind_its_back(folder.path(), change).await;
    let found = check_tree(log.store.as_ref()).await;
    let Err(StoreError::Row { position, .. }) = found else {
        panic!("{found:?}");
    };
    assert_eq!(position, 5);
}

#[tokio::test]
async fn a_changed_body_and_a_swapped_one_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 4).await;
    let change = "UPDATE bodies SET content = (SELECT content FROM bodies WHERE position = 0), \
                  nonce = (SELECT nonce FROM bodies WHERE position = 0) WHERE position = 1; \
                  UPDATE bodies SET content = zeroblob(60) WHERE position = 2; \
                  DELETE FROM bodies WHERE position = 3";
    behind_its_back(folder.path(), change).await;
    for position in 1..4 {
        let body = log.store.body(position).await;
        assert!(
            matches!(body, Err(StoreError::Row { position: at, .. }) if at == position),
            "{body:?}"
        );
    }
    assert!(log.store.body(0).await.is_ok());
}

#[tokio::test]
async fn nodes_that_lead_to_another_root_are_not_opened_and_not_signed() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut log = Log::of(folder.path(), 8).await;
    let change = "UPDATE leaves SET hash = zeroblob(32) WHERE position = 3";
    behind_its_back(folder.path(), change).await;
    log.keep(crate::support::entry("player-7", "one more"))
        .await;
    let refused = log.notary.sign().await.expect_err("another history");
    assert!(
        refused.to_string().contains("does not continue"),
        "{refused}"
    );
    drop(log);
    let fault = fault(folder.path()).await;
    assert!(
        matches!(fault, StoreError::OtherHistory { size: 8, .. }),
        "{fault}"
    );
}

#[tokio::test]
async fn records_taken_off_the_end_are_missed() {
    let folder = tempfile::tempdir().expect("a folder");
    drop(Log::of(folder.path(), 9).await);
    let cut = "DELETE FROM leaves WHERE position = 8; UPDATE log SET size = 8; \
               DELETE FROM checkpoints WHERE size = 9";
    behind_its_back(folder.path(), cut).await;
    let fault = fault(folder.path()).await;
    let StoreError::CutShort { held, signed, .. } = fault else {
        panic!("{fault}");
    };
    assert_eq!((held, signed), (8, 9));
}

/// A log of 600 records of three players, each with a request, and then an erasure of one.
async fn full_log(path: &std::path::Path) {
    let mut log = Log::open(path).await.expect("a log");
    let identity = log.store.identity().clone();
    for batch in 0..10 {
        let entries: Vec<Entry> = (0..60)
            .map(|number| {
                let number = batch * 60 + number;
                let id = format!("id {number}");
                Entry {
                    request: Some(identity.request_mark("till-2", &id, b"all")),
                    ..entry(&format!("player-{}", number % 3), &format!("body {number}"))
                }
            })
            .collect();
        log.store.append(&entries).await.expect("kept");
    }
    let mut erasure = entry("player-2", "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    log.store.erase(&erasure).await.expect("erased");
    log.notary.sign().await.expect("a checkpoint");
}

/// What is found of a change, in words; nothing where nothing is.
async fn found(path: &std::path::Path) -> Option<String> {
    let log = match Log::open(path).await {
        Ok(log) => log,
        Err(fault) => return Some(fault.to_string()),
    };
    check_store(log.store.as_ref())
        .await
        .err()
        .map(|fault| fault.to_string())
}

/// Rows of every table edited, dropped and swapped, and what is said of each.
const MATRIX: [(&str, &str); 24] = [
    ("UPDATE log SET size = 600", "is damaged"),
    (
        "UPDATE log SET origin = 'another'",
        "holds the log `another`",
    ),
    ("UPDATE log SET secret = zeroblob(31)", "is damaged"),
    (
        "UPDATE leaves SET header = CAST(replace(CAST(header AS TEXT), 'till-2', 'till-3') AS BLOB) \
      WHERE position = 5",
        "record 5",
    ),
    (
        "UPDATE leaves SET commitment = zeroblob(32) WHERE position = 5",
        "record 5",
    ),
    (
        "UPDATE leaves SET hash = zeroblob(32) WHERE position = 5",
        "record 5",
    ),
    ("DELETE FROM leaves WHERE position = 5", "record 5"),
    (
        "UPDATE leaves SET position = -1 WHERE position = 5; \
      UPDATE leaves SET position = 5 WHERE position = 6; \
      UPDATE leaves SET position = 6 WHERE position = -1",
        "record 255",
    ),
    (
        "UPDATE nodes SET hash = zeroblob(32) WHERE level = 8 AND place = 0",
        "record 255",
    ),
    (
        "DELETE FROM nodes WHERE level = 8 AND place = 1",
        "the node 1 of level 8",
    ),
    (
        "UPDATE nodes SET place = 9 WHERE level = 8 AND place = 0; \
      UPDATE nodes SET place = 0 WHERE level = 8 AND place = 1; \
      UPDATE nodes SET place = 1 WHERE level = 8 AND place = 9",
        "record 255",
    ),
    (
        "UPDATE bodies SET content = zeroblob(60) WHERE position = 7",
        "record 7",
    ),
    ("DELETE FROM bodies WHERE position = 7", "record 7"),
    (
        "UPDATE bodies SET position = -1 WHERE position = 7; \
      UPDATE bodies SET position = 7 WHERE position = 9; \
      UPDATE bodies SET position = 9 WHERE position = -1",
        "record 7",
    ),
    ("UPDATE subjects SET key = zeroblob(32)", "record "),
    ("DELETE FROM subjects", "no erasure is recorded"),
    (
        "UPDATE facts SET instant_ms = 1 WHERE position = 8",
        "record 8",
    ),
    ("DELETE FROM facts WHERE position = 8", "record 8"),
    (
        "UPDATE facts SET subject = NULL WHERE position = 8",
        "record 8",
    ),
    ("DELETE FROM requests", "its request is not found again"),
    (
        "UPDATE requests SET position = position + 1",
        "its request is not found again",
    ),
    (
        "UPDATE request_ranges SET known_to = 601 WHERE known_to < 300",
        "not found again",
    ),
    (
        "UPDATE checkpoints SET note = 'x'",
        "last signed checkpoint",
    ),
    (
        "DELETE FROM request_ranges WHERE first_byte = 3",
        "is damaged",
    ),
];

#[tokio::test]
async fn a_row_of_any_table_that_was_edited_dropped_or_swapped_is_found_and_named() {
    let whole = tempfile::tempdir().expect("a folder");
    full_log(whole.path()).await;
    assert_eq!(found(whole.path()).await, None);
    for (change, said) in MATRIX {
        let folder = tempfile::tempdir().expect("a folder");
        image(whole.path(), folder.path());
        behind_its_back(folder.path(), change).await;
        let found = found(folder.path()).await.unwrap_or_default();
        assert!(found.contains(said), "{change}: {found}");
    }
}

#[tokio::test]
async fn a_command_says_what_of_a_data_directory_is_not_as_it_was_written() {
    let folder = tempfile::tempdir().expect("a folder");
    drop(Log::of(folder.path(), 3).await);
    let check = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
        command.arg("check-log").arg("--data").arg(folder.path());
        let output = command.output().expect("a process");
        let said = String::from_utf8(output.stdout).expect("text");
        (output.status.code(), said)
    };
    let (code, said) = check();
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.starts_with("3 records, and all that is kept is what was written."),
        "{said}"
    );
    behind_its_back(
        folder.path(),
        "UPDATE leaves SET commitment = zeroblob(32) WHERE position = 1",
    )
    .await;
    let (code, said) = check();
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("record 1"), "{said}");
}
