//! Whether all that is kept is what was written: leaves and tree, bodies, keys, requests, lists,
//! the contents that leaves rest on, checkpoints.
//!
//! What a leaf commits to is proved. What stands beside it (a request's index, the lines of lists)
//! is compared with it. Not found here is what rests on more than the store: a change of what
//! follows from a body only, which the store cannot read (an outcome, which record another speaks
//! of, the hashes of a subject and of what a request said), and the signatures of checkpoints
//! (`rpc::checking` looks at both).

use std::collections::BTreeSet;

use super::Store;
use super::contents::Named;
use super::entry::KeptBody;
use super::facts::{KeptRecord, ListFilter};
use super::fault::StoreError;
use super::tree::{check_tree, root_of};
use crate::audit::leaf::{Leaf, LeafKind};
use crate::audit::merkle::Hash;
use crate::audit::note::{Checkpoint, SignedNote};

/// The most records that are in memory at once.
const RECORDS_AT_ONCE: usize = 1000;

/// Reads everything, and returns the root of the tree.
///
/// # Errors
/// The first [`StoreError`], with the place of its record.
pub async fn check_store(store: &dyn Store) -> Result<Hash, StoreError> {
    let root = check_tree(store).await?;
    store.check_file().await?;
    let size = store.size().await?;
    let erased = erased(store).await?;
    let mut named = Named::default();
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
            check(store, &record, next, &erased, &mut named).await?;
            next += 1;
        }
    }
    check_lists(store, size, &named).await?;
    named.check_contents(store).await?;
    check_checkpoints(store, size).await?;
    Ok(root)
}

async fn check(
    store: &dyn Store,
    record: &KeptRecord,
    position: u64,
    erased: &BTreeSet<Hash>,
    named: &mut Named,
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
    named.take_in(position, &leaf.header, &record.body)?;
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

/// Whether lists have every record once, and call its ruleset as it was published.
async fn check_lists(store: &dyn Store, size: u64, named: &Named) -> Result<(), StoreError> {
    let filter = ListFilter::default();
    let mut end = size;
    while end > 0 {
        let lines = store.list(&filter, Some(end), RECORDS_AT_ONCE).await?;
        if let Some(line) = lines.iter().find(|line| !named.calls_it_so(line)) {
            return Err(StoreError::Row {
                position: line.position,
                what: "lists call its ruleset by another name than its publication",
            });
        }
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

/// Whether each checkpoint is of the leaves that there are.
async fn check_checkpoints(store: &dyn Store, size: u64) -> Result<(), StoreError> {
    let origin = &store.identity().origin;
    let mut over = 0;
    loop {
        let checkpoints = store.checkpoints(over, RECORDS_AT_ONCE).await?;
        let Some((last, _)) = checkpoints.last() else {
            return Ok(());
        };
        over = *last;
        for (signed, note) in checkpoints {
            let checkpoint = SignedNote::parse(note.as_bytes());
            let checkpoint = checkpoint.and_then(|note| Checkpoint::parse(note.text()));
            let is_of_it = match checkpoint {
                Ok(one) if &one.origin == origin && one.size == signed && signed <= size => {
                    root_of(store, signed).await? == one.root
                }
                _ => false,
            };
            if !is_of_it {
                return Err(StoreError::Row {
                    position: signed.saturating_sub(1),
                    what: "the checkpoint that ends with it is not the one that was signed",
                });
            }
        }
    }
}
