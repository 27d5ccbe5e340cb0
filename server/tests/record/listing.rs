//! Lists, pages of records, what speaks of what, and entries that are kept together.

use std::sync::Arc;

use loftwright_server::audit::leaf::{Leaf, LeafKind};
use loftwright_server::audit::merkle::{Hash, leaf_hash};
use loftwright_server::store::{
    Entry, EntryFacts, KeptBody, KnownRequest, ListFilter, Listed, Outcome, Placed, Recorder,
    RecorderSettings, Store, StoreError,
};

use sha2::{Digest, Sha256};

use crate::support::{Log, behind_its_back, entry};

/// A recommendation by a ruleset, made so many seconds after the others.
fn by(ruleset: &str, subject: &str, outcome: Outcome, second: i64) -> Entry {
    let mut entry = entry(subject, "a body");
    entry.header.instant_ms += 1000 * second;
    entry.header.rules_digest = Some(leaf_hash(ruleset.as_bytes()));
    entry.facts = EntryFacts {
        ruleset: Some(ruleset.to_owned()),
        outcome: Some(outcome),
        about: None,
    };
    entry
}

/// An act that rests on nothing.
fn act(kind: LeafKind, about: Option<u64>) -> Entry {
    let mut entry = entry("", "an act");
    entry.subject = None;
    entry.header.kind = kind;
    entry.header.meaning_digest = None;
    entry.facts.about = about;
    entry
}

/// Six recommendations of two rulesets, a key after the second, and a reading of the first.
async fn log(path: &std::path::Path) -> Log {
    let log = Log::open(path).await.expect("a log");
    let entries = [
        by("harbour", "player-1", Outcome::Complete, 0),
        by("quarry", "player-2", Outcome::NeedsReadings, 10),
        act(LeafKind::Key, None),
        by("harbour", "player-1", Outcome::LimitsBroken, 20),
        by("quarry", "player-3", Outcome::Complete, 30),
        act(LeafKind::ReadByAPerson, Some(0)),
        act(LeafKind::Key, None),
    ];
    log.store.append(&entries).await.expect("kept");
    log
}

async fn places(log: &Log, filter: ListFilter) -> Vec<u64> {
    let listed = log.store.list(&filter, None, 100).await.expect("a list");
    listed.iter().map(|line| line.position).collect()
}

#[tokio::test]
async fn a_list_has_what_was_asked_for_the_newest_first() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = log(folder.path()).await;
    let all = ListFilter::default();
    assert_eq!(places(&log, all.clone()).await, [6, 5, 4, 3, 2, 1, 0]);
    let page = log.store.list(&all, Some(4), 2).await.expect("a page");
    let first = page.first().expect("a line");
    let expected = Listed {
        position: 3,
        instant_ms: 1_795_000_020_000,
        kind: LeafKind::Recommendation,
        principal: "till-2".to_owned(),
        ruleset: Some("harbour".to_owned()),
        revision: Some(leaf_hash(b"harbour")),
        outcome: Some(Outcome::LimitsBroken),
        about: None,
        is_erased: false,
    };
    assert_eq!((first, page.len()), (&expected, 2));
    let filter = |change: &dyn Fn(&mut ListFilter)| {
        let mut filter = ListFilter::default();
        change(&mut filter);
        filter
    };
    let asked = [
        (
            filter(&|filter| filter.kinds = vec![LeafKind::Key]),
            vec![6, 2],
        ),
        (
            filter(&|filter| filter.ruleset = Some("quarry".to_owned())),
            vec![4, 1],
        ),
        (
            filter(&|filter| filter.revision = Some(leaf_hash(b"harbour"))),
            vec![3, 0],
        ),
        (
            filter(&|filter| filter.outcome = Some(Outcome::Complete)),
            vec![4, 0],
        ),
        (
            filter(&|filter| {
                filter.first_instant_ms = Some(1_795_000_010_000);
                filter.last_instant_ms = Some(1_795_000_020_000);
            }),
            vec![3, 1],
        ),
        (
            filter(&|filter| filter.ruleset = Some("nobody".to_owned())),
            vec![],
        ),
    ];
    for (filter, expected) in asked {
        assert_eq!(places(&log, filter.clone()).await, expected, "{filter:?}");
    }
}

#[tokio::test]
async fn the_places_of_kinds_come_in_order_and_page_by_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = log(folder.path()).await;
    let of = async |kinds: &[LeafKind], from, most| {
        let places = log.store.places_of_kinds(kinds, from, most).await;
        places.expect("places")
    };
    let both = [LeafKind::ReadByAPerson, LeafKind::Key];
    assert_eq!(of(&both, 0, 10).await, [2, 5, 6]);
    assert_eq!(of(&both, 0, 2).await, [2, 5]);
    assert_eq!(of(&both, 6, 2).await, [6]);
    assert_eq!(of(&[LeafKind::Recommendation], 1, 2).await, [1, 3]);
    assert_eq!(of(&[LeafKind::Role], 0, 10).await, [0_u64; 0]);
}

#[tokio::test]
async fn what_speaks_of_a_record_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = log(folder.path()).await;
    log.keep(act(LeafKind::ReadByAPerson, Some(0))).await;
    assert_eq!(log.store.about(0).await.expect("asked"), [5, 7]);
    assert_eq!(log.store.about(1).await.expect("asked"), [0_u64; 0]);
}

#[tokio::test]
async fn an_erased_subject_has_no_outcome_and_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = log(folder.path()).await;
    let mut erasure = entry("player-1", "an erasure");
    erasure.header.kind = LeafKind::Erasure;
    log.store.erase(&erasure).await.expect("erased");
    let lines = log.store.list(&ListFilter::default(), None, 100).await;
    let lines = lines.expect("a list");
    let erased: Vec<u64> = lines
        .iter()
        .filter(|line| line.is_erased && line.outcome.is_none())
        .map(|line| line.position)
        .collect();
    assert_eq!(erased, [3, 0]);
    let complete = ListFilter {
        outcome: Some(Outcome::Complete),
        ..ListFilter::default()
    };
    assert_eq!(places(&log, complete).await, [4]);
    let records = log.store.records(2, 2).await.expect("records");
    let bodies: Vec<bool> = records
        .iter()
        .map(|record| record.body == KeptBody::Erased)
        .collect();
    assert_eq!(bodies, [false, true]);
}

#[tokio::test]
async fn records_come_with_leaf_and_body_page_by_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = log(folder.path()).await;
    let mut next = 0;
    while let records = log.store.records(next, 3).await.expect("records")
        && !records.is_empty()
    {
        for record in records {
            assert_eq!(record.position, next);
            let leaf = log.store.leaf(next).await.expect("read");
            assert_eq!(Some(&record.leaf), leaf.as_ref());
            assert_eq!(record.body, log.store.body(next).await.expect("a body"));
            let header = Leaf::parse(&record.leaf).expect("a leaf").header;
            assert_eq!(header.position, next);
            next += 1;
        }
    }
    assert_eq!(next, 7);
}

#[tokio::test]
async fn a_page_ends_with_what_was_kept_together_unless_it_begins_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    for count in [5, 3, 4] {
        let entries = vec![entry("player-1", "a body"); count];
        log.store.append(&entries).await.expect("kept");
    }
    let places = async |from, most| {
        let records = log.store.records(from, most).await.expect("records");
        let positions = records.iter().map(|record| record.position);
        positions.collect::<Vec<u64>>()
    };
    assert_eq!(places(0, 8).await, (0..8).collect::<Vec<_>>());
    assert_eq!(places(0, 7).await, (0..5).collect::<Vec<_>>());
    assert_eq!(places(3, 4).await, [3, 4]);
    assert_eq!(places(1, 2).await, [1, 2]);
    assert_eq!(places(5, 100).await, (5..12).collect::<Vec<_>>());
    assert!(places(12, 8).await.is_empty());
    // What is missing stands for the end: whoever goes on there is given nothing.
    behind_its_back(folder.path(), "DELETE FROM records WHERE first = 5").await;
    assert_eq!(places(0, 100).await, (0..5).collect::<Vec<_>>());
    assert!(places(5, 100).await.is_empty());
}

#[tokio::test]
async fn a_line_that_is_not_that_of_its_leaf_is_found_by_its_place() {
    for change in [
        "UPDATE facts SET kind = 'published' WHERE position = 3",
        "UPDATE facts SET instant_ms = instant_ms + 1 WHERE position = 3",
        "UPDATE facts SET revision = 2 WHERE position = 3",
        "UPDATE facts SET outcome = 'splendid' WHERE position = 3",
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let log = log(folder.path()).await;
        behind_its_back(folder.path(), change).await;
        let found = log.store.list(&ListFilter::default(), None, 100).await;
        assert!(
            matches!(found, Err(StoreError::Row { position: 3, .. })),
            "{change}: {found:?}"
        );
    }
}

#[tokio::test]
async fn what_is_kept_together_stands_together_or_not_at_all() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let store = Arc::clone(&log.store);
    let mark = store.identity().request_mark("till-2", "an id", b"all");
    let (recorder, task) = Recorder::start(store.clone(), log.notary, RecorderSettings::default());
    let build = Entry {
        request: Some(mark),
        blobs: vec![Arc::from(b"a snapshot".as_slice())],
        ..entry("player-1", "a build")
    };
    let together = vec![build, act(LeafKind::Key, Some(0))];
    let other = recorder.keep(act(LeafKind::Key, None));
    let (placed, other) = tokio::join!(recorder.keep_together(together.clone()), other);
    let positions: Vec<u64> = placed
        .expect("kept")
        .into_iter()
        .chain([other.expect("kept")])
        .filter_map(|placed| match placed {
            Placed::New { position, .. } => Some(position),
            Placed::Known(_) => None,
        })
        .collect();
    assert_eq!(positions, [0, 1, 2]);
    let known = Placed::Known(KnownRequest {
        position: 0,
        content: mark.content,
    });
    let again = recorder.keep_together(together).await.expect("answered");
    assert_eq!(again, [known, known]);
    assert_eq!(store.size().await.expect("a size"), 3);
    let digest = Hash(Sha256::digest(b"a snapshot").into());
    let blob = store.blob(digest).await.expect("read");
    assert_eq!(blob.as_deref(), Some(b"a snapshot".as_slice()));
    // More than a batch: one transaction all the same.
    let many = vec![act(LeafKind::Key, None); 100];
    let placed = recorder.keep_together(many).await.expect("kept");
    assert!(matches!(
        placed.last(),
        Some(Placed::New { position: 102, .. })
    ));
    drop(recorder);
    task.await.expect("no panic");
}
