//! Roots and proofs of a store, and whether its leaves are those of its tree.

use std::collections::BTreeMap;

use super::Store;
use super::fault::StoreError;
use crate::audit::merkle::{Frontier, Hash, NodePlace, Plan, leaf_hash};

/// The most leaves that are in memory at once.
const LEAVES_AT_ONCE: usize = 4096;

/// The root of the first `size` leaves.
///
/// # Errors
/// [`StoreError`].
pub async fn root_of(store: &dyn Store, size: u64) -> Result<Hash, StoreError> {
    let hashes = fold(store, &Plan::root(size)).await?;
    hashes.first().copied().ok_or(StoreError::Number)
}

/// The proof that a leaf is among the first `size`.
///
/// # Errors
/// [`StoreError`].
pub async fn inclusion_proof(
    store: &dyn Store,
    position: u64,
    size: u64,
) -> Result<Vec<Hash>, StoreError> {
    fold(store, &Plan::inclusion(position, size)?).await
}

/// The proof that the first `older` leaves are the beginning of the first `newer`.
///
/// # Errors
/// [`StoreError`].
pub async fn consistency_proof(
    store: &dyn Store,
    older: u64,
    newer: u64,
) -> Result<Vec<Hash>, StoreError> {
    fold(store, &Plan::consistency(older, newer)?).await
}

/// Reads every leaf, and compares its hash with the node that was kept beside it and the root over
/// them all with the one over the nodes. The root is returned.
///
/// # Errors
/// [`StoreError::Row`] with the first leaf that was changed, or what else is missing.
pub async fn check_tree(store: &dyn Store) -> Result<Hash, StoreError> {
    let size = store.size().await?;
    let mut frontier = Frontier::empty();
    while frontier.size() < size {
        let from = frontier.size();
        let leaves = store.leaves(from, LEAVES_AT_ONCE).await?;
        // The place of the leaf with which each node is complete.
        let mut nodes = Vec::new();
        for leaf in leaves {
            let mut written = Vec::new();
            let position = frontier.size();
            frontier.add(leaf_hash(&leaf), &mut written)?;
            nodes.extend(written.into_iter().map(|node| (position, node)));
        }
        if frontier.size() == from {
            let what = "the leaf is missing";
            return Err(StoreError::Row {
                position: from,
                what,
            });
        }
        let places = nodes.iter().map(|(_, node)| node.place).collect();
        let kept = store.nodes(&places).await?;
        let changed = nodes
            .iter()
            .find(|(_, node)| kept.get(&node.place) != Some(&node.hash));
        if let Some((position, _)) = changed {
            return Err(StoreError::Row {
                position: *position,
                what: "the leaf is not the one of the tree",
            });
        }
    }
    Ok(frontier.root())
}

async fn fold(store: &dyn Store, plan: &Plan) -> Result<Vec<Hash>, StoreError> {
    let nodes: BTreeMap<NodePlace, Hash> = store.nodes(&plan.places()).await?;
    plan.hashes(|place| {
        let hash = nodes.get(&place).copied();
        hash.ok_or(StoreError::NoNode(place))
    })
}
