//! The one writer: batches, retries, a full queue, a commit that fails.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;

use loftwright_server::audit::leaf::LeafKind;
use loftwright_server::audit::merkle::{Hash, NodePlace, verify_consistency, verify_inclusion};
use loftwright_server::audit::note::Checkpoint;
use loftwright_server::audit::note::SignedNote;
use loftwright_server::store::{
    Beside, Entry, KeptBody, KeptRecord, KnownRequest, ListFilter, Listed, LogIdentity,
    MOST_IN_A_BATCH, NotRecorded, Placed, Recorder, RecorderSettings, SqliteStore, Store,
    StoreError, consistency_proof, inclusion_proof,
};
use sqlx::{ConnectOptions, Row};
use tokio::sync::Semaphore;

use crate::support::{Log, entry};

/// A store that lets one append through for each permit, and fails where it is told to.
struct Gated {
    inner: Arc<SqliteStore>,
    permits: Semaphore,
    batches: std::sync::Mutex<Vec<usize>>,
    fails_from: usize,
}

impl Gated {
    fn of(inner: Arc<SqliteStore>, fails_from: usize) -> Arc<Self> {
        Arc::new(Gated {
            inner,
            permits: Semaphore::new(0),
            batches: std::sync::Mutex::default(),
            fails_from,
        })
    }

    fn batches(&self) -> Vec<usize> {
        self.batches.lock().expect("no panic").clone()
    }
}

#[tonic::async_trait]
impl Store for Gated {
    async fn check_file(&self) -> Result<(), StoreError> {
        self.inner.check_file().await
    }
    fn identity(&self) -> &LogIdentity {
        self.inner.identity()
    }
    async fn size(&self) -> Result<u64, StoreError> {
        self.inner.size().await
    }
    async fn append_groups(&self, groups: &[&[Entry]]) -> Result<Vec<Vec<Placed>>, StoreError> {
        self.permits.acquire().await.expect("open").forget();
        let number = {
            let mut batches = self.batches.lock().expect("no panic");
            batches.push(groups.iter().map(|group| group.len()).sum());
            batches.len()
        };
        if number > self.fails_from {
            return Err(StoreError::NoRandomness);
        }
        self.inner.append_groups(groups).await
    }
    async fn erase(&self, entry: &Entry) -> Result<Option<Placed>, StoreError> {
        self.inner.erase(entry).await
    }
    async fn finish_erasures(&self) -> Result<bool, StoreError> {
        self.inner.finish_erasures().await
    }
    async fn leaf(&self, position: u64) -> Result<Option<Vec<u8>>, StoreError> {
        self.inner.leaf(position).await
    }
    async fn leaves(&self, from: u64, most: usize) -> Result<Vec<Vec<u8>>, StoreError> {
        self.inner.leaves(from, most).await
    }
    async fn body(&self, position: u64) -> Result<KeptBody, StoreError> {
        self.inner.body(position).await
    }
    async fn beside(&self, position: u64) -> Result<Beside, StoreError> {
        self.inner.beside(position).await
    }
    async fn records(&self, from: u64, most: usize) -> Result<Vec<KeptRecord>, StoreError> {
        self.inner.records(from, most).await
    }
    async fn places_of_kinds(
        &self,
        kinds: &[LeafKind],
        from: u64,
        most: usize,
    ) -> Result<Vec<u64>, StoreError> {
        self.inner.places_of_kinds(kinds, from, most).await
    }
    async fn list(
        &self,
        filter: &ListFilter,
        before: Option<u64>,
        most: usize,
    ) -> Result<Vec<Listed>, StoreError> {
        self.inner.list(filter, before, most).await
    }
    async fn about(&self, position: u64) -> Result<Vec<u64>, StoreError> {
        self.inner.about(position).await
    }
    async fn nodes(
        &self,
        places: &BTreeSet<NodePlace>,
    ) -> Result<BTreeMap<NodePlace, Hash>, StoreError> {
        self.inner.nodes(places).await
    }
    async fn request(&self, hash: Hash) -> Result<Option<KnownRequest>, StoreError> {
        self.inner.request(hash).await
    }
    async fn keep_blob(&self, content: &[u8]) -> Result<Hash, StoreError> {
        self.inner.keep_blob(content).await
    }
    async fn blob(&self, digest: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        self.inner.blob(digest).await
    }
    async fn contents(&self, after: Option<Hash>, most: usize) -> Result<Vec<Hash>, StoreError> {
        self.inner.contents(after, most).await
    }
    async fn keep_checkpoint(&self, size: u64, note: &str) -> Result<(), StoreError> {
        self.inner.keep_checkpoint(size, note).await
    }
    async fn checkpoints(&self, over: u64, most: usize) -> Result<Vec<(u64, String)>, StoreError> {
        self.inner.checkpoints(over, most).await
    }
    async fn last_checkpoint(&self) -> Result<Option<String>, StoreError> {
        self.inner.last_checkpoint().await
    }
}

const SETTINGS: RecorderSettings = RecorderSettings {
    most_waiting: 200,
    checkpoint_every: Duration::ZERO,
};

/// Callers that have all queued their entry: the first append is held until the gate opens.
fn callers(
    recorder: &Recorder,
    count: usize,
) -> Vec<tokio::task::JoinHandle<Result<Placed, NotRecorded>>> {
    (0..count)
        .map(|number| {
            let recorder = recorder.clone();
            let entry = entry(&format!("player-{}", number % 5), "a body");
            tokio::spawn(async move { recorder.keep(entry).await })
        })
        .collect()
}

#[tokio::test]
async fn what_waits_is_written_together_and_every_caller_has_a_place_of_his_own() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let gated = Gated::of(log.store, usize::MAX);
    let (recorder, task) = Recorder::start(gated.clone(), log.notary, SETTINGS);
    let callers = callers(&recorder, 150);
    // On one thread: each caller runs up to its wait before this goes on.
    tokio::task::yield_now().await;
    gated.permits.add_permits(10);
    let mut places = BTreeSet::new();
    for caller in callers {
        match caller.await.expect("no panic").expect("kept") {
            Placed::New { position, .. } => assert!(places.insert(position)),
            known => panic!("{known:?}"),
        }
    }
    assert_eq!(places, (0..150).collect());
    let batches = gated.batches();
    assert_eq!(batches.iter().sum::<usize>(), 150);
    assert!(batches.len() <= 4, "{batches:?}");
    assert!(batches.iter().all(|batch| *batch <= MOST_IN_A_BATCH));
    let note = recorder.checkpoint().await.expect("a checkpoint");
    let note = SignedNote::parse(note.as_bytes()).expect("a note");
    let checkpoint = Checkpoint::parse(note.text()).expect("a checkpoint");
    assert_eq!(checkpoint.size, 150);
    for position in [0, 63, 149] {
        let proof = inclusion_proof(gated.as_ref(), position, 150)
            .await
            .expect("a proof");
        let leaf = gated.leaf(position).await.expect("read").expect("a leaf");
        let hash = loftwright_server::audit::merkle::leaf_hash(&leaf);
        assert_eq!(
            verify_inclusion(&hash, position, 150, &proof, &checkpoint.root),
            Ok(())
        );
    }
    let root = loftwright_server::store::root_of(gated.as_ref(), 64)
        .await
        .expect("a root");
    let proof = consistency_proof(gated.as_ref(), 64, 150)
        .await
        .expect("a proof");
    assert_eq!(
        verify_consistency(64, 150, &proof, &root, &checkpoint.root),
        Ok(())
    );
    drop(recorder);
    task.await.expect("no panic");
}

#[tokio::test]
async fn a_full_queue_is_refused_and_what_is_in_it_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let gated = Gated::of(log.store, usize::MAX);
    let settings = RecorderSettings {
        most_waiting: 3,
        ..SETTINGS
    };
    let (recorder, task) = Recorder::start(gated.clone(), log.notary, settings);
    let callers = callers(&recorder, 80);
    let (mut kept, mut refused) = (0, 0);
    tokio::task::yield_now().await;
    gated.permits.add_permits(100);
    for caller in callers {
        match caller.await.expect("no panic") {
            Ok(_) => kept += 1,
            Err(why) => {
                assert_eq!(why, NotRecorded::QueueFull { most: 3 });
                refused += 1;
            }
        }
    }
    assert!(refused > 0 && kept >= 3, "{kept} kept, {refused} refused");
    assert_eq!(gated.size().await.expect("a size"), kept);
    drop(recorder);
    task.await.expect("no panic");
}

#[tokio::test]
async fn after_a_commit_that_failed_nothing_is_taken_and_everybody_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let gated = Gated::of(log.store, 1);
    let (recorder, task) = Recorder::start(gated.clone(), log.notary, SETTINGS);
    let callers = callers(&recorder, 190);
    tokio::task::yield_now().await;
    gated.permits.add_permits(10);
    let mut kept = 0;
    for caller in callers {
        match caller.await.expect("no panic") {
            Ok(_) => kept += 1,
            Err(why) => assert_eq!(why, NotRecorded::Stopped),
        }
    }
    assert_eq!(gated.size().await.expect("a size"), kept);
    assert!(kept <= 64, "{kept}");
    recorder.stopped().await;
    let late = recorder.keep(entry("player-1", "late")).await;
    assert_eq!(late, Err(NotRecorded::Stopped));
    task.await.expect("no panic");
}

#[tokio::test]
async fn a_retry_finds_its_record_also_in_one_batch_and_after_a_restart() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let mark = |log: &Log, content: &str| {
        log.store
            .identity()
            .request_mark("till-2", "an id", content.as_bytes())
    };
    let marked = Entry {
        request: Some(mark(&log, "one")),
        ..entry("player-1", "a body")
    };
    let placed = log
        .store
        .append(&[marked.clone(), marked.clone()])
        .await
        .expect("kept");
    let known = KnownRequest {
        position: 0,
        content: mark(&log, "one").content,
    };
    assert!(matches!(
        placed.first(),
        Some(Placed::New { position: 0, .. })
    ));
    assert_eq!(placed.get(1), Some(&Placed::Known(known)));
    drop(log);
    let log = Log::open(folder.path()).await.expect("opened again");
    let again = log.store.append(&[marked]).await.expect("kept");
    assert_eq!(again, [Placed::Known(known)]);
    assert_ne!(known.content, mark(&log, "two").content);
    assert_eq!(log.store.size().await.expect("a size"), 1);
    let other = log.store.identity().request_mark("till-3", "an id", b"one");
    assert_eq!(log.store.request(other.id).await.expect("asked"), None);
}

#[tokio::test]
async fn blobs_are_kept_once_under_their_digest() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let digest = log.store.keep_blob(b"abc").await.expect("kept");
    assert_eq!(log.store.keep_blob(b"abc").await.expect("kept"), digest);
    // FIPS 180-4's example of SHA-256, "abc".
    assert!(digest.to_string().starts_with("ba7816bf8f01cfea"));
    let found = log.store.blob(digest).await.expect("read");
    assert_eq!(found.as_deref(), Some(b"abc".as_slice()));
}

/// However large the batches are, what is read of them at the next start stays small.
#[tokio::test]
async fn large_batches_come_into_the_index_of_requests_and_are_found_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = Log::open(folder.path()).await.expect("a log");
    let identity = log.store.identity().clone();
    let id = |number: u32| {
        let id = format!("id {number}");
        identity.request_mark("till-2", &id, b"all")
    };
    for batch in 0..18 {
        let entries: Vec<Entry> = (0..1024)
            .map(|number| Entry {
                request: Some(id(batch * 1024 + number)),
                ..entry("player-1", "a body")
            })
            .collect();
        log.store.append(&entries).await.expect("kept");
    }
    drop(log);
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.path().join("record.sqlite"))
        .read_only(true);
    let mut connection = options.connect().await.expect("a connection");
    let row = sqlx::query("SELECT min(known_to) FROM request_ranges")
        .fetch_one(&mut connection)
        .await
        .expect("a row");
    // 16 batches of 16 first bytes each, before the last one: at least all but the last 16.
    assert!(
        row.get::<i64, _>(0) >= 1024,
        "every first byte has its turn"
    );
    drop(connection);
    let log = Log::open(folder.path()).await.expect("opened again");
    for number in [0, 1, 9_000, 18_431] {
        let known = log.store.request(id(number).id).await.expect("asked");
        let position = known.map(|known| known.position);
        assert_eq!(position, Some(u64::from(number)));
    }
}
