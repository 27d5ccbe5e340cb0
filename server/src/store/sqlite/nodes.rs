//! Nodes of the tree: those of many leaves are kept, smaller ones follow from the hashes of the
//! leaves below them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use sqlx::Row;
use sqlx::sqlite::{SqliteConnection, SqliteRow};

use super::read::{hash, signed, unsigned};
use crate::audit::merkle::{Frontier, Hash, NodePlace};
use crate::store::fault::StoreError;

/// The lowest level that is kept: subtrees of 256 leaves.
pub(super) const LOWEST_KEPT_LEVEL: u8 = 8;

/// Kept nodes of levels and places, as JSON; then, for stretches of [`LOWEST_KEPT_LEVEL`], the
/// hashes of the rows that their leaves are in, from where to where these go, all in one row: a row
/// each would have to go from thread to thread.
const NODES: &str = "SELECT nodes.level, nodes.place, nodes.hash FROM json_each(?) AS asked \
     CROSS JOIN nodes ON nodes.level = asked.value ->> 0 AND nodes.place = asked.value ->> 1; \
     SELECT asked.value, min(records.first), \
     max(records.first + length(records.hashes) / 32), \
     unhex(group_concat(hex(records.hashes), '' ORDER BY records.first)) \
     FROM json_each(?) AS asked CROSS JOIN records \
     ON records.first < (asked.value + 1) << 8 AND records.first >= coalesce( \
     (SELECT max(first) FROM records WHERE first <= asked.value << 8), 0) GROUP BY asked.value";
const COLUMNS_OF_A_NODE: usize = 3;

type Nodes = Vec<(NodePlace, Hash)>;

/// The nodes at these places, all of them.
pub(super) async fn at(
    connection: &mut SqliteConnection,
    file: &Path,
    places: &BTreeSet<NodePlace>,
) -> Result<BTreeMap<NodePlace, Hash>, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let stretch = |place: &NodePlace| {
        let above = LOWEST_KEPT_LEVEL.checked_sub(place.level);
        above
            .filter(|above| *above > 0)
            .map(|above| place.index >> above)
    };
    let kept = places.iter().filter(|place| stretch(place).is_none());
    let kept: Vec<String> = kept
        .map(|place| format!("[{},{}]", place.level, place.index))
        .collect();
    let stretches: BTreeSet<u64> = places.iter().filter_map(stretch).collect();
    let stretches: Vec<String> = stretches.iter().map(u64::to_string).collect();
    let rows = sqlx::query(NODES)
        .bind(format!("[{}]", kept.join(",")))
        .bind(format!("[{}]", stretches.join(",")))
        .fetch_all(&mut *connection)
        .await
        .map_err(fault)?;
    let mut found = BTreeMap::new();
    for row in &rows {
        if row.len() == COLUMNS_OF_A_NODE {
            let place = NodePlace {
                level: row.try_get(0).map_err(fault)?,
                index: unsigned(row.try_get(1).map_err(fault)?).map_err(fault)?,
            };
            found.insert(place, hash(row, 2).map_err(fault)?);
        } else {
            match below(row, file)? {
                Ok(nodes) => found.extend(nodes),
                Err(first) => return Err(missing(connection, file, first).await?),
            }
        }
    }
    let node = |place: &NodePlace| {
        let hash = found.get(place).ok_or(StoreError::NoNode(*place))?;
        Ok((*place, *hash))
    };
    places.iter().map(node).collect()
}

/// The nodes below one of the lowest kept level, of the leaves that are there; where one between
/// them is missing, the place of the first below it.
fn below(row: &SqliteRow, file: &Path) -> Result<Result<Nodes, u64>, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let number = |column| unsigned(row.try_get(column)?);
    let stretch = number(0).map_err(fault)?;
    let (first, end) = (number(1).map_err(fault)?, number(2).map_err(fault)?);
    let hashes: &[u8] = row.try_get(3).map_err(fault)?;
    let (hashes, rest) = hashes.as_chunks::<{ Hash::BYTES }>();
    if !rest.is_empty() {
        return Err(StoreError::Damaged {
            file: file.to_owned(),
            why: "a stored hash is not 32 bytes long".to_owned(),
        });
    }
    let start = stretch << LOWEST_KEPT_LEVEL;
    let count = u64::try_from(hashes.len()).map_err(|_| StoreError::Number)?;
    let before = start.checked_sub(first);
    let before = before.filter(|_| end.checked_sub(first) == Some(count));
    let before = before.and_then(|before| usize::try_from(before).ok());
    let Some(hashes) = before.and_then(|before| hashes.get(before..)) else {
        return Ok(Err(start));
    };
    // A tree of its own, whose places are then moved to where it stands.
    let mut tree = Frontier::empty();
    let mut written = Vec::new();
    for hash in hashes.iter().take(1 << LOWEST_KEPT_LEVEL) {
        tree.add(Hash(*hash), &mut written)?;
    }
    // What is kept is not what follows: it is compared with it elsewhere.
    let lower = written.into_iter();
    let lower = lower.filter(|node| node.place.level < LOWEST_KEPT_LEVEL);
    let moved = lower.map(|node| {
        let moved = stretch << LOWEST_KEPT_LEVEL.saturating_sub(node.place.level);
        let place = NodePlace {
            level: node.place.level,
            index: moved + node.place.index,
        };
        (place, node.hash)
    });
    Ok(Ok(moved.collect()))
}

/// What is said of the first leaf from a place on that is missing, or has one too many.
async fn missing(
    connection: &mut SqliteConnection,
    file: &Path,
    from: u64,
) -> Result<StoreError, StoreError> {
    let rows = sqlx::query(
        "SELECT first, first + length(hashes) / 32 FROM records WHERE first >= coalesce( \
         (SELECT max(first) FROM records WHERE first <= ?), 0) ORDER BY first LIMIT 257",
    );
    let rows = rows.bind(signed(from)).fetch_all(connection).await;
    let rows = rows.map_err(|error| StoreError::of_database(file, error))?;
    let mut position = from;
    for row in &rows {
        let (first, end) = (unsigned(row.try_get(0)?)?, unsigned(row.try_get(1)?)?);
        // The first row may begin before.
        if first > position || (first < position && position > from) {
            break;
        }
        position = end.max(from);
    }
    let what = "the leaf is missing";
    Ok(StoreError::Row { position, what })
}
