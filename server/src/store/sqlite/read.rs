//! What is read.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use sqlx::sqlite::{SqliteConnection, SqlitePool, SqliteRow};
use sqlx::{QueryBuilder, Row, Sqlite};
use zeroize::Zeroizing;

use crate::audit::merkle::{Hash, NodePlace};
use crate::store::entry::{KeptBody, KnownRequest};
use crate::store::fault::StoreError;
use crate::store::sealed;

/// A number as the database has it: no log has as many as would not fit.
pub(super) fn signed(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// A number of the database as ours.
pub(super) fn unsigned(number: i64) -> Result<u64, sqlx::Error> {
    u64::try_from(number).map_err(|why| sqlx::Error::Decode(Box::new(why)))
}

/// A hash of a row.
fn hash(row: &SqliteRow, column: usize) -> Result<Hash, sqlx::Error> {
    let bytes: &[u8] = row.try_get(column)?;
    Hash::of_slice(bytes)
        .ok_or_else(|| sqlx::Error::Decode("a stored hash is not 32 bytes long".into()))
}

pub(super) async fn size(readers: &SqlitePool) -> Result<u64, sqlx::Error> {
    let row = sqlx::query("SELECT size FROM log")
        .fetch_one(readers)
        .await?;
    unsigned(row.try_get(0)?)
}

pub(super) async fn leaf(
    readers: &SqlitePool,
    position: u64,
) -> Result<Option<Vec<u8>>, sqlx::Error> {
    let row = sqlx::query("SELECT header, commitment FROM leaves WHERE position = ?")
        .bind(signed(position))
        .fetch_optional(readers)
        .await?;
    row.map(|row| {
        let mut bytes: Vec<u8> = row.try_get(0)?;
        bytes.extend(row.try_get::<&[u8], _>(1)?);
        Ok(bytes)
    })
    .transpose()
}

pub(super) async fn body(
    readers: &SqlitePool,
    position: u64,
) -> Result<Option<SqliteRow>, sqlx::Error> {
    sqlx::query(
        "SELECT leaves.commitment, facts.subject, bodies.nonce, bodies.content, subjects.key \
         FROM leaves LEFT JOIN bodies USING (position) LEFT JOIN facts USING (position) \
         LEFT JOIN subjects ON subjects.number = facts.subject \
         WHERE leaves.position = ?",
    )
    .bind(signed(position))
    .fetch_optional(readers)
    .await
}

/// The body of a row that begins with commitment, subject, nonce, content and key, opened.
pub(super) fn open_body(row: &SqliteRow, position: u64) -> Result<KeptBody, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let commitment = hash(row, 0)?;
    let subject: Option<i64> = row.try_get(1)?;
    let nonce: Option<&[u8]> = row.try_get(2)?;
    let content: Option<&[u8]> = row.try_get(3)?;
    let key: Option<&[u8]> = row.try_get(4)?;
    let (Some(nonce), Some(content)) = (nonce, content) else {
        return Err(damaged("its body is missing"));
    };
    let opened = match (subject, key) {
        (None, _) => sealed::apart(content),
        (Some(_), None) => return Ok(KeptBody::Erased),
        (Some(_), Some(key)) => {
            let key = key
                .try_into()
                .map_err(|_| damaged("its subject's key is not 32 bytes"))?;
            sealed::open(&Zeroizing::new(key), commitment, nonce, content.to_vec())
        }
    };
    let (salt, body) = opened.ok_or(damaged("its body is not the one that was sealed"))?;
    if crate::audit::leaf::body_commitment(&salt, &body) != commitment {
        return Err(damaged("its body is not the one that was committed to"));
    }
    Ok(KeptBody::Whole { salt, body })
}

/// The nodes at these places, all of them.
pub(super) async fn nodes(
    connection: &mut SqliteConnection,
    file: &Path,
    places: &BTreeSet<NodePlace>,
) -> Result<BTreeMap<NodePlace, Hash>, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let mut nodes = BTreeMap::new();
    // A root takes at most 62, a proof some hundreds.
    for place in places {
        let row = sqlx::query("SELECT hash FROM nodes WHERE level = ? AND place = ?")
            .bind(i64::from(place.level))
            .bind(signed(place.index))
            .fetch_optional(&mut *connection)
            .await
            .map_err(fault)?;
        let row = row.ok_or(StoreError::NoNode(*place))?;
        nodes.insert(*place, hash(&row, 0).map_err(fault)?);
    }
    Ok(nodes)
}

/// Those of the requests that have a record.
pub(super) async fn requests(
    connection: &mut SqliteConnection,
    hashes: &[Hash],
) -> Result<BTreeMap<Hash, KnownRequest>, sqlx::Error> {
    if hashes.is_empty() {
        return Ok(BTreeMap::new());
    }
    let mut query = QueryBuilder::<Sqlite>::new(
        "SELECT id_hash, content_hash, position FROM requests WHERE id_hash IN (",
    );
    let mut separated = query.separated(", ");
    for hash in hashes {
        separated.push_bind(hash.as_bytes().to_vec());
    }
    query.push(")");
    let rows = query.build().fetch_all(connection).await?;
    rows.iter()
        .map(|row| {
            let known = KnownRequest {
                content: hash(row, 1)?,
                position: unsigned(row.try_get(2)?)?,
            };
            Ok((hash(row, 0)?, known))
        })
        .collect()
}

pub(super) async fn blob(
    readers: &SqlitePool,
    digest: Hash,
) -> Result<Option<Vec<u8>>, sqlx::Error> {
    let row = sqlx::query("SELECT content FROM blobs WHERE digest = ?")
        .bind(digest.as_bytes().to_vec())
        .fetch_optional(readers)
        .await?;
    row.map(|row| row.try_get(0)).transpose()
}

pub(super) async fn last_checkpoint(readers: &SqlitePool) -> Result<Option<String>, sqlx::Error> {
    let row = sqlx::query("SELECT note FROM checkpoints ORDER BY size DESC LIMIT 1")
        .fetch_optional(readers)
        .await?;
    row.map(|row| row.try_get(0)).transpose()
}
