//! After an erasure no file of the data directory holds anything of the subject.

use std::path::Path;

use loftwright_server::audit::leaf::{Leaf, LeafKind};
use loftwright_server::store::{
    Entry, KeptBody, NotRecorded, Placed, Recorder, RecorderSettings, Store, check_tree,
};
use sqlx::{ConnectOptions, Row, SqliteConnection};

use crate::support::{Log, entry, image};

const SUBJECT: &str = "planted-pseudonym-3141";
const READING: &str = "planted-reading-2718";

/// Whether a file of the directory holds these bytes.
fn holds(folder: &Path, needle: &[u8]) -> bool {
    let files = std::fs::read_dir(folder).expect("a folder");
    files.into_iter().any(|file| {
        let content = std::fs::read(file.expect("a file").path()).expect("read");
        content.windows(needle.len()).any(|window| window == needle)
    })
}

/// Another program that reads the database.
async fn reader(folder: &Path) -> SqliteConnection {
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.join("record.sqlite"))
        .read_only(true);
    options.connect().await.expect("a connection")
}

/// Key and salt of the last subject.
async fn key_and_salt(connection: &mut SqliteConnection) -> (Vec<u8>, Vec<u8>) {
    let row = sqlx::query("SELECT key, salt FROM subjects ORDER BY number DESC LIMIT 1")
        .fetch_one(connection)
        .await
        .expect("a key");
    (row.get(0), row.get(1))
}

#[tokio::test]
async fn an_erasure_behind_a_long_reader_is_said_to_be_unfinished_and_the_service_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 1).await;
    log.keep(entry(SUBJECT, READING)).await;
    let mut connection = reader(folder.path()).await;
    sqlx::raw_sql("BEGIN")
        .execute(&mut connection)
        .await
        .expect("begun");
    let (key, _) = key_and_salt(&mut connection).await;
    let store = std::sync::Arc::clone(&log.store);
    let settings = RecorderSettings::default();
    let (recorder, task) = Recorder::start(log.store, log.notary, settings);
    let mut erasure = entry(SUBJECT, "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    for _ in 0..2 {
        let said = recorder.erase(erasure.clone()).await;
        assert_eq!(said, Err(NotRecorded::ErasureUnfinished));
    }
    assert_eq!(store.body(1).await.expect("asked"), KeptBody::Erased);
    assert!(recorder.keep(entry("player-7", "one more")).await.is_ok());
    assert!(holds(folder.path(), &key), "the reader holds it back");

    sqlx::Connection::close(connection).await.expect("closed");
    let said = recorder.erase(erasure).await;
    assert_eq!(said, Err(NotRecorded::NoSubject));
    assert!(!holds(folder.path(), &key), "the key is still there");
    // The erasure is one leaf, however often it was asked for.
    assert_eq!(store.size().await.expect("a size"), 4);
    drop(recorder);
    task.await.expect("no panic");
}

/// As after a SIGKILL between the commit of an erasure and its end.
#[tokio::test]
async fn what_is_left_of_an_erasure_is_removed_at_the_next_start() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 1).await;
    log.keep(entry(SUBJECT, READING)).await;
    let mut connection = reader(folder.path()).await;
    let (key, _) = key_and_salt(&mut connection).await;
    sqlx::Connection::close(connection).await.expect("closed");
    let mut erasure = entry(SUBJECT, "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    log.store.erase(&erasure).await.expect("erased");
    let left = tempfile::tempdir().expect("a folder");
    image(folder.path(), left.path());
    drop(log);
    assert!(holds(left.path(), &key), "the write-ahead log holds it");
    let log = Log::open(left.path()).await.expect("opened");
    let settings = RecorderSettings::default();
    let (recorder, task) = Recorder::start(log.store, log.notary, settings);
    recorder.checkpoint().await.expect("a checkpoint");
    assert!(!holds(left.path(), &key), "the key is still there");
    drop(recorder);
    task.await.expect("no panic");
}

#[tokio::test]
async fn the_key_is_gone_from_every_file_and_the_proofs_stand() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 5).await;
    log.keep(entry(SUBJECT, READING)).await;
    let mut connection = reader(folder.path()).await;
    let (key, salt) = key_and_salt(&mut connection).await;
    sqlx::Connection::close(connection).await.expect("closed");
    assert!(holds(folder.path(), &key) && holds(folder.path(), &salt));

    let mut erasure = entry(SUBJECT, "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    let erased = log.store.erase(&erasure).await.expect("erased");
    let Some(Placed::New { position: 6, .. }) = erased else {
        panic!("{erased:?}");
    };
    assert!(log.store.finish_erasures().await.expect("finished"));
    assert!(!holds(folder.path(), &key), "the key is still there");
    assert!(!holds(folder.path(), &salt), "the salt is still there");
    for planted in [SUBJECT, READING] {
        assert!(!holds(folder.path(), planted.as_bytes()), "{planted}");
    }
    assert_eq!(log.store.body(5).await.expect("asked"), KeptBody::Erased);
    assert!(matches!(
        log.store.body(4).await,
        Ok(KeptBody::Whole { .. })
    ));
    assert!(matches!(
        log.store.body(6).await,
        Ok(KeptBody::Whole { .. })
    ));
    check_tree(log.store.as_ref())
        .await
        .expect("the tree stands");
    let leaf = log.store.leaf(6).await.expect("read").expect("a leaf");
    let leaf = Leaf::parse(&leaf).expect("a leaf");
    assert_eq!(leaf.header.kind, LeafKind::Erasure);
    assert!(leaf.header.subject_commitment.is_some());
}

fn erasure_of(subject: &str) -> Entry {
    let mut erasure = entry(subject, "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    erasure
}

#[tokio::test]
async fn a_subject_that_comes_again_has_another_key_and_an_unknown_one_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 1).await;
    let erasure = erasure_of("player-7");
    assert!(log.store.erase(&erasure).await.expect("erased").is_some());
    assert_eq!(log.store.erase(&erasure).await.expect("asked"), None);
    let position = log.keep(entry("player-7", "back again")).await;
    assert_eq!(log.store.body(0).await.expect("asked"), KeptBody::Erased);
    let body = log.store.body(position).await.expect("asked");
    assert!(matches!(body, KeptBody::Whole { .. }), "{body:?}");
}

/// Callers seal what they queue; an erasure may come before it is written.
#[tokio::test]
async fn what_was_sealed_before_an_erasure_is_sealed_again_under_another_key() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 1).await;
    let ready = || {
        let mut entry = entry("player-7", "sealed ahead");
        log.store.make_ready(&mut entry);
        entry
    };
    let (written, overtaken) = (ready(), ready());
    let position = log.keep(written).await;
    let body = log.store.body(position).await.expect("asked");
    assert!(matches!(body, KeptBody::Whole { .. }), "{body:?}");
    let erasure = erasure_of("player-7");
    assert!(log.store.erase(&erasure).await.expect("erased").is_some());
    let position = log.keep(overtaken).await;
    let body = log.store.body(position).await.expect("asked");
    assert!(matches!(body, KeptBody::Whole { .. }), "{body:?}");
    let body = log.store.body(position - 2).await.expect("asked");
    assert_eq!(body, KeptBody::Erased);
}
