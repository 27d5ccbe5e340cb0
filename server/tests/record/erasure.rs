//! After an erasure no file of the data directory holds anything of the subject.

use std::path::Path;

use loftwright_server::audit::leaf::{Leaf, LeafKind};
use loftwright_server::store::{Entry, KeptBody, Placed, Store, check_tree};
use sqlx::{ConnectOptions, Row};

use crate::support::{Log, entry};

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

#[tokio::test]
async fn the_key_is_gone_from_every_file_and_the_proofs_stand() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 5).await;
    log.keep(entry(SUBJECT, READING)).await;
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.path().join("record.sqlite"))
        .read_only(true);
    let mut connection = options.connect().await.expect("a connection");
    let row = sqlx::query("SELECT key, salt FROM subjects ORDER BY number DESC LIMIT 1")
        .fetch_one(&mut connection)
        .await
        .expect("a key");
    let (key, salt): (Vec<u8>, Vec<u8>) = (row.get(0), row.get(1));
    drop(row);
    sqlx::Connection::close(connection).await.expect("closed");
    assert!(holds(folder.path(), &key) && holds(folder.path(), &salt));

    let mut erasure = entry(SUBJECT, "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    let erased = log.store.erase(&erasure).await.expect("erased");
    let Some(Placed::New { position: 6, .. }) = erased else {
        panic!("{erased:?}");
    };
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

#[tokio::test]
async fn a_subject_that_comes_again_has_another_key_and_an_unknown_one_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::of(folder.path(), 1).await;
    let erasure = Entry {
        header: loftwright_server::audit::leaf::LeafHeader {
            kind: LeafKind::Erasure,
            ..entry("player-7", "").header
        },
        ..entry("player-7", "an erasure")
    };
    assert!(log.store.erase(&erasure).await.expect("erased").is_some());
    assert_eq!(log.store.erase(&erasure).await.expect("asked"), None);
    let position = log.keep(entry("player-7", "back again")).await;
    assert_eq!(log.store.body(0).await.expect("asked"), KeptBody::Erased);
    let body = log.store.body(position).await.expect("asked");
    assert!(matches!(body, KeptBody::Whole { .. }), "{body:?}");
}
