//! Pieces that confirmed builds took: by the acts of the stock in the log, which alone know.

use std::collections::{BTreeMap, BTreeSet};

use super::kept::{NotInLog, act_at};
use crate::audit::act::WhatChanged;
use crate::audit::leaf::LeafKind;
use crate::store::{ListFilter, Store};

/// The most acts that are listed at once.
const ACTS_AT_ONCE: usize = 256;

/// A piece by its kind and its code.
pub(crate) type PieceName = (String, String);

/// Those of the pieces that a build took and that did not come back since, each with the place of
/// the recommendation that was built. The acts are gone through from the last one, until each piece
/// is met.
///
/// # Errors
/// [`NotInLog`].
pub(crate) async fn taken_by_builds(
    store: &dyn Store,
    mut pieces: BTreeSet<PieceName>,
) -> Result<BTreeMap<PieceName, u64>, NotInLog> {
    let filter = ListFilter {
        kinds: vec![LeafKind::Catalogue, LeafKind::Stock],
        ..ListFilter::default()
    };
    let mut taken = BTreeMap::new();
    let mut before = None;
    while !pieces.is_empty() {
        let acts = store.list(&filter, before, ACTS_AT_ONCE).await?;
        let Some(last) = acts.last() else {
            break;
        };
        before = Some(last.position);
        for listed in &acts {
            let act = act_at(store, listed.position).await?;
            for change in act.changes.iter().rev() {
                let (WhatChanged::Added(piece) | WhatChanged::Removed(piece)) = &change.what else {
                    continue;
                };
                let Some(name) = pieces.take(&(change.kind.clone(), piece.id.clone())) else {
                    continue;
                };
                // What was removed by hand went into no build.
                if let (WhatChanged::Removed(_), Some(record)) = (&change.what, act.record) {
                    taken.insert(name, record);
                }
            }
        }
    }
    Ok(taken)
}
