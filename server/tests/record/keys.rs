//! The log's key is changed: what the old key signed still counts, what it signs later does not,
//! and a change that was interrupted is gone on with.

use std::path::Path;
use std::process::Command;

use loftwright_server::audit::leaf::LeafKind;
use loftwright_server::audit::note::{KeyRing, SignedNote, SigningKey, key_file, open_checkpoint};
use loftwright_server::store::{KeyChangeError, Store, StoreError, change_key, key_ring_of};

use crate::support::{Log, entry, fault};

fn note(path: &Path) -> String {
    std::fs::read_to_string(path.join("last-checkpoint")).expect("a note")
}

/// The key is changed, or a change of it ended.
async fn changed(path: &Path) -> KeyRing {
    loop {
        match change_key(path).await {
            // Another test is starting a process, which has our files until it runs.
            Err(KeyChangeError::Store(StoreError::InUse(_))) => tokio::task::yield_now().await,
            changed => return changed.expect("changed"),
        }
    }
}

fn is_trusted(ring: &KeyRing, note: &str) -> bool {
    open_checkpoint(note.as_bytes(), ring).is_ok()
}

#[tokio::test]
async fn the_checkpoint_at_a_change_is_signed_by_both_keys_and_later_ones_by_the_new() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    drop(Log::of(path, 3).await);
    let old_alone = key_ring_of(path).expect("a key");
    let before = note(path);
    let ring = changed(path).await;
    let at_change = note(path);
    let signed = SignedNote::parse(at_change.as_bytes()).expect("a note");
    assert_eq!(signed.signatures().len(), 2);
    let lines: Vec<String> = ring.to_string().lines().map(str::to_owned).collect();
    assert!(
        matches!(lines.as_slice(), [old, new]
        if old.ends_with(" to 4") && new.ends_with(" from 4")),
        "{lines:?}"
    );

    let mut log = Log::open(path).await.expect("opened with the new key");
    let places = log.store.places_of_kinds(&[LeafKind::Key], 0, 10).await;
    assert_eq!(places.expect("places"), [3]);
    log.keep(entry("player-7", "one more")).await;
    let later = log.notary.sign().await.expect("signed").to_owned();
    for note in [&before, &at_change, &later] {
        assert!(is_trusted(&ring, note), "{note}");
    }
    let trusted = [&before, &at_change, &later].map(|note| is_trusted(&old_alone, note));
    assert_eq!(trusted, [true, true, false]);
    drop(log);

    // A second change: three keys, each with its sizes.
    let ring = changed(path).await;
    assert_eq!(key_ring_of(path).expect("kept"), ring);
    let sizes: Vec<_> = ring
        .keys()
        .iter()
        .map(|key| (key.first, key.last))
        .collect();
    assert_eq!(sizes, [(0, Some(4)), (4, Some(6)), (6, None)]);
}

#[tokio::test]
async fn a_change_that_was_interrupted_is_named_and_ended() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    drop(Log::of(path, 3).await);
    let (key, next) = (path.join("signing-key"), path.join("signing-key.next"));
    let old = std::fs::read(&key).expect("a key");
    let name = key_file::read(&key)
        .expect("a key")
        .verifier()
        .name()
        .to_owned();
    let made = SigningKey::generate(&name).expect("a key");

    // Only the new key was made.
    key_file::create(&next, &made).expect("written");
    let begun = fault(path).await;
    assert!(matches!(begun, StoreError::KeyChangeBegun(_)), "{begun}");
    let before = note(path);
    let ring = changed(path).await;
    assert_eq!(
        ring.keys().last().map(|key| &key.key),
        Some(made.verifier())
    );

    // All but the last step was done.
    std::fs::rename(&key, &next).expect("renamed");
    std::fs::write(&key, &old).expect("written");
    let owner_alone = std::fs::metadata(&next).expect("a file").permissions();
    std::fs::set_permissions(&key, owner_alone).expect("set");
    assert!(matches!(fault(path).await, StoreError::KeyChangeBegun(_)));
    assert_eq!(changed(path).await, ring);
    assert!(is_trusted(&ring, &note(path)) && note(path) != before);
    let log = Log::open(path).await.expect("opened");
    assert_eq!(log.store.size().await.expect("a size"), 4);
}

#[tokio::test]
async fn the_command_makes_shows_and_changes_a_key() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let run = |arguments: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .arg("log-key")
            .args(arguments)
            .arg("--data")
            .arg(&data)
            .output()
            .expect("run");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        (
            output.status.code(),
            text(output.stdout),
            text(output.stderr),
        )
    };
    let (code, made, _) = run(&["new", "skerry.example/record"]);
    assert_eq!(code, Some(0));
    assert!(made.starts_with("skerry.example/record+"), "{made}");
    assert_eq!(run(&["show"]).1, made);
    let (code, _, why) = run(&["new", "skerry.example/record"]);
    assert_eq!(code, Some(2));
    assert!(why.contains("never written over"), "{why}");
    drop(Log::of(&data, 2).await);
    let (code, changed, why) = run(&["rotate"]);
    assert_eq!(code, Some(0), "{why}");
    assert_eq!(changed.lines().count(), 2);
    assert!(changed.starts_with(made.trim()), "{changed}");
    assert_eq!(run(&["show"]).1, changed);
    // No secret is printed.
    assert!(!changed.contains("PRIVATE"));
}
