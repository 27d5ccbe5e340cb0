//! Nodes of the tree: those of many leaves are kept, smaller ones follow from the hashes of the
//! leaves below them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use sqlx::Row;
use sqlx::sqlite::SqliteConnection;

use super::read::{hash, signed, unsigned};
use crate::audit::merkle::{Frontier, Hash, NodePlace};
use crate::store::fault::StoreError;

/// The lowest level that is kept: subtrees of 256 leaves.
pub(super) const LOWEST_KEPT_LEVEL: u8 = 8;

/// The nodes at these places, all of them.
pub(super) async fn at(
    connection: &mut SqliteConnection,
    file: &Path,
    places: &BTreeSet<NodePlace>,
) -> Result<BTreeMap<NodePlace, Hash>, StoreError> {
    let mut nodes = BTreeMap::new();
    let mut stretches = BTreeSet::new();
    for place in places {
        if place.level >= LOWEST_KEPT_LEVEL {
            nodes.insert(*place, kept(&mut *connection, file, *place).await?);
        } else {
            stretches.insert(place.index >> (LOWEST_KEPT_LEVEL - place.level));
        }
    }
    for stretch in stretches {
        let below = below(&mut *connection, file, stretch).await?;
        for place in places.iter().filter(|place| {
            place.level < LOWEST_KEPT_LEVEL
                && place.index >> (LOWEST_KEPT_LEVEL - place.level) == stretch
        }) {
            let hash = below.get(place).ok_or(StoreError::NoNode(*place))?;
            nodes.insert(*place, *hash);
        }
    }
    Ok(nodes)
}

async fn kept(
    connection: &mut SqliteConnection,
    file: &Path,
    place: NodePlace,
) -> Result<Hash, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let row = sqlx::query("SELECT hash FROM nodes WHERE level = ? AND place = ?")
        .bind(i64::from(place.level))
        .bind(signed(place.index))
        .fetch_optional(connection)
        .await
        .map_err(fault)?;
    hash(&row.ok_or(StoreError::NoNode(place))?, 0).map_err(fault)
}

/// The nodes below one of the lowest kept level, of the leaves that are there.
async fn below(
    connection: &mut SqliteConnection,
    file: &Path,
    stretch: u64,
) -> Result<BTreeMap<NodePlace, Hash>, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let first = stretch << LOWEST_KEPT_LEVEL;
    let end = first.saturating_add(1 << LOWEST_KEPT_LEVEL);
    let rows = sqlx::query(
        "SELECT hash, position FROM leaves WHERE position >= ? AND position < ? ORDER BY position",
    )
    .bind(signed(first))
    .bind(signed(end))
    .fetch_all(connection)
    .await
    .map_err(fault)?;
    // A tree of its own, whose places are then moved to where it stands.
    let mut tree = Frontier::empty();
    let mut written = Vec::new();
    for row in &rows {
        let position = unsigned(row.try_get(1).map_err(fault)?).map_err(fault)?;
        if position != first + tree.size() {
            // One is missing: nothing is known from there on.
            break;
        }
        tree.add(hash(row, 0).map_err(fault)?, &mut written)?;
    }
    Ok(written
        .into_iter()
        .map(|node| {
            let moved = stretch << (LOWEST_KEPT_LEVEL - node.place.level.min(LOWEST_KEPT_LEVEL));
            let place = NodePlace {
                level: node.place.level,
                index: moved + node.place.index,
            };
            (place, node.hash)
        })
        .collect())
}
