//! What is read.

use std::collections::BTreeMap;

use sqlx::Row;
use sqlx::sqlite::{SqliteExecutor, SqlitePool, SqliteRow};

use super::records::{KeptContent, Records, Rows, Wanted};
use crate::audit::leaf::{Leaf, Salt, body_commitment};
use crate::audit::merkle::Hash;
use crate::store::entry::{Beside, KeptBody};
use crate::store::facts::Outcome;
use crate::store::fault::StoreError;
use crate::store::salted::apart;
use crate::store::sealed::{self, SubjectKey};
use crate::wiped::WipedBytes;

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
    let rows = Rows::read(readers, Wanted::Leaves, position, position).await?;
    let records = rows.records()?;
    Ok(records.leaf(position).map(|leaf| leaf.bytes.to_vec()))
}

/// For whom a body is sealed.
#[derive(Default)]
pub(super) enum SealedFor {
    /// For nobody: it is in the clear.
    #[default]
    Nobody,
    /// For a subject who is not kept any more.
    Erased,
    /// For a subject with this key; none where it is no key.
    Kept(Option<SubjectKey>),
}

/// For whom the bodies of the records are sealed, from one place through another; of those that
/// are in the clear nothing is said.
pub(super) async fn sealed_for(
    readers: &SqlitePool,
    first: u64,
    last: u64,
) -> Result<BTreeMap<u64, SealedFor>, sqlx::Error> {
    // One text: rows are handed from one thread to another, one after the other.
    let row = sqlx::query(
        "SELECT group_concat(facts.position || iif(subjects.number IS NULL, '-', \
         '=' || hex(subjects.key)), ' ') \
         FROM facts LEFT JOIN subjects ON subjects.number = facts.subject \
         WHERE facts.position BETWEEN ? AND ? AND facts.subject IS NOT NULL",
    )
    .bind(signed(first))
    .bind(signed(last))
    .fetch_one(readers)
    .await?;
    let said: Option<&str> = row.try_get(0)?;
    let said = said.unwrap_or_default().split_ascii_whitespace();
    let entries = said.map(sealed_for_entry).collect::<Option<_>>();
    entries.ok_or_else(|| sqlx::Error::Decode("for whom bodies are sealed cannot be read".into()))
}

fn sealed_for_entry(text: &str) -> Option<(u64, SealedFor)> {
    let (position, sealed_for) = match (text.strip_suffix('-'), text.split_once('=')) {
        (Some(position), _) => (position, SealedFor::Erased),
        (None, Some((position, key))) => (position, SealedFor::Kept(key_of(key))),
        (None, None) => return None,
    };
    Some((position.parse().ok()?, sealed_for))
}

fn key_of(hexadecimal: &str) -> Option<SubjectKey> {
    let digit = |byte: u8| {
        let digit = char::from(byte).to_digit(16)?;
        u8::try_from(digit).ok()
    };
    let (pairs, rest) = hexadecimal.as_bytes().as_chunks();
    let mut key = SubjectKey::default();
    if pairs.len() != key.len() || !rest.is_empty() {
        return None;
    }
    for (byte, [high, low]) in key.iter_mut().zip(pairs) {
        *byte = digit(*high)? << 4 | digit(*low)?;
    }
    Some(key)
}

/// The body of the record at a place, which has this leaf, opened.
pub(super) fn open_body(
    records: &Records<'_>,
    position: u64,
    leaf: &[u8],
    sealed_for: &SealedFor,
) -> Result<KeptBody, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let commitment = leaf.last_chunk().copied().map(Hash);
    let commitment = commitment.ok_or(damaged("its leaf cannot be read"))?;
    let KeptContent { nonce, content } = records
        .body(position)
        .ok_or(damaged("its body is missing"))?;
    let opened = match sealed_for {
        // It has no nonce.
        SealedFor::Nobody if nonce.iter().any(|byte| *byte != 0) => None,
        SealedFor::Nobody => apart(WipedBytes(content.to_vec())),
        SealedFor::Erased => return Ok(KeptBody::Erased),
        SealedFor::Kept(key) => {
            let key = key.as_ref();
            let key = key.ok_or(damaged("its subject's key is not 32 bytes"))?;
            sealed::open(key, commitment, nonce, content.to_vec())
        }
    };
    let (salt, body) = opened.ok_or(damaged("its body is not the one that was sealed"))?;
    if body_commitment(&salt, &body) != commitment {
        return Err(damaged("its body is not the one that was committed to"));
    }
    Ok(KeptBody::Whole { salt, body })
}

/// What stands beside a leaf.
pub(super) async fn beside(readers: &SqlitePool, position: u64) -> Result<Beside, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let rows = Rows::read(readers, Wanted::Leaves, position, position).await?;
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
    let rows = Rows::read(readers, Wanted::Leaves, from, last_of(from, most)).await?;
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
