//! Rows of every table changed, dropped and swapped behind the log's back: each is found, and its
//! place named.

use std::path::Path;

use loftwright_server::audit::act::{PartsChanged, Published};
use loftwright_server::audit::leaf::{LeafHeader, LeafKind};
use loftwright_server::audit::merkle::Hash;
use loftwright_server::store::{Entry, EntryFacts, SaltedBody, Store, check_store};

use crate::support::{Log, behind_its_back, entry, image};

/// What the records of [`full_log`] rest on.
const CONTENTS: [&[u8]; 4] = [
    b"the first source: what the rules say, and say again, and say again, and again",
    b"the second source: what the rules say after somebody thought of them again",
    b"the snapshot: one head, two heads, three heads, four heads, five heads",
    b"a file of the stock: one head, two heads",
];

/// A log of 600 records of three players, each with a request, by one revision or the other;
/// an erasure of one player; the publications of both revisions, and a stock. What the records
/// rest on is kept, and its digests are returned.
async fn full_log(path: &Path) -> [Hash; 4] {
    let mut log = Log::open(path).await.expect("a log");
    let digests = kept_contents(&log).await;
    let identity = log.store.identity().clone();
    for batch in 0..10 {
        let entries: Vec<Entry> = (0..60)
            .map(|number| {
                let number = batch * 60 + number;
                let id = format!("id {number}");
                Entry {
                    request: Some(identity.request_mark("till-2", &id, b"all")),
                    ..of_house(&format!("player-{}", number % 3), digests, number % 2)
                }
            })
            .collect();
        log.store.append(&entries).await.expect("kept");
    }
    let mut erasure = entry("player-2", "an erasure");
    erasure.header = LeafHeader::bare(LeafKind::Erasure, 1_795_000_000_000, "till-2");
    log.store.erase(&erasure).await.expect("erased");
    for revision in 0..2 {
        log.keep(publication(digests, revision)).await;
    }
    log.keep(stock(digests)).await;
    log.notary.sign().await.expect("a checkpoint");
    digests
}

/// One record by each revision, both published, and a stock: nothing that nobody could miss, such
/// as the body of a subject that was erased.
pub(crate) async fn small_log(path: &Path) {
    let mut log = Log::open(path).await.expect("a log");
    let digests = kept_contents(&log).await;
    let identity = log.store.identity().clone();
    for revision in 0..2 {
        let id = format!("id {revision}");
        log.keep(Entry {
            request: Some(identity.request_mark("till-2", &id, b"all")),
            ..of_house("player-1", digests, revision)
        })
        .await;
        log.keep(publication(digests, revision)).await;
    }
    log.keep(stock(digests)).await;
    log.notary.sign().await.expect("a checkpoint");
}

async fn kept_contents(log: &Log) -> [Hash; 4] {
    let mut digests = [Hash([0; Hash::BYTES]); 4];
    for (content, digest) in CONTENTS.into_iter().zip(&mut digests) {
        *digest = log.store.keep_blob(content).await.expect("kept");
    }
    digests
}

/// A recommendation by a revision of the house.
fn of_house(subject: &str, [first, second, parts, _]: [Hash; 4], revision: usize) -> Entry {
    let mut entry = entry(subject, &format!("a body of {subject}"));
    entry.header.rules_digest = Some(if revision == 0 { first } else { second });
    entry.header.parts_digest = Some(parts);
    entry.facts = EntryFacts {
        ruleset: Some("house".to_owned()),
        ..EntryFacts::default()
    };
    entry
}

fn publication(digests: [Hash; 4], revision: usize) -> Entry {
    let act = Published {
        ruleset: "house".to_owned(),
        title: "A house".to_owned(),
        warnings: None,
        cases: None,
    };
    let like = of_house("", digests, revision);
    Entry {
        header: LeafHeader {
            kind: LeafKind::Published,
            semantics_version: None,
            parts_digest: None,
            ..like.header.clone()
        },
        subject: None,
        body: SaltedBody::new(act.to_bytes().expect("an act")).expect("a salt"),
        ..like
    }
}

fn stock([_, _, parts, file]: [Hash; 4]) -> Entry {
    let act = PartsChanged {
        stock: "demo".to_owned(),
        files: [("stock/heads.toml".to_owned(), file)].into(),
        as_of_ms: None,
        reason: "counted".to_owned(),
        changes: Vec::new(),
        record: None,
    };
    let mut header = LeafHeader::bare(LeafKind::Stock, 1_795_000_000_000, "till-2");
    header.parts_digest = Some(parts);
    Entry {
        header,
        subject: None,
        body: SaltedBody::new(act.to_bytes().expect("an act")).expect("a salt"),
        ..entry("", "")
    }
}

/// What is found of a change, in words; nothing where nothing is.
pub(crate) async fn found(path: &Path) -> Option<String> {
    let log = match Log::open(path).await {
        Ok(log) => log,
        Err(fault) => return Some(fault.to_string()),
    };
    found_by_check(&log).await
}

pub(crate) async fn found_by_check(log: &Log) -> Option<String> {
    let checked = check_store(log.store.as_ref()).await;
    checked.err().map(|fault| fault.to_string())
}

/// Rows of every table edited, dropped and swapped, and what is said of each.
const MATRIX: [(&str, &str); 31] = [
    (
        "UPDATE request_ranges SET known_to = 600 WHERE known_to = 604",
        "is damaged",
    ),
    (
        "UPDATE log SET origin = 'another'",
        "holds the log `another`",
    ),
    ("UPDATE log SET secret = zeroblob(31)", "is damaged"),
    // Each batch of 60 is a row.
    (
        "UPDATE records SET leaves = CAST(replace(CAST(leaves AS TEXT), 'till-2', 'till-3') \
      AS BLOB) WHERE first = 60",
        "record 60",
    ),
    // The commitment of its last leaf.
    (
        "UPDATE records SET leaves = CAST(substr(leaves, 1, length(leaves) - 32) \
      || zeroblob(32) AS BLOB) WHERE first = 0",
        "record 59",
    ),
    (
        "UPDATE records SET leaves = substr(leaves, 1, length(leaves) - 1) WHERE first = 0",
        "record 59: the leaf is missing",
    ),
    (
        "UPDATE records SET hashes = CAST(substr(hashes, 1, 160) || zeroblob(32) \
      || substr(hashes, 193) AS BLOB) WHERE first = 0",
        "record 5",
    ),
    (
        "UPDATE records SET hashes = CAST(substr(hashes, 1, 160) || substr(hashes, 193, 32) \
      || substr(hashes, 161, 32) || substr(hashes, 225) AS BLOB) WHERE first = 0",
        "record 5",
    ),
    (
        "UPDATE records SET hashes = substr(hashes, 33) WHERE first = 0",
        "record 59: the leaf is missing",
    ),
    ("DELETE FROM records WHERE first = 60", "record 60"),
    (
        "UPDATE records SET first = -1 WHERE first = 60; \
      UPDATE records SET first = 60 WHERE first = 120; \
      UPDATE records SET first = 120 WHERE first = -1",
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
    // A body takes 82 bytes with what stands before it: this is within the 8th of its row.
    (
        "UPDATE records SET bodies = CAST(substr(bodies, 1, 620) || x'00000000' \
      || substr(bodies, 625) AS BLOB) WHERE first = 0",
        "record 7",
    ),
    (
        "UPDATE records SET bodies = zeroblob(60) WHERE first = 60",
        "record 60",
    ),
    (
        "UPDATE records SET bodies = substr(bodies, 1, 600) WHERE first = 60",
        "record 67",
    ),
    (
        "UPDATE records SET bodies = x'' WHERE first = 60",
        "record 60",
    ),
    (
        "CREATE TEMP TABLE swapped AS SELECT first, bodies FROM records; \
      UPDATE records SET bodies = (SELECT bodies FROM swapped \
      WHERE first = 180 - records.first) WHERE first IN (60, 120)",
        "record 60",
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
        "INSERT INTO checkpoints SELECT 5, note FROM checkpoints",
        "record 4: the checkpoint",
    ),
    (
        "INSERT INTO checkpoints SELECT 5, replace(note, '604', '5') FROM checkpoints",
        "record 4: the checkpoint",
    ),
    (
        "DELETE FROM request_ranges WHERE first_byte = 3",
        "is damaged",
    ),
];

/// The same of what the leaves of a log rest on, whose digests these are.
fn of_contents([first, second, parts, file]: [Hash; 4]) -> Vec<(String, String)> {
    let dropped = |digest: Hash| format!("DELETE FROM blobs WHERE digest = x'{digest}'");
    let gone = |record: u64, what: &str, digest: Hash| {
        format!("record {record} rests on {what}, and the content {digest} is not kept any more")
    };
    let other = |digest: Hash| format!("the content {digest} is not what was kept");
    let packed = |digest: Hash| format!("(SELECT content FROM blobs WHERE digest = x'{digest}')");
    vec![
        (dropped(first), gone(0, "the source of its rules", first)),
        (dropped(second), gone(1, "the source of its rules", second)),
        (dropped(parts), gone(0, "the snapshot of its parts", parts)),
        (dropped(file), gone(603, "a file of its stock", file)),
        (
            format!(
                "CREATE TEMP TABLE swapped AS SELECT * FROM blobs; UPDATE blobs SET content = \
                 (SELECT content FROM swapped WHERE digest = CASE blobs.digest WHEN x'{first}' \
                 THEN x'{second}' ELSE x'{first}' END) WHERE digest IN (x'{first}', x'{second}')"
            ),
            other(first.min(second)),
        ),
        (
            format!(
                "UPDATE blobs SET content = {} WHERE digest = x'{file}'",
                packed(parts)
            ),
            other(file),
        ),
        (
            format!(
                "UPDATE blobs SET content = substr(content, 1, length(content) - 1) \
                 WHERE digest = x'{parts}'"
            ),
            other(parts),
        ),
        (
            format!("UPDATE blobs SET content = x'' WHERE digest = x'{parts}'"),
            other(parts),
        ),
        (
            format!("UPDATE blobs SET digest = substr(digest, 2) WHERE digest = x'{parts}'"),
            "under a digest of 31 bytes".to_owned(),
        ),
    ]
}

/// The same of the revisions that lists name.
fn of_revisions([first, second, ..]: [Hash; 4]) -> Vec<(String, String)> {
    let unlisted = |record: u64| format!("record {record}: what lists say of it");
    let named = |digest: Hash| format!("WHERE revision = x'{digest}'");
    vec![
        (
            format!("UPDATE revisions SET ruleset = 'cottage' {}", named(first)),
            "record 601: lists call its ruleset by another name".to_owned(),
        ),
        (
            format!(
                "UPDATE revisions SET revision = zeroblob(32) {}",
                named(second)
            ),
            unlisted(602),
        ),
        (
            format!("DELETE FROM revisions {}", named(first)),
            unlisted(601),
        ),
        (
            format!("UPDATE revisions SET number = 99 {}", named(second)),
            unlisted(602),
        ),
        (
            "UPDATE revisions SET number = -number; \
             UPDATE revisions SET number = 3 + number"
                .to_owned(),
            unlisted(602),
        ),
    ]
}

#[tokio::test]
async fn a_row_of_any_table_that_was_edited_dropped_or_swapped_is_found_and_named() {
    let whole = tempfile::tempdir().expect("a folder");
    let digests = full_log(whole.path()).await;
    assert_eq!(found(whole.path()).await, None);
    let of_log = MATRIX.map(|(change, said)| (change.to_owned(), said.to_owned()));
    let of_rest = [of_contents(digests), of_revisions(digests)].concat();
    for (change, said) in of_log.into_iter().chain(of_rest) {
        let folder = tempfile::tempdir().expect("a folder");
        image(whole.path(), folder.path());
        behind_its_back(folder.path(), &change).await;
        let found = found(folder.path()).await.unwrap_or_default();
        assert!(found.contains(&said), "{change}: {found}");
    }
}
