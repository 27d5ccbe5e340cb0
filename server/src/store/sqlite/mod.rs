//! The store in one SQLite file: write-ahead log, synchronous FULL, what is deleted overwritten.

mod append;
mod backfill;
mod begin;
mod bodies;
mod list;
mod nodes;
mod open;
mod read;
mod records;
mod requests;
mod rows;
mod statement;
mod subjects;

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::{Arc, MutexGuard, PoisonError};

use async_trait::async_trait;
use sha2::{Digest, Sha256};
use sqlx::sqlite::{SqliteConnection, SqlitePool};
use tokio::sync::Mutex;

use self::backfill::Backfill;
use self::requests::Pending;
use self::rows::Revision;
use self::subjects::Remembered;
use super::Store;
use super::entry::{Beside, Entry, KeptBody, KnownRequest, LogIdentity, Placed};
use super::facts::{KeptRecord, ListFilter, Listed};
use super::fault::StoreError;
use super::packed;
use super::salted::Ready;
use crate::audit::leaf::LeafKind;
use crate::audit::merkle::{Frontier, Hash, NodePlace};

/// A log in a SQLite file.
pub struct SqliteStore {
    file: PathBuf,
    identity: LogIdentity,
    writer: Arc<Mutex<Writer>>,
    readers: SqlitePool,
    backfill: Backfill,
    /// Requests that the index has not taken yet; the writer alone changes them.
    pending: std::sync::Mutex<Pending>,
    /// The subjects of late; the writer alone changes them.
    subjects: std::sync::Mutex<Remembered>,
}

/// The one connection that writes, and the edge of the tree as it left it.
struct Writer {
    connection: SqliteConnection,
    /// Absent while something is written, and for good after a write that failed.
    frontier: Option<Frontier>,
    /// The numbers of revisions that were written before.
    revisions: BTreeMap<Revision, i64>,
    /// Whether a transaction may be open.
    is_within: bool,
    /// Whether the write-ahead log may hold a key that was destroyed.
    is_erasing: bool,
}

impl std::fmt::Debug for SqliteStore {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter
            .debug_struct("SqliteStore")
            .field("file", &self.file)
            .field("identity", &self.identity)
            .finish_non_exhaustive()
    }
}

impl SqliteStore {
    fn fault(&self) -> impl Fn(sqlx::Error) -> StoreError + '_ {
        |error| StoreError::of_database(&self.file, error)
    }

    /// The error of the database among others.
    fn of_file(&self, error: StoreError) -> StoreError {
        match error {
            StoreError::Database(error) => StoreError::of_database(&self.file, error),
            other => other,
        }
    }

    fn pending(&self) -> MutexGuard<'_, Pending> {
        self.pending.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn subjects(&self) -> MutexGuard<'_, Remembered> {
        self.subjects.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[async_trait]
impl Store for SqliteStore {
    async fn check_file(&self) -> Result<(), StoreError> {
        match read::fault_of_file(&self.readers).await {
            Ok(None) => Ok(()),
            Ok(Some(why)) => Err(StoreError::Damaged {
                file: self.file.clone(),
                why,
            }),
            Err(error) => Err(StoreError::of_database(&self.file, error)),
        }
    }

    fn identity(&self) -> &LogIdentity {
        &self.identity
    }

    async fn size(&self) -> Result<u64, StoreError> {
        read::size(&self.readers).await.map_err(self.fault())
    }

    fn make_ready(&self, entry: &mut Entry) {
        let Some(text) = &entry.subject else {
            return;
        };
        let subject_hash = self.identity.subject_hash(text);
        let subject = self.subjects().get(&subject_hash);
        let ready = Ready {
            subject: text.clone(),
            subject_hash,
            // What cannot be sealed now is sealed as it is written, or that fails.
            sealed: subject.and_then(|subject| subject.seal(text, &entry.body).ok()),
        };
        entry.body.make_ready(ready);
    }

    async fn append_groups(&self, groups: &[&[Entry]]) -> Result<Vec<Vec<Placed>>, StoreError> {
        let mut writer = self.writer.lock().await;
        writer.append(self, groups).await
    }

    async fn erase(&self, entry: &Entry) -> Result<Option<Placed>, StoreError> {
        let mut writer = self.writer.lock().await;
        writer.erase(self, entry).await
    }

    async fn finish_erasures(&self) -> Result<bool, StoreError> {
        let mut writer = self.writer.lock().await;
        writer.finish_erasures().await.map_err(self.fault())
    }

    async fn leaf(&self, position: u64) -> Result<Option<Vec<u8>>, StoreError> {
        read::leaf(&self.readers, position)
            .await
            .map_err(self.fault())
    }

    async fn leaves(&self, from: u64, most: usize) -> Result<Vec<Vec<u8>>, StoreError> {
        read::leaves(&self.readers, from, most)
            .await
            .map_err(self.fault())
    }

    async fn body(&self, position: u64) -> Result<KeptBody, StoreError> {
        let record = self.records(position, 1).await?.pop();
        Ok(record.map_or(KeptBody::NoLeaf, |record| record.body))
    }

    async fn beside(&self, position: u64) -> Result<Beside, StoreError> {
        let beside = read::beside(&self.readers, position).await;
        beside.map_err(|error| self.of_file(error))
    }

    async fn records(&self, from: u64, most: usize) -> Result<Vec<KeptRecord>, StoreError> {
        let records = bodies::records(&self.readers, from, most).await;
        records.map_err(|error| self.of_file(error))
    }

    async fn places_of_kinds(
        &self,
        kinds: &[LeafKind],
        from: u64,
        most: usize,
    ) -> Result<Vec<u64>, StoreError> {
        list::places_of_kinds(&self.readers, kinds, from, most)
            .await
            .map_err(self.fault())
    }

    async fn list(
        &self,
        filter: &ListFilter,
        before: Option<u64>,
        most: usize,
    ) -> Result<Vec<Listed>, StoreError> {
        let lines = list::list(&self.readers, filter, before, most).await;
        lines.map_err(|error| self.of_file(error))
    }

    async fn about(&self, position: u64) -> Result<Vec<u64>, StoreError> {
        list::about(&self.readers, position)
            .await
            .map_err(self.fault())
    }

    async fn nodes(
        &self,
        places: &BTreeSet<NodePlace>,
    ) -> Result<BTreeMap<NodePlace, Hash>, StoreError> {
        let mut reader = self.readers.acquire().await.map_err(self.fault())?;
        nodes::at(&mut reader, &self.file, places).await
    }

    async fn request(&self, hash: Hash) -> Result<Option<KnownRequest>, StoreError> {
        // First those that are remembered: they are forgotten only once the index has them.
        let size = {
            let pending = self.pending();
            if let Some(known) = pending.find(&hash) {
                return Ok(Some(known));
            }
            pending.size()
        };
        let mut reader = self.readers.acquire().await.map_err(self.fault())?;
        let found = requests::indexed(&mut reader, hash).await?;
        if found.is_none() {
            self.pending().was_sought(hash, size);
        }
        Ok(found)
    }

    async fn keep_blob(&self, content: &[u8]) -> Result<Hash, StoreError> {
        let mut writer = self.writer.lock().await;
        writer.keep_blob(content).await.map_err(self.fault())
    }

    async fn blob(&self, digest: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        let kept = read::blob(&self.readers, digest)
            .await
            .map_err(self.fault())?;
        let Some(kept) = kept else {
            return Ok(None);
        };
        let content = packed::unpack(&kept);
        let content = content.filter(|content| Hash(Sha256::digest(content).into()) == digest);
        content.map(Some).ok_or(StoreError::Content(digest))
    }

    async fn contents(&self, after: Option<Hash>, most: usize) -> Result<Vec<Hash>, StoreError> {
        let digests = list::contents(&self.readers, after, most).await;
        let digests = digests.map_err(self.fault())?.into_iter();
        let digests = digests.map(|bytes| {
            Hash::of_slice(&bytes).ok_or_else(|| StoreError::Damaged {
                file: self.file.clone(),
                why: format!("a content is kept under a digest of {} bytes", bytes.len()),
            })
        });
        digests.collect()
    }

    async fn keep_checkpoint(&self, size: u64, note: &str) -> Result<(), StoreError> {
        let mut writer = self.writer.lock().await;
        writer
            .keep_checkpoint(size, note)
            .await
            .map_err(self.fault())
    }

    async fn checkpoints(&self, over: u64, most: usize) -> Result<Vec<(u64, String)>, StoreError> {
        list::checkpoints(&self.readers, over, most)
            .await
            .map_err(self.fault())
    }

    async fn last_checkpoint(&self) -> Result<Option<String>, StoreError> {
        read::last_checkpoint(&self.readers)
            .await
            .map_err(self.fault())
    }
}
