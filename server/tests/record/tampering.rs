//! Rows changed behind the log's back are found, with their place.

use std::process::Command;

use loftwright_server::store::{Store, StoreError, check_tree, root_of};

use loftwright_testing::{Service, preview, recorded};

use crate::support::{Log, behind_its_back, fault};

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
    let change = "UPDATE records SET leaves = CAST(replace(CAST(leaves AS TEXT), 'till-2', \
                  'till-3') AS BLOB) WHERE first = 5";
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
    let change = "UPDATE records SET bodies = (SELECT bodies FROM records WHERE first = 0) \
                  WHERE first = 1; \
                  UPDATE records SET bodies = zeroblob(60) WHERE first = 2; \
                  UPDATE records SET bodies = x'' WHERE first = 3";
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
    let change = "UPDATE records SET hashes = zeroblob(32) WHERE first = 3";
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
    let cut = "DELETE FROM records WHERE first = 8; \
               UPDATE request_ranges SET known_to = 8 WHERE known_to = 9; \
               DELETE FROM checkpoints WHERE size = 9";
    behind_its_back(folder.path(), cut).await;
    let fault = fault(folder.path()).await;
    let StoreError::CutShort { held, signed, .. } = fault else {
        panic!("{fault}");
    };
    assert_eq!((held, signed), (8, 9));
}

#[tokio::test]
async fn a_command_says_what_of_a_data_directory_is_not_as_it_was_written() {
    let folder = tempfile::tempdir().expect("a folder");
    Service::start(folder.path()).await.stop().await;
    let check = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
        command.arg("check-log").arg("--data").arg(folder.path());
        let output = command.output().expect("a process");
        let said = String::from_utf8(output.stdout).expect("text");
        (output.status.code(), said)
    };
    let (code, said) = check();
    assert_eq!(code, Some(0), "{said}");
    let whole = said.split_once(" records, and all that is kept is what was written.");
    let records: u64 = whole.expect("whole").0.parse().expect("how many");
    behind_its_back(
        folder.path(),
        "UPDATE records SET leaves = CAST(substr(leaves, 1, length(leaves) - 32) \
         || zeroblob(32) AS BLOB) WHERE first = (SELECT max(first) FROM records)",
    )
    .await;
    let (code, said) = check();
    assert_eq!(code, Some(1), "{said}");
    let last = format!("record {}: ", records - 1);
    assert!(said.contains(&last), "{said}");
}

#[tokio::test]
async fn a_checkpoint_that_nobody_signed_is_found_by_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    service.stop().await;
    let service = Service::start(folder.path()).await;
    let request = preview("steady-right-hander", "skerry", "player-7");
    service.keep(recorded(1, request)).await;
    service.stop().await;
    let check = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
        command.arg("check-log").arg("--data").arg(folder.path());
        let output = command.output().expect("a process");
        String::from_utf8(output.stdout).expect("text")
    };
    let said = check();
    assert!(
        said.contains("all that is kept is what was written"),
        "{said}"
    );
    // The same text under another signature.
    let forge = "UPDATE checkpoints \
                 SET note = substr(note, 1, length(note) - 12) || 'AAAAAAAA' || substr(note, -4) \
                 WHERE size = (SELECT min(size) FROM checkpoints)";
    behind_its_back(folder.path(), forge).await;
    let said = check();
    assert!(
        said.contains("the checkpoint that ends with it: "),
        "{said}"
    );
    assert!(said.starts_with("record "), "{said}");
}
