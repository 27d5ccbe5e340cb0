//! A batch: places, leaves, nodes, bodies, requests and the size, in one transaction.

use std::collections::BTreeMap;
use std::path::Path;

use sha2::{Digest, Sha256};
use sqlx::sqlite::SqliteConnection;
use sqlx::{Connection, Executor, QueryBuilder, Row, Sqlite};
use zeroize::Zeroizing;

use super::read::{self, signed};
use super::{Writer, open};
use crate::audit::leaf::{Leaf, Salt, body_commitment, subject_commitment};
use crate::audit::merkle::{Frontier, Hash, NewNode, leaf_hash};
use crate::store::entry::{Entry, KnownRequest, LogIdentity, Placed, random};
use crate::store::fault::StoreError;
use crate::store::sealed::{self, Sealed, SubjectKey};

const BEGIN: &str = "BEGIN IMMEDIATE";

/// A subject as it is kept.
struct Subject {
    number: i64,
    key: SubjectKey,
    salt: Salt,
}

/// What a batch comes to, to be written.
#[derive(Default)]
struct Rows {
    leaves: Vec<(u64, Vec<u8>, Hash)>,
    nodes: Vec<NewNode>,
    bodies: Vec<(u64, Option<i64>, Sealed)>,
    requests: Vec<(Hash, KnownRequest)>,
}

impl Writer {
    pub(super) async fn append(
        &mut self,
        identity: &LogIdentity,
        file: &Path,
        entries: &[Entry],
    ) -> Result<Vec<Placed>, StoreError> {
        let fault = |error| StoreError::of_database(file, error);
        // Taken: whatever goes wrong, it is read again.
        let frontier = self.frontier.take();
        let mut transaction = self.connection.begin_with(BEGIN).await.map_err(fault)?;
        let mut frontier = match frontier {
            Some(frontier) => frontier,
            None => open::frontier(&mut transaction, file).await?,
        };
        let hashes: Vec<Hash> = entries
            .iter()
            .filter_map(|entry| Some(entry.request?.id))
            .collect();
        let mut known = read::requests(&mut transaction, &hashes)
            .await
            .map_err(fault)?;
        let wanted = entries
            .iter()
            .filter_map(|entry| entry.subject.as_deref())
            .map(|subject| identity.subject_hash(subject));
        let subjects = subjects(&mut transaction, wanted.collect()).await?;
        let mut rows = Rows::default();
        let mut placed = Vec::new();
        for entry in entries {
            let before = entry.request.and_then(|mark| known.get(&mark.id).copied());
            if let Some(before) = before {
                placed.push(Placed::Known(before));
                continue;
            }
            let subject = entry.subject.as_deref().map(|text| (text, identity));
            let subject = subject.and_then(|(text, identity)| {
                Some((text, subjects.get(&identity.subject_hash(text))?))
            });
            let (position, leaf) = rows.place(&mut frontier, entry, subject)?;
            if let Some(mark) = entry.request {
                let content = mark.content;
                let now = KnownRequest { position, content };
                known.insert(mark.id, now);
                rows.requests.push((mark.id, now));
            }
            placed.push(Placed::New { position, leaf });
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
        let found = subjects_kept(&mut transaction, &[hash]).await?;
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
        sqlx::query("DELETE FROM subjects WHERE number = ?")
            .bind(subject.number)
            .execute(&mut *transaction)
            .await
            .map_err(fault)?;
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
        sqlx::query("INSERT INTO blobs (digest, content) VALUES (?, ?) ON CONFLICT DO NOTHING")
            .bind(digest.as_bytes().to_vec())
            .bind(content.to_vec())
            .execute(&mut self.connection)
            .await?;
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

/// The subjects of these hashes; a new key is made for one that has none.
async fn subjects(
    connection: &mut SqliteConnection,
    mut hashes: Vec<Hash>,
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    hashes.sort_unstable();
    hashes.dedup();
    let mut found = subjects_kept(connection, &hashes).await?;
    hashes.retain(|hash| !found.contains_key(hash));
    if hashes.is_empty() {
        return Ok(found);
    }
    let mut made = Vec::new();
    for hash in &hashes {
        made.push((*hash, random::<32>()?, random::<32>()?));
    }
    let mut query = QueryBuilder::<Sqlite>::new("INSERT INTO subjects (subject_hash, key, salt) ");
    query.push_values(made, |mut row, (hash, key, salt)| {
        row.push_bind(hash.as_bytes().to_vec())
            .push_bind(key.to_vec())
            .push_bind(salt.to_vec());
    });
    query.build().execute(&mut *connection).await?;
    found.extend(subjects_kept(connection, &hashes).await?);
    Ok(found)
}

async fn subjects_kept(
    connection: &mut SqliteConnection,
    hashes: &[Hash],
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    if hashes.is_empty() {
        return Ok(BTreeMap::new());
    }
    let mut query = QueryBuilder::<Sqlite>::new(
        "SELECT number, subject_hash, key, salt FROM subjects WHERE subject_hash IN (",
    );
    let mut separated = query.separated(", ");
    for hash in hashes {
        separated.push_bind(hash.as_bytes().to_vec());
    }
    query.push(")");
    let mut subjects = BTreeMap::new();
    for row in query.build().fetch_all(connection).await? {
        let bytes = |column| -> Result<[u8; 32], StoreError> {
            let bytes: Vec<u8> = row.try_get(column)?;
            bytes.try_into().map_err(|_| StoreError::Number)
        };
        let subject = Subject {
            number: row.try_get(0)?,
            key: Zeroizing::new(bytes(2)?),
            salt: Salt(bytes(3)?),
        };
        subjects.insert(Hash(bytes(1)?), subject);
    }
    Ok(subjects)
}

impl Rows {
    /// Gives an entry the next place.
    fn place(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject: Option<(&str, &Subject)>,
    ) -> Result<(u64, Hash), StoreError> {
        let placed = self.place_leaf(frontier, entry, subject)?;
        let commitment = body_commitment(&entry.salt, &entry.body);
        let (number, sealed) = match subject {
            Some((_, subject)) => {
                let sealed = sealed::seal(&subject.key, commitment, &entry.salt, &entry.body)?;
                (Some(subject.number), sealed)
            }
            None => (None, in_the_clear(entry)),
        };
        self.bodies.push((placed.0, number, sealed));
        Ok(placed)
    }

    /// The same, with a body that everybody may read.
    fn place_in_the_clear(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        text: &str,
        subject: &Subject,
    ) -> Result<(u64, Hash), StoreError> {
        let placed = self.place_leaf(frontier, entry, Some((text, subject)))?;
        self.bodies.push((placed.0, None, in_the_clear(entry)));
        Ok(placed)
    }

    fn place_leaf(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject: Option<(&str, &Subject)>,
    ) -> Result<(u64, Hash), StoreError> {
        let position = frontier.size();
        let mut header = entry.header.clone();
        header.position = position;
        header.request_id_hash = entry.request.map(|mark| mark.id);
        header.subject_commitment =
            subject.map(|(text, subject)| subject_commitment(&subject.salt, text));
        let commitment = body_commitment(&entry.salt, &entry.body);
        let mut bytes = Leaf { header, commitment }.to_bytes()?;
        let hash = leaf_hash(&bytes);
        frontier.add(hash, &mut self.nodes)?;
        bytes.truncate(bytes.len().saturating_sub(Hash::BYTES));
        self.leaves.push((position, bytes, commitment));
        Ok((position, hash))
    }

    async fn write(self, connection: &mut SqliteConnection, size: u64) -> Result<(), sqlx::Error> {
        if self.leaves.is_empty() {
            return Ok(());
        }
        let mut query =
            QueryBuilder::<Sqlite>::new("INSERT INTO leaves (position, header, commitment) ");
        query.push_values(self.leaves, |mut row, (position, header, commitment)| {
            row.push_bind(signed(position))
                .push_bind(header)
                .push_bind(commitment.as_bytes().to_vec());
        });
        query.build().execute(&mut *connection).await?;
        let mut query = QueryBuilder::<Sqlite>::new("INSERT INTO nodes (level, place, hash) ");
        query.push_values(self.nodes, |mut row, node| {
            row.push_bind(i64::from(node.place.level))
                .push_bind(signed(node.place.index))
                .push_bind(node.hash.as_bytes().to_vec());
        });
        query.build().execute(&mut *connection).await?;
        let mut query =
            QueryBuilder::<Sqlite>::new("INSERT INTO bodies (position, subject, nonce, content) ");
        query.push_values(self.bodies, |mut row, (position, subject, sealed)| {
            row.push_bind(signed(position))
                .push_bind(subject)
                .push_bind(sealed.nonce.to_vec())
                .push_bind(sealed.content);
        });
        query.build().execute(&mut *connection).await?;
        if !self.requests.is_empty() {
            let mut query = QueryBuilder::<Sqlite>::new(
                "INSERT INTO requests (id_hash, content_hash, position) ",
            );
            query.push_values(self.requests, |mut row, (id, known)| {
                row.push_bind(id.as_bytes().to_vec())
                    .push_bind(known.content.as_bytes().to_vec())
                    .push_bind(signed(known.position));
            });
            query.build().execute(&mut *connection).await?;
        }
        sqlx::query("UPDATE log SET size = ? WHERE one = 1")
            .bind(signed(size))
            .execute(connection)
            .await?;
        Ok(())
    }
}

/// Salt and body of an entry without a secret.
fn in_the_clear(entry: &Entry) -> Sealed {
    Sealed {
        nonce: [0; 12],
        content: sealed::together(&entry.salt, &entry.body),
    }
}
