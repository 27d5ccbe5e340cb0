//! What is not a log of ours, whole, is named when it is opened, and left as it is.

use std::path::Path;

use loftwright_server::store::{DataFolder, KeptBody, Store, StoreError, root_of};

use crate::support::{Log, behind_its_back, fault, image};

#[tokio::test]
async fn after_a_restart_everything_is_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 70).await;
    let root = root_of(log.store.as_ref(), 70).await.expect("a root");
    drop(log);
    let mut log = Log::open(folder.path()).await.expect("opened again");
    assert_eq!(log.store.size().await.expect("a size"), 70);
    assert_eq!(root_of(log.store.as_ref(), 70).await.expect("a root"), root);
    let KeptBody::Whole { body, .. } = log.store.body(69).await.expect("a body") else {
        panic!("no body");
    };
    assert_eq!(body.as_slice(), b"body 69");
    assert_eq!(log.notary.signed_size(), 70);
    let note = log.notary.sign().await.expect("the same again").to_owned();
    assert_eq!(
        log.store.last_checkpoint().await.expect("one"),
        Some(note.clone())
    );
    // The form of a checkpoint (C2SP tlog-checkpoint): name, size, root.
    assert_eq!(note.lines().nth(1), Some("70"), "{note}");
}

#[tokio::test]
async fn a_directory_has_one_writer() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 1).await;
    let second = DataFolder::open(folder.path());
    assert!(matches!(second, Err(StoreError::InUse(_))), "{second:?}");
    drop(log);
    assert!(Log::open(folder.path()).await.is_ok());
}

#[tokio::test]
async fn garbage_is_no_database_and_is_left_as_it_is() {
    let whole = tempfile::tempdir().expect("a folder");
    let log = Log::of(whole.path(), 1).await;
    let folder = tempfile::tempdir().expect("a folder");
    image(whole.path(), folder.path());
    drop(log);
    let file = folder.path().join("record.sqlite");
    let garbage = vec![0x5a; 8192];
    std::fs::remove_file(folder.path().join("record.sqlite-wal")).expect("removed");
    std::fs::write(&file, &garbage).expect("written");
    let fault = fault(folder.path()).await;
    assert!(matches!(fault, StoreError::NotADatabase(_)), "{fault}");
    assert!(fault.to_string().contains("backup"));
    assert_eq!(std::fs::read(&file).expect("read"), garbage);
}

#[tokio::test]
async fn a_database_of_another_program_is_left_as_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("record.sqlite");
    std::fs::write(&file, b"").expect("written");
    behind_its_back(folder.path(), "CREATE TABLE notes (text)").await;
    let before = std::fs::read(&file).expect("read");
    drop(DataFolder::open(folder.path()).expect("a folder"));
    // With a key, or it would be the key that is missing.
    let other = tempfile::tempdir().expect("a folder");
    drop(Log::of(other.path(), 1).await);
    let key = other.path().join("signing-key");
    std::fs::copy(key, folder.path().join("signing-key")).expect("copied");
    let fault = fault(folder.path()).await;
    assert!(matches!(fault, StoreError::Foreign(_)), "{fault}");
    assert_eq!(std::fs::read(&file).expect("read"), before);
}

/// What is said of a log of one record that is marked as of this schema.
async fn fault_of_schema(folder: &Path, schema: u32) -> StoreError {
    drop(Log::of(folder, 1).await);
    behind_its_back(folder, &format!("PRAGMA user_version = {schema}")).await;
    fault(folder).await
}

#[tokio::test]
async fn a_newer_schema_is_refused_by_its_number() {
    let folder = tempfile::tempdir().expect("a folder");
    let fault = fault_of_schema(folder.path(), 9).await;
    let StoreError::NewerSchema { found, known, .. } = fault else {
        panic!("{fault}");
    };
    assert_eq!((found, known), (9, 2));
}

#[tokio::test]
async fn a_schema_from_before_the_first_release_is_refused_by_its_number_and_left_as_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let before = fault_of_schema(folder.path(), 1).await;
    let StoreError::OlderSchema { found, oldest, .. } = before else {
        panic!("{before}");
    };
    assert_eq!((found, oldest), (1, 2));
    assert!(before.to_string().contains("`export-log`"), "{before}");
    behind_its_back(folder.path(), "PRAGMA user_version = 2").await;
    let log = Log::open(folder.path()).await.expect("its own schema");
    assert_eq!(log.store.size().await.expect("a size"), 1);
}

#[tokio::test]
async fn a_write_ahead_log_that_lost_its_end_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 20).await;
    let left = tempfile::tempdir().expect("a folder");
    image(folder.path(), left.path());
    drop(log);
    let whole = std::fs::read(left.path().join("record.sqlite-wal")).expect("a log");
    let cut = |to: &Path, kept: usize| {
        image(left.path(), to);
        let begin = whole.get(..kept).expect("a beginning");
        std::fs::write(to.join("record.sqlite-wal"), begin).expect("written");
    };
    for kept in [whole.len() / 2, 0] {
        let folder = tempfile::tempdir().expect("a folder");
        cut(folder.path(), kept);
        let fault = fault(folder.path()).await;
        match &fault {
            StoreError::CutShort {
                held, signed: 20, ..
            } => assert!(*held < 20),
            other => panic!("{kept} bytes: {other}"),
        }
        assert!(fault.to_string().contains("-wal"));
    }
    // The last transaction is the checkpoint's own row: without it no record is missing, as after a
    // crash between the checkpoint's file and its row.
    let folder = tempfile::tempdir().expect("a folder");
    cut(folder.path(), whole.len() - 100);
    let log = Log::open(folder.path()).await.expect("whole");
    assert_eq!(log.store.size().await.expect("a size"), 20);
    assert_eq!(log.notary.signed_size(), 20);
}

#[tokio::test]
async fn a_database_that_lost_its_pages_is_damaged() {
    let whole = tempfile::tempdir().expect("a folder");
    let log = Log::of(whole.path(), 200).await;
    let folder = tempfile::tempdir().expect("a folder");
    image(whole.path(), folder.path());
    drop(log);
    // Moves everything out of the write-ahead log.
    behind_its_back(folder.path(), "PRAGMA wal_checkpoint(TRUNCATE)").await;
    let file = folder.path().join("record.sqlite");
    let whole = std::fs::read(&file).expect("read");
    let half = whole.get(..whole.len() / 2).expect("a half");
    std::fs::write(&file, half).expect("written");
    let fault = fault(folder.path()).await;
    assert!(fault.is_damage(), "{fault}");
}

#[tokio::test]
async fn key_and_checkpoint_must_be_those_of_the_log() {
    let folder = tempfile::tempdir().expect("a folder");
    drop(Log::of(folder.path(), 3).await);
    let key = folder.path().join("signing-key");
    let checkpoint = folder.path().join("last-checkpoint");
    let kept_key = std::fs::read(&key).expect("a key");
    let kept_checkpoint = std::fs::read(&checkpoint).expect("a checkpoint");

    std::fs::remove_file(&key).expect("removed");
    let missing = fault(folder.path()).await;
    assert!(
        matches!(missing, StoreError::KeyMissing { .. }),
        "{missing}"
    );

    let other = tempfile::tempdir().expect("a folder");
    drop(Log::of(other.path(), 1).await);
    std::fs::copy(other.path().join("signing-key"), &key).expect("copied");
    let unsigned = fault(folder.path()).await;
    assert!(
        matches!(unsigned, StoreError::Checkpoint { .. }),
        "{unsigned}"
    );
    std::fs::remove_file(&checkpoint).expect("removed");
    let foreign = fault(folder.path()).await;
    let is_foreign = matches!(foreign, StoreError::KeyOfAnotherLog { .. });
    assert!(is_foreign, "{foreign}");

    std::fs::write(&key, kept_key).expect("written");
    let lost = fault(folder.path()).await;
    assert!(matches!(lost, StoreError::Checkpoint { .. }), "{lost}");
    std::fs::write(&checkpoint, kept_checkpoint).expect("written");
    assert!(Log::open(folder.path()).await.is_ok());
}

#[cfg(unix)]
#[tokio::test]
async fn a_key_that_others_may_read_and_a_checkpoint_of_another_log_are_named() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder");
    drop(Log::of(folder.path(), 3).await);
    let key = folder.path().join("signing-key");
    for (mode, is_refused) in [(0o640, true), (0o604, true), (0o600, false)] {
        let permissions = std::fs::Permissions::from_mode(mode);
        std::fs::set_permissions(&key, permissions).expect("set");
        match Log::open(folder.path()).await {
            Ok(_) => assert!(!is_refused, "{mode:o}"),
            Err(fault) => assert!(fault.to_string().contains("chmod 600"), "{fault}"),
        }
    }
    let other = tempfile::tempdir().expect("a folder");
    drop(Log::of(other.path(), 3).await);
    let checkpoint = folder.path().join("last-checkpoint");
    let older = std::fs::read(&checkpoint).expect("read");
    std::fs::copy(other.path().join("last-checkpoint"), &checkpoint).expect("copied");
    let foreign = fault(folder.path()).await;
    assert!(
        matches!(foreign, StoreError::Checkpoint { .. }),
        "{foreign}"
    );

    // One of this log, and not the last.
    std::fs::write(&checkpoint, &older).expect("written");
    let mut log = Log::open(folder.path()).await.expect("whole");
    log.keep(crate::support::entry("player-7", "one more"))
        .await;
    log.notary.sign().await.expect("signed");
    drop(log);
    std::fs::write(&checkpoint, &older).expect("written");
    let rolled_back = fault(folder.path()).await;
    assert!(
        rolled_back.to_string().contains("is not the last one"),
        "{rolled_back}"
    );
}
