//! A batch and an erasure: one transaction each.

use std::collections::BTreeMap;
use std::sync::Arc;

use sha2::{Digest, Sha256};
use sqlx::sqlite::SqliteConnection;
use sqlx::{Executor, Row};

use super::read::signed;
use super::requests::Turn;
use super::rows::{self, Rows};
use super::subjects::{Remembered, Subject};
use super::{SqliteStore, Writer, begin, open, requests, subjects};
use crate::audit::merkle::{Frontier, Hash};
use crate::store::entry::{Entry, KnownRequest, Placed, RequestMark};
use crate::store::fault::StoreError;

impl Writer {
    pub(super) async fn append(
        &mut self,
        store: &SqliteStore,
        groups: &[&[Entry]],
    ) -> Result<Vec<Vec<Placed>>, StoreError> {
        let frontier = self.begins(store).await?;
        let done = self.append_after(store, frontier, groups).await;
        self.ends(done).await
    }

    pub(super) async fn erase(
        &mut self,
        store: &SqliteStore,
        entry: &Entry,
    ) -> Result<Option<Placed>, StoreError> {
        let frontier = self.begins(store).await?;
        let done = self.erase_after(store, frontier, entry).await;
        self.ends(done).await
    }

    /// Before a transaction: the edge of the tree, taken, so that it is read again whatever goes
    /// wrong.
    async fn begins(&mut self, store: &SqliteStore) -> Result<Frontier, StoreError> {
        // What was given up on its way was never committed.
        self.roll_back().await;
        match self.frontier.take() {
            Some(frontier) => Ok(frontier),
            None => {
                self.revisions.clear();
                *store.subjects() = Remembered::default();
                let frontier = open::frontier(&mut self.connection, &store.file).await?;
                let size = frontier.size();
                let pending = requests::pending(&mut self.connection, &store.file, size).await?;
                *store.pending() = pending;
                Ok(frontier)
            }
        }
    }

    /// After a transaction: one that did not come to its end is taken back.
    async fn ends<T>(&mut self, done: Result<T, StoreError>) -> Result<T, StoreError> {
        if done.is_err() {
            self.roll_back().await;
        }
        done
    }

    async fn roll_back(&mut self) {
        if self.is_within {
            // It fails where a failing write has ended the transaction already.
            let _ = self.connection.execute("ROLLBACK").await;
            self.is_within = false;
        }
    }

    async fn append_after(
        &mut self,
        store: &SqliteStore,
        mut frontier: Frontier,
        groups: &[&[Entry]],
    ) -> Result<Vec<Vec<Placed>>, StoreError> {
        let hashes: Vec<Vec<Option<Hash>>> = groups
            .iter()
            .map(|group| group.iter().map(|entry| subject_hash(store, entry)))
            .map(Iterator::collect)
            .collect();
        let (mut subjects, wanted) = subjects_of_late(store, &hashes);
        let (mut known, asked) = remembered(store, groups);
        if !(asked.is_empty() && wanted.is_empty()) {
            self.is_within = true;
            let found = begin::begin(&mut self.connection, &asked, wanted).await?;
            known.extend(found.0);
            let found = found.1.into_iter();
            subjects.extend(found.map(|(hash, subject)| (hash, Arc::new(subject))));
        }
        let mut rows = Rows::new(groups.iter().map(|group| group.len()).sum());
        let mut placed = Vec::new();
        for (group, hashes) in groups.iter().zip(&hashes) {
            if let Some(before) = known_of(group, &known) {
                placed.push(vec![Placed::Known(before); group.len()]);
                continue;
            }
            let mut places = Vec::new();
            for (entry, hash) in group.iter().zip(hashes) {
                let subject = hash.and_then(|hash| subjects.get(&hash));
                let subject = subject.map(Arc::as_ref);
                let (position, leaf) = rows.place(&mut frontier, entry, subject)?;
                if let Some(RequestMark { id, content }) = entry.request {
                    known.insert(id, KnownRequest { position, content });
                }
                places.push(Placed::New { position, leaf });
            }
            placed.push(places);
        }
        self.commit(store, frontier, rows).await?;
        store.subjects().take_in(subjects);
        Ok(placed)
    }

    async fn erase_after(
        &mut self,
        store: &SqliteStore,
        mut frontier: Frontier,
        entry: &Entry,
    ) -> Result<Option<Placed>, StoreError> {
        let Some(text) = entry.subject.as_deref() else {
            self.frontier = Some(frontier);
            return Ok(None);
        };
        let hash = store.identity.subject_hash(text);
        let found = subjects::kept(&mut self.connection, &[hash]).await?;
        let Some(subject) = found.get(&hash) else {
            self.frontier = Some(frontier);
            return Ok(None);
        };
        self.is_within = true;
        let fault = store.fault();
        let begun = self.connection.execute(begin::BEGIN).await;
        begun.map_err(&fault)?;
        let mut rows = Rows::new(1);
        // The act itself is no secret, and must be readable once the key is gone.
        let (position, leaf) = rows.place_in_the_clear(&mut frontier, entry, subject)?;
        store.subjects().forget(&hash);
        let forgotten = forget(&mut self.connection, subject).await;
        forgotten.map_err(&fault)?;
        self.is_erasing = true;
        self.commit(store, frontier, rows).await?;
        Ok(Some(Placed::New { position, leaf }))
    }

    /// Writes the rows and ends the transaction.
    async fn commit(
        &mut self,
        store: &SqliteStore,
        frontier: Frontier,
        rows: Rows,
    ) -> Result<(), StoreError> {
        let turn = store.pending().turn(rows.requests(), frontier.size());
        let is_begun = std::mem::replace(&mut self.is_within, true);
        let numbers = &mut self.revisions;
        let new = rows
            .commit(&mut self.connection, is_begun, &turn, numbers)
            .await;
        let new = new.map_err(store.fault())?;
        self.is_within = false;
        self.done(store, frontier, &turn, new);
        Ok(())
    }

    /// What follows a commit.
    fn done(
        &mut self,
        store: &SqliteStore,
        frontier: Frontier,
        turn: &Turn,
        new: Vec<(Hash, KnownRequest)>,
    ) {
        store.pending().advance(turn, new);
        store.backfill.after(frontier.size());
        self.frontier = Some(frontier);
    }

    /// Moves all of the write-ahead log into the database and cuts it to nothing: older pages of
    /// it would still hold a key. Somebody who reads it is waited for a moment only, since nobody
    /// writes meanwhile.
    pub(super) async fn finish_erasures(&mut self) -> Result<bool, sqlx::Error> {
        if !self.is_erasing {
            return Ok(true);
        }
        self.connection.execute("PRAGMA busy_timeout = 100").await?;
        let row = self
            .connection
            .fetch_one("PRAGMA wal_checkpoint(TRUNCATE)")
            .await;
        self.connection
            .execute("PRAGMA busy_timeout = 10000")
            .await?;
        // Its first column: whether somebody was in the way.
        self.is_erasing = row?.try_get::<i64, _>(0)? != 0;
        Ok(!self.is_erasing)
    }

    pub(super) async fn keep_blob(&mut self, content: &[u8]) -> Result<Hash, sqlx::Error> {
        let digest = Hash(Sha256::digest(content).into());
        rows::write_blob(&mut self.connection, digest, content).await?;
        Ok(digest)
    }

    pub(super) async fn keep_checkpoint(
        &mut self,
        size: u64,
        note: &str,
    ) -> Result<(), sqlx::Error> {
        sqlx::query("INSERT OR REPLACE INTO checkpoints (size, note) VALUES (?, ?)")
            .bind(signed(size))
            .bind(note.to_owned())
            .execute(&mut self.connection)
            .await?;
        Ok(())
    }
}

/// The hash by which an entry's subject is found.
fn subject_hash(store: &SqliteStore, entry: &Entry) -> Option<Hash> {
    let subject = entry.subject.as_deref()?;
    let ready = entry.body.ready(subject).map(|ready| ready.subject_hash);
    Some(ready.unwrap_or_else(|| store.identity.subject_hash(subject)))
}

/// Those of the subjects that are remembered, and the others.
fn subjects_of_late(
    store: &SqliteStore,
    hashes: &[Vec<Option<Hash>>],
) -> (BTreeMap<Hash, Arc<Subject>>, Vec<Hash>) {
    let remembered = store.subjects();
    let (mut subjects, mut others) = (BTreeMap::new(), Vec::new());
    for hash in hashes.iter().flatten().copied().flatten() {
        match remembered.get(&hash) {
            Some(subject) => drop(subjects.insert(hash, subject)),
            None => others.push(hash),
        }
    }
    (subjects, others)
}

/// Those of the groups' requests that have a record and are remembered, and those of the others
/// that the index may have.
fn remembered(
    store: &SqliteStore,
    groups: &[&[Entry]],
) -> (BTreeMap<Hash, KnownRequest>, Vec<Hash>) {
    let mut pending = store.pending();
    let (mut known, mut others) = (BTreeMap::new(), Vec::new());
    let entries = groups.iter().copied().flatten();
    for id in entries.filter_map(|entry| Some(entry.request?.id)) {
        match pending.find(&id) {
            Some(before) => drop(known.insert(id, before)),
            None if pending.is_new(&id) => {}
            None => others.push(id),
        }
    }
    (known, others)
}

/// The request of the group that has a record already.
fn known_of(group: &[Entry], known: &BTreeMap<Hash, KnownRequest>) -> Option<KnownRequest> {
    let mut requests = group.iter().filter_map(|entry| entry.request);
    requests.find_map(|mark| known.get(&mark.id).copied())
}

/// Destroys a subject's key, and what lists say of his records.
async fn forget(connection: &mut SqliteConnection, subject: &Subject) -> Result<(), sqlx::Error> {
    for forgotten in [
        "DELETE FROM subjects WHERE number = ?",
        "UPDATE facts SET outcome = NULL WHERE subject = ?",
    ] {
        sqlx::query(forgotten)
            .bind(subject.number)
            .execute(&mut *connection)
            .await?;
    }
    Ok(())
}
