//! Which requests have a record.
//!
//! The hash of a request's id is anywhere among all others, so an index that took each at once
//! would touch a page of the file for each. It takes them later and in order: those whose hash
//! begins with the same byte go in together, one first byte for each [`RECORDS_OF_A_TURN`] records,
//! in turn. Until then they are remembered here ([`Pending`]), so that there are never many. What
//! is remembered follows from the leaves, and is read from them when the log is opened.

use std::collections::BTreeMap;
use std::path::Path;

use sqlx::Row;
use sqlx::sqlite::{SqliteConnection, SqliteRow};

use super::read::{hash, signed, unsigned};
use crate::audit::leaf::Leaf;
use crate::audit::merkle::Hash;
use crate::store::entry::KnownRequest;
use crate::store::fault::StoreError;

/// For so many records of a batch, or fewer, the requests of one first byte go into the index.
const RECORDS_OF_A_TURN: usize = 64;
/// How many first bytes there are.
const FIRST_BYTES: usize = 256;

/// The requests that the index has not taken yet, by the hash of their id.
#[derive(Debug, Default)]
pub(super) struct Pending {
    known: BTreeMap<Hash, KnownRequest>,
    /// The first byte whose requests go into the index next.
    turn: u8,
}

/// The lines of the index that go in with a batch.
pub(super) struct Turn {
    bytes: Vec<u8>,
    /// The first bytes of their hashes, as JSON.
    pub(super) first_bytes: String,
    /// They, as JSON: prefix and position.
    pub(super) lines: String,
}

impl Pending {
    /// A request that is remembered.
    pub(super) fn find(&self, id: &Hash) -> Option<KnownRequest> {
        self.known.get(id).copied()
    }

    /// What goes into the index with the next batch, of so many records.
    pub(super) fn turn(&self, records: usize) -> Turn {
        let count = records.div_ceil(RECORDS_OF_A_TURN).clamp(1, FIRST_BYTES);
        let bytes = (0..=u8::MAX).map(|step| self.turn.wrapping_add(step));
        let bytes: Vec<u8> = bytes.take(count).collect();
        let lines: Vec<String> = bytes
            .iter()
            .flat_map(|byte| self.of_byte(*byte))
            .map(|(id, known)| format!("[{},{}]", prefix(id), known.position))
            .collect();
        let first_bytes: Vec<String> = bytes.iter().map(u8::to_string).collect();
        Turn {
            bytes,
            first_bytes: format!("[{}]", first_bytes.join(",")),
            lines: format!("[{}]", lines.join(",")),
        }
    }

    /// After the commit: what went in is forgotten, what is new remembered.
    pub(super) fn advance(&mut self, turn: &Turn, new: Vec<(Hash, KnownRequest)>) {
        for byte in &turn.bytes {
            let gone: Vec<Hash> = self.of_byte(*byte).map(|(id, _)| *id).collect();
            for id in gone {
                self.known.remove(&id);
            }
            self.turn = byte.wrapping_add(1);
        }
        self.known.extend(new);
    }

    fn of_byte(&self, byte: u8) -> impl Iterator<Item = (&Hash, &KnownRequest)> {
        let (mut first, mut last) = ([0; Hash::BYTES], [u8::MAX; Hash::BYTES]);
        first[0] = byte;
        last[0] = byte;
        self.known.range(Hash(first)..=Hash(last))
    }
}

/// The number under which a request stands in the index.
fn prefix(id: &Hash) -> i64 {
    let [a, b, c, d, e, f, g, h, ..] = id.0;
    i64::from_be_bytes([a, b, c, d, e, f, g, h])
}

/// The requests of prefixes, as JSON.
pub(super) const INDEXED: &str = "SELECT leaves.position, leaves.header, leaves.commitment, \
     leaves.request_content \
     FROM json_each(?) AS asked CROSS JOIN requests ON requests.prefix = asked.value \
     CROSS JOIN leaves ON leaves.position = requests.position";

/// The prefixes of requests, as JSON.
pub(super) fn prefixes(ids: &[Hash]) -> String {
    let prefixes: Vec<String> = ids.iter().map(|id| prefix(id).to_string()).collect();
    format!("[{}]", prefixes.join(","))
}

/// Those of the requests that are in rows of [`INDEXED`].
pub(super) fn of_rows(
    rows: &[SqliteRow],
    ids: &[Hash],
) -> Result<BTreeMap<Hash, KnownRequest>, StoreError> {
    let found = rows.iter().map(of_row).collect::<Result<Vec<_>, _>>()?;
    let asked = found.into_iter().flatten();
    Ok(asked.filter(|(id, _)| ids.contains(id)).collect())
}

/// What the index knows of a request.
pub(super) async fn indexed(
    connection: &mut SqliteConnection,
    id: Hash,
) -> Result<Option<KnownRequest>, StoreError> {
    let rows = sqlx::query(INDEXED)
        .bind(prefixes(&[id]))
        .fetch_all(connection)
        .await?;
    Ok(of_rows(&rows, &[id])?.into_values().next())
}

/// What the index has not taken yet, read from the leaves.
pub(super) async fn pending(
    connection: &mut SqliteConnection,
    file: &Path,
    size: u64,
) -> Result<Pending, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let damaged = |why: &str| StoreError::Damaged {
        file: file.to_owned(),
        why: why.to_owned(),
    };
    let ranges = "SELECT known_to FROM request_ranges WHERE first_byte BETWEEN 0 AND 255 \
                  ORDER BY first_byte";
    let rows = sqlx::query(ranges)
        .fetch_all(&mut *connection)
        .await
        .map_err(fault)?;
    let known_to: Vec<u64> = rows
        .iter()
        .map(|row| unsigned(row.try_get(0)?))
        .collect::<Result<_, sqlx::Error>>()
        .map_err(fault)?;
    let Some(first) = known_to
        .iter()
        .min()
        .filter(|_| known_to.len() == FIRST_BYTES)
    else {
        return Err(damaged(
            "it does not say how far its index of requests goes",
        ));
    };
    if known_to.iter().any(|known_to| *known_to > size) {
        return Err(damaged("its index of requests goes beyond its records"));
    }
    let rows = sqlx::query(
        "SELECT position, header, commitment, request_content FROM leaves WHERE position >= ?",
    )
    .bind(signed(*first))
    .fetch_all(connection)
    .await
    .map_err(fault)?;
    let mut pending = Pending::default();
    for row in &rows {
        let Some((id, known)) = of_row(row)? else {
            continue;
        };
        let to = known_to.get(usize::from(id.0[0]));
        if to.is_some_and(|to| known.position >= *to) {
            pending.known.insert(id, known);
        }
    }
    // The one that waits longest.
    let turn = known_to.iter().position(|known_to| known_to == first);
    pending.turn = turn.and_then(|turn| u8::try_from(turn).ok()).unwrap_or(0);
    Ok(pending)
}

/// The request of a row of position, header, commitment and content.
fn of_row(row: &SqliteRow) -> Result<Option<(Hash, KnownRequest)>, StoreError> {
    let position = unsigned(row.try_get(0)?)?;
    if row.try_get::<Option<&[u8]>, _>(3)?.is_none() {
        return Ok(None);
    }
    let mut leaf: Vec<u8> = row.try_get(1)?;
    leaf.extend(row.try_get::<&[u8], _>(2)?);
    let damaged = |what| StoreError::Row { position, what };
    let leaf = Leaf::parse(&leaf).map_err(|_| damaged("its leaf cannot be read"))?;
    let id = leaf.header.request_id_hash;
    let id = id.ok_or(damaged(
        "its leaf names no request, and one is kept beside it",
    ))?;
    let content = hash(row, 3)?;
    Ok(Some((id, KnownRequest { position, content })))
}
