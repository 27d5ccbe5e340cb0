//! A batch and an erasure: one transaction each.

use std::collections::BTreeMap;
use std::path::Path;

use sha2::{Digest, Sha256};
use sqlx::{Connection, Executor, Row};

use super::read::{self, signed};
use super::rows::{self, Rows};
use super::{Writer, open, subjects};
use crate::audit::merkle::Hash;
use crate::store::entry::{Entry, KnownRequest, LogIdentity, Placed, RequestMark};
use crate::store::fault::StoreError;

const BEGIN: &str = "BEGIN IMMEDIATE";

impl Writer {
    pub(super) async fn append(
        &mut self,
        identity: &LogIdentity,
        file: &Path,
        groups: &[&[Entry]],
    ) -> Result<Vec<Vec<Placed>>, StoreError> {
        let fault = |error| StoreError::of_database(file, error);
        // Taken: whatever goes wrong, it is read again.
        let frontier = self.frontier.take();
        let mut transaction = self.connection.begin_with(BEGIN).await.map_err(fault)?;
        let mut frontier = match frontier {
            Some(frontier) => frontier,
            None => open::frontier(&mut transaction, file).await?,
        };
        let entries = || groups.iter().copied().flatten();
        let hashes: Vec<Hash> = entries()
            .filter_map(|entry| Some(entry.request?.id))
            .collect();
        let mut known = read::requests(&mut transaction, &hashes)
            .await
            .map_err(fault)?;
        let wanted = entries()
            .filter_map(|entry| entry.subject.as_deref())
            .map(|subject| identity.subject_hash(subject));
        let subjects = subjects::of_hashes(&mut transaction, wanted.collect()).await?;
        let mut rows = Rows::default();
        let mut placed = Vec::new();
        for group in groups {
            if let Some(before) = known_of(group, &known) {
                placed.push(vec![Placed::Known(before); group.len()]);
                continue;
            }
            let mut places = Vec::new();
            for entry in *group {
                let subject = entry.subject.as_deref();
                let subject = subject
                    .and_then(|text| Some((text, subjects.get(&identity.subject_hash(text))?)));
                let (position, leaf) = rows.place(&mut frontier, entry, subject)?;
                if let Some(RequestMark { id, content }) = entry.request {
                    known.insert(id, KnownRequest { position, content });
                }
                places.push(Placed::New { position, leaf });
            }
            placed.push(places);
        }
        rows.write(&mut transaction, frontier.size())
            .await
            .map_err(fault)?;
        transaction.commit().await.map_err(fault)?;
        self.frontier = Some(frontier);
        Ok(placed)
    }

    pub(super) async fn erase(
        &mut self,
        identity: &LogIdentity,
        file: &Path,
        entry: &Entry,
    ) -> Result<Option<Placed>, StoreError> {
        let fault = |error| StoreError::of_database(file, error);
        let Some(text) = entry.subject.as_deref() else {
            return Ok(None);
        };
        let hash = identity.subject_hash(text);
        let mut transaction = self.connection.begin_with(BEGIN).await.map_err(fault)?;
        let found = subjects::kept(&mut transaction, &[hash]).await?;
        let Some(subject) = found.get(&hash) else {
            transaction.rollback().await.map_err(fault)?;
            return Ok(None);
        };
        let mut frontier = match self.frontier.take() {
            Some(frontier) => frontier,
            None => open::frontier(&mut transaction, file).await?,
        };
        let mut rows = Rows::default();
        // The act itself is no secret, and must be readable once the key is gone.
        let (position, leaf) = rows.place_in_the_clear(&mut frontier, entry, text, subject)?;
        rows.write(&mut transaction, frontier.size())
            .await
            .map_err(fault)?;
        for forgotten in [
            "DELETE FROM subjects WHERE number = ?",
            "UPDATE facts SET outcome = NULL WHERE subject = ?",
        ] {
            sqlx::query(forgotten)
                .bind(subject.number)
                .execute(&mut *transaction)
                .await
                .map_err(fault)?;
        }
        transaction.commit().await.map_err(fault)?;
        self.frontier = Some(frontier);
        self.empty_write_ahead_log().await.map_err(fault)?;
        Ok(Some(Placed::New { position, leaf }))
    }

    /// Moves all of the write-ahead log into the database and cuts it to nothing: older pages of
    /// it would still hold a key.
    async fn empty_write_ahead_log(&mut self) -> Result<(), sqlx::Error> {
        let row = self
            .connection
            .fetch_one("PRAGMA wal_checkpoint(TRUNCATE)")
            .await?;
        match row.try_get::<i64, _>(0)? {
            0 => Ok(()),
            _ => Err(sqlx::Error::PoolTimedOut),
        }
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

/// The request of the group that has a record already.
fn known_of(group: &[Entry], known: &BTreeMap<Hash, KnownRequest>) -> Option<KnownRequest> {
    let mut requests = group.iter().filter_map(|entry| entry.request);
    requests.find_map(|mark| known.get(&mark.id).copied())
}
