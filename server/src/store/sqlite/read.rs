//! What is read.

use sqlx::Row;
use sqlx::sqlite::{SqliteExecutor, SqlitePool, SqliteRow};

use super::records::Rows;
use crate::audit::leaf::{Leaf, Salt};
use crate::audit::merkle::Hash;
use crate::store::entry::Beside;
use crate::store::facts::Outcome;
use crate::store::fault::StoreError;

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

/// How many records there are.
pub(super) async fn size(executor: impl SqliteExecutor<'_>) -> Result<u64, sqlx::Error> {
    let sql = "SELECT first + length(hashes) / 32 FROM records ORDER BY first DESC LIMIT 1";
    let row = sqlx::query(sql).fetch_optional(executor).await?;
    row.map_or(Ok(0), |row| unsigned(row.try_get(0)?))
}

pub(super) async fn leaf(
    readers: &SqlitePool,
    position: u64,
) -> Result<Option<Vec<u8>>, sqlx::Error> {
    let rows = Rows::read(readers, position, position).await?;
    let records = rows.records()?;
    Ok(records.leaf(position).map(|leaf| leaf.bytes.to_vec()))
}

/// What stands beside a leaf.
pub(super) async fn beside(readers: &SqlitePool, position: u64) -> Result<Beside, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let rows = Rows::read(readers, position, position).await?;
    let kept = rows.records()?.leaf(position);
    let kept = kept.ok_or(damaged("the leaf is missing"))?;
    let leaf = Leaf::parse(kept.bytes).map_err(|_| damaged("its leaf cannot be read"))?;
    let row = sqlx::query(
        "SELECT subjects.subject_hash, subjects.salt, facts.outcome, facts.about \
         FROM facts LEFT JOIN subjects ON subjects.number = facts.subject \
         WHERE facts.position = ?",
    );
    let row = row.bind(signed(position)).fetch_optional(readers).await?;
    let row = row.ok_or(damaged("lists do not have it"))?;
    let bytes = |column| row.try_get::<Option<&[u8]>, _>(column);
    let salt = bytes(1)?.and_then(|salt| salt.try_into().ok());
    let outcome: Option<&str> = row.try_get(2)?;
    let about: Option<i64> = row.try_get(3)?;
    let request = leaf.header.request_id_hash;
    Ok(Beside {
        subject_hash: bytes(0)?.and_then(Hash::of_slice),
        subject_salt: salt.map(Salt),
        request_content: request.map(|_| kept.request_content),
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
    let rows = Rows::read(readers, from, last_of(from, most)).await?;
    let records = rows.records()?;
    let leaves = (from..).map_while(|position| records.leaf(position));
    Ok(leaves.take(most).map(|leaf| leaf.bytes.to_vec()).collect())
}

/// The last of so many places, the first of which is this one.
pub(super) fn last_of(from: u64, most: usize) -> u64 {
    let more = u64::try_from(most).unwrap_or(u64::MAX).saturating_sub(1);
    from.saturating_add(more)
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
