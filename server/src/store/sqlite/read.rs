//! What is read.

use sqlx::Row;
use sqlx::sqlite::{SqlitePool, SqliteRow};
use zeroize::Zeroizing;

use super::bodies::{Bodies, KeptContent};
use crate::audit::leaf::Salt;
use crate::audit::merkle::Hash;
use crate::store::entry::{Beside, KeptBody};
use crate::store::facts::Outcome;
use crate::store::fault::StoreError;
use crate::store::salted::apart;
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
pub(super) fn hash(row: &SqliteRow, column: usize) -> Result<Hash, sqlx::Error> {
    let bytes: &[u8] = row.try_get(column)?;
    Hash::of_slice(bytes)
        .ok_or_else(|| sqlx::Error::Decode("a stored hash is not 32 bytes long".into()))
}

/// What SQLite itself finds wrong with the file: pages, rows that an index does not have.
pub(super) async fn fault_of_file(readers: &SqlitePool) -> Result<Option<String>, sqlx::Error> {
    let row = sqlx::query("PRAGMA integrity_check(1)")
        .fetch_one(readers)
        .await?;
    let said: String = row.try_get(0)?;
    Ok((said != "ok").then_some(said))
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
        "SELECT leaves.commitment, facts.subject, subjects.key \
         FROM leaves LEFT JOIN facts USING (position) \
         LEFT JOIN subjects ON subjects.number = facts.subject \
         WHERE leaves.position = ?",
    )
    .bind(signed(position))
    .fetch_optional(readers)
    .await
}

/// The body of a row that begins with commitment, subject and key, opened.
pub(super) fn open_body(
    row: &SqliteRow,
    position: u64,
    bodies: &Bodies,
) -> Result<KeptBody, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let commitment = hash(row, 0)?;
    let subject: Option<i64> = row.try_get(1)?;
    let key: Option<&[u8]> = row.try_get(2)?;
    let KeptContent { nonce, content } =
        bodies.of(position).ok_or(damaged("its body is missing"))?;
    let opened = match (subject, key) {
        // In the clear: it has no nonce.
        (None, _) => apart(content).filter(|_| nonce.iter().all(|byte| *byte == 0)),
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

/// What stands beside a leaf.
pub(super) async fn beside(
    readers: &SqlitePool,
    position: u64,
) -> Result<Option<SqliteRow>, sqlx::Error> {
    sqlx::query(
        "SELECT subjects.subject_hash, subjects.salt, leaves.request_content, facts.outcome, \
         facts.about FROM leaves LEFT JOIN facts USING (position) \
         LEFT JOIN subjects ON subjects.number = facts.subject \
         WHERE leaves.position = ?",
    )
    .bind(signed(position))
    .fetch_optional(readers)
    .await
}

/// The same of a row of [`beside`].
pub(super) fn beside_of_row(row: Option<&SqliteRow>, position: u64) -> Result<Beside, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let row = row.ok_or(damaged("the leaf is missing"))?;
    let bytes = |column| row.try_get::<Option<&[u8]>, _>(column);
    let hash = |column| Ok::<_, StoreError>(bytes(column)?.and_then(Hash::of_slice));
    let salt = bytes(1)?.and_then(|salt| salt.try_into().ok());
    let outcome: Option<&str> = row.try_get(3)?;
    let about: Option<i64> = row.try_get(4)?;
    Ok(Beside {
        subject_hash: hash(0)?,
        subject_salt: salt.map(Salt),
        request_content: hash(2)?,
        outcome: outcome.and_then(Outcome::of_text),
        about: about.map(unsigned).transpose()?,
    })
}

/// The leaves from a place on, as their bytes, up to one that is missing.
pub(super) async fn leaves(
    readers: &SqlitePool,
    from: u64,
    most: usize,
) -> Result<Vec<Vec<u8>>, sqlx::Error> {
    let rows = sqlx::query(
        "SELECT header, commitment, position FROM leaves WHERE position >= ? \
         ORDER BY position LIMIT ?",
    )
    .bind(signed(from))
    .bind(i64::try_from(most).unwrap_or(i64::MAX))
    .fetch_all(readers)
    .await?;
    let mut leaves = Vec::new();
    for (row, position) in rows.iter().zip(from..) {
        if unsigned(row.try_get(2)?)? != position {
            break;
        }
        let mut bytes: Vec<u8> = row.try_get(0)?;
        bytes.extend(row.try_get::<&[u8], _>(1)?);
        leaves.push(bytes);
    }
    Ok(leaves)
}

/// A content, as it is kept.
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
