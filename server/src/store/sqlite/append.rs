//! A batch and an erasure: one transaction each.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};
use sqlx::sqlite::SqliteConnection;
use sqlx::{Connection, Executor, Row};

use super::read::signed;
use super::requests::Turn;
use super::rows::{self, Revision, Rows};
use super::subjects::Subject;
use super::{SqliteStore, Writer, open, requests, subjects};
use crate::audit::merkle::{Frontier, Hash};
use crate::store::entry::{Entry, KnownRequest, Placed, RequestMark};
use crate::store::fault::StoreError;

const BEGIN: &str = "BEGIN IMMEDIATE";

impl Writer {
    pub(super) async fn append(
        &mut self,
        store: &SqliteStore,
        groups: &[&[Entry]],
    ) -> Result<Vec<Vec<Placed>>, StoreError> {
        let fault = store.fault();
        // Taken: whatever goes wrong, it is read again.
        let frontier = self.frontier.take();
        let mut transaction = self.connection.begin_with(BEGIN).await.map_err(&fault)?;
        let mut frontier = edge(&mut transaction, store, frontier, &mut self.revisions).await?;
        let mut known = known(&mut transaction, store, groups).await?;
        let hash = |subject: &String| store.identity.subject_hash(subject);
        let hashes: Vec<Vec<Option<Hash>>> = groups
            .iter()
            .map(|group| group.iter().map(|entry| entry.subject.as_ref().map(hash)))
            .map(Iterator::collect)
            .collect();
        let wanted = hashes.iter().flatten().copied().flatten().collect();
        let subjects = subjects::of_hashes(&mut transaction, wanted).await?;
        let mut rows = Rows::new(&frontier);
        let mut placed = Vec::new();
        for (group, hashes) in groups.iter().zip(&hashes) {
            if let Some(before) = known_of(group, &known) {
                placed.push(vec![Placed::Known(before); group.len()]);
                continue;
            }
            let mut places = Vec::new();
            for (entry, hash) in group.iter().zip(hashes) {
                let subject = hash.and_then(|hash| subjects.get(&hash));
                let (position, leaf) = rows.place(&mut frontier, entry, subject)?;
                if let Some(RequestMark { id, content }) = entry.request {
                    known.insert(id, KnownRequest { position, content });
                }
                places.push(Placed::New { position, leaf });
            }
            placed.push(places);
        }
        let turn = store.pending().turn(rows.count());
        let new = rows
            .write(&mut transaction, &frontier, &turn, &mut self.revisions)
            .await;
        let new = new.map_err(&fault)?;
        transaction.commit().await.map_err(&fault)?;
        self.done(store, frontier, &turn, new);
        Ok(placed)
    }

    pub(super) async fn erase(
        &mut self,
        store: &SqliteStore,
        entry: &Entry,
    ) -> Result<Option<Placed>, StoreError> {
        let fault = store.fault();
        let Some(text) = entry.subject.as_deref() else {
            return Ok(None);
        };
        let hash = store.identity.subject_hash(text);
        let mut transaction = self.connection.begin_with(BEGIN).await.map_err(&fault)?;
        let found = subjects::kept(&mut transaction, &[hash]).await?;
        let Some(subject) = found.get(&hash) else {
            transaction.rollback().await.map_err(&fault)?;
            return Ok(None);
        };
        let mut frontier = edge(
            &mut transaction,
            store,
            self.frontier.take(),
            &mut self.revisions,
        )
        .await?;
        let mut rows = Rows::new(&frontier);
        // The act itself is no secret, and must be readable once the key is gone.
        let (position, leaf) = rows.place_in_the_clear(&mut frontier, entry, subject)?;
        let turn = store.pending().turn(rows.count());
        let new = rows
            .write(&mut transaction, &frontier, &turn, &mut self.revisions)
            .await;
        let new = new.map_err(&fault)?;
        forget(&mut transaction, subject).await.map_err(&fault)?;
        transaction.commit().await.map_err(&fault)?;
        self.is_erasing = true;
        self.done(store, frontier, &turn, new);
        Ok(Some(Placed::New { position, leaf }))
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

/// The edge of the tree; where a write failed, all that is remembered is read again.
async fn edge(
    connection: &mut SqliteConnection,
    store: &SqliteStore,
    frontier: Option<Frontier>,
    revisions: &mut BTreeMap<Revision, i64>,
) -> Result<Frontier, StoreError> {
    if let Some(frontier) = frontier {
        return Ok(frontier);
    }
    revisions.clear();
    let frontier = open::frontier(&mut *connection, &store.file).await?;
    let pending = requests::pending(connection, &store.file, frontier.size()).await?;
    *store.pending() = pending;
    Ok(frontier)
}

/// Those of the groups' requests that have a record.
async fn known(
    connection: &mut SqliteConnection,
    store: &SqliteStore,
    groups: &[&[Entry]],
) -> Result<BTreeMap<Hash, KnownRequest>, StoreError> {
    let entries = groups.iter().copied().flatten();
    let mut ids: Vec<Hash> = entries
        .filter_map(|entry| Some(entry.request?.id))
        .collect();
    let mut known = BTreeMap::new();
    {
        let pending = store.pending();
        ids.retain(|id| match pending.find(id) {
            Some(before) => {
                known.insert(*id, before);
                false
            }
            None => true,
        });
    }
    known.extend(requests::indexed(connection, &ids).await?);
    Ok(known)
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
