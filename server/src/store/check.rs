//! Whether all that is kept is what was written: leaves and tree, bodies, keys, requests, lists.
//!
//! What a leaf commits to is proved. What stands beside it (a request's index, the lines of lists)
//! is compared with it. Not found here is a change of what follows from a body only, which the
//! store cannot read: an outcome, the name of a ruleset, which record another speaks of; nor of the
//! keyed hash of what a request said, which follows from nothing that is kept.

use std::collections::BTreeSet;

use super::Store;
use super::entry::KeptBody;
use super::facts::{KeptRecord, ListFilter};
use super::fault::StoreError;
use super::tree::check_tree;
use crate::audit::leaf::{Leaf, LeafKind};
use crate::audit::merkle::Hash;

/// The most records that are in memory at once.
const RECORDS_AT_ONCE: usize = 1000;

/// Reads everything, and returns the root of the tree.
///
/// # Errors
/// The first [`StoreError`], with the place of its record.
pub async fn check_store(store: &dyn Store) -> Result<Hash, StoreError> {
    let root = check_tree(store).await?;
    let size = store.size().await?;
    check_lists(store, size).await?;
    let erased = erased(store).await?;
    let mut next = 0;
    while next < size {
        let records = store.records(next, RECORDS_AT_ONCE).await?;
        if records.is_empty() {
            let what = "the leaf is missing";
            return Err(StoreError::Row {
                position: next,
                what,
            });
        }
        for record in records {
            check(store, &record, next, &erased).await?;
            next += 1;
        }
    }
    Ok(root)
}

async fn check(
    store: &dyn Store,
    record: &KeptRecord,
    position: u64,
    erased: &BTreeSet<Hash>,
) -> Result<(), StoreError> {
    let fault = |what| StoreError::Row { position, what };
    let leaf = Leaf::parse(&record.leaf).map_err(|_| fault("its leaf cannot be read"))?;
    if record.position != position || leaf.header.position != position {
        return Err(fault("it is not at its place"));
    }
    let subject = leaf.header.subject_commitment;
    if record.body == KeptBody::Erased && subject.is_none_or(|subject| !erased.contains(&subject)) {
        return Err(fault(
            "its subject's key is gone, and no erasure is recorded",
        ));
    }
    let Some(id) = leaf.header.request_id_hash else {
        return Ok(());
    };
    match store.request(id).await? {
        Some(known) if known.position == position => Ok(()),
        _ => Err(fault("its request is not found again")),
    }
}

/// The commitments to the subjects whose erasure is recorded.
async fn erased(store: &dyn Store) -> Result<BTreeSet<Hash>, StoreError> {
    let mut erased = BTreeSet::new();
    let mut from = 0;
    loop {
        let kinds = [LeafKind::Erasure];
        let places = store.places_of_kinds(&kinds, from, RECORDS_AT_ONCE).await?;
        let Some(last) = places.last() else {
            return Ok(erased);
        };
        from = last + 1;
        for position in places {
            let fault = |what| StoreError::Row { position, what };
            let leaf = store.leaf(position).await?;
            let leaf = leaf.ok_or(fault("the leaf is missing"))?;
            let leaf = Leaf::parse(&leaf).map_err(|_| fault("its leaf cannot be read"))?;
            erased.extend(leaf.header.subject_commitment);
        }
    }
}

/// Whether lists have every record once.
async fn check_lists(store: &dyn Store, size: u64) -> Result<(), StoreError> {
    let filter = ListFilter::default();
    let mut end = size;
    while end > 0 {
        let lines = store.list(&filter, Some(end), RECORDS_AT_ONCE).await?;
        let mut places = lines.iter().map(|line| line.position);
        // One at least, so that this comes to an end.
        for expected in (0..end).rev().take(lines.len().max(1)) {
            if places.next() != Some(expected) {
                return Err(StoreError::Row {
                    position: expected,
                    what: "lists do not have it",
                });
            }
            end = expected;
        }
    }
    Ok(())
}
