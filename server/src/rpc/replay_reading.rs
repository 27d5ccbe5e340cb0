//! The records of a replay, the next of them read and unsealed while those before are evaluated.

use std::sync::Arc;

use tokio::runtime::Handle;
use tokio::task::JoinHandle;

use super::recording::{damaged, store_refusal};
use super::refusal::Refusal;
use super::replay_pieces::Erasures;
use crate::audit::leaf::{Leaf, LeafHeader};
use crate::store::{KeptRecord, Store};

/// The most records that are read at once: so many may be in memory twice.
const RECORDS_AT_ONCE: usize = 256;

/// Records that were read together, with what their leaves say in the clear.
pub(super) struct Batch {
    pub(super) records: Vec<(LeafHeader, KeptRecord)>,
    /// How many erasures there were before they were read.
    pub(super) erasures: u64,
    /// The place after the last one.
    pub(super) end: u64,
}

/// The reading of the records of a log that come before a place.
pub(super) struct Reading {
    handle: Handle,
    store: Arc<dyn Store>,
    erasures: Arc<Erasures>,
    size: u64,
    ahead: Option<Ahead>,
}

/// What is being read.
struct Ahead {
    from: u64,
    erasures: u64,
    records: JoinHandle<Result<Vec<(LeafHeader, KeptRecord)>, Refusal>>,
}

impl Reading {
    /// Begins with the first record; what reads runs on threads of its own.
    pub(super) fn begin(
        handle: &Handle,
        store: &Arc<dyn Store>,
        erasures: &Arc<Erasures>,
        size: u64,
    ) -> Self {
        let mut reading = Reading {
            handle: handle.clone(),
            store: Arc::clone(store),
            erasures: Arc::clone(erasures),
            size,
            ahead: None,
        };
        reading.read_ahead(0);
        reading
    }

    fn read_ahead(&mut self, from: u64) {
        self.ahead = (from < self.size).then(|| {
            let (handle, store) = (self.handle.clone(), Arc::clone(&self.store));
            Ahead {
                from,
                erasures: self.erasures.count(),
                // Unsealing is no work for the threads that answer players.
                records: self.handle.spawn_blocking(move || {
                    let records = handle.block_on(store.records(from, RECORDS_AT_ONCE));
                    let records = records.map_err(store_refusal)?.into_iter();
                    records.map(with_header).collect()
                }),
            }
        });
    }

    /// The next records; `None` after the last. It must not be called where others wait for this
    /// thread.
    pub(super) fn next(&mut self) -> Result<Option<Batch>, Refusal> {
        let Some(ahead) = self.ahead.take() else {
            return Ok(None);
        };
        let records = self.handle.block_on(ahead.records);
        let mut records = records.map_err(|_| Refusal::OwnFault)??;
        records.retain(|(_, kept)| kept.position < self.size);
        let Some((_, last)) = records.last() else {
            return Err(damaged(&format!("record {} is missing", ahead.from)));
        };
        let end = last.position + 1;
        self.read_ahead(end);
        Ok(Some(Batch {
            records,
            erasures: ahead.erasures,
            end,
        }))
    }
}

fn with_header(kept: KeptRecord) -> Result<(LeafHeader, KeptRecord), Refusal> {
    let leaf = Leaf::parse(&kept.leaf);
    let leaf = leaf.map_err(|why| damaged(&format!("record {}: {why}", kept.position)))?;
    Ok((leaf.header, kept))
}
