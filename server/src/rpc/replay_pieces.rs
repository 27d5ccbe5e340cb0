//! The pieces of a replay on their way out: counted, and looked at once more where a subject was
//! erased after its records were read.
//!
//! The thread that evaluates is ahead of whoever takes the pieces. What waits between the two may
//! be of a subject whose erasure was acknowledged meanwhile: of that nothing goes out any more, and
//! it is counted as erased. What was counted before stays counted.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use futures::stream::{BoxStream, StreamExt, unfold};
use loftwright_proto::v1 as pb;
use pb::replay_records_response::Piece;
use tokio::sync::mpsc;
use tonic::Status;

use super::convert::replay::{examples, record, summary};
use super::recording::{reference, store_refusal};
use super::refusal::Refusal;
use crate::audit::merkle::leaf_hash;
use crate::replay::summary::Summary;
use crate::replay::{NotComparable, Replayed};
use crate::store::{KeptBody, Store};

/// How many erasures there were since the record was opened.
#[derive(Debug, Default)]
pub(super) struct Erasures(AtomicU64);

impl Erasures {
    /// How many.
    pub(super) fn count(&self) -> u64 {
        self.0.load(Ordering::SeqCst)
    }

    /// There was one more: said after it is on the disk, and before it is acknowledged.
    pub(super) fn note(&self) {
        self.0.fetch_add(1, Ordering::SeqCst);
    }
}

/// What the thread that evaluates hands on.
pub(super) enum Item {
    /// A recommendation that was evaluated again.
    Record {
        position: u64,
        reference: pb::RecordReference,
        replayed: Replayed,
        /// How many erasures there were before it was read.
        erasures: u64,
    },
    /// How far it is.
    Progress(pb::ReplayProgress),
    /// Its end; so many recommendations stay the same beside those that were handed on.
    End { same: u64 },
    /// It cannot go on.
    Refused(Refusal),
}

/// The pieces of a stream.
pub(super) type Pieces = BoxStream<'static, Result<pb::ReplayRecordsResponse, Status>>;

/// The way out.
pub(super) struct WayOut {
    store: Arc<dyn Store>,
    erasures: Arc<Erasures>,
    items: mpsc::Receiver<Item>,
    counts: Summary,
}

impl WayOut {
    pub(super) fn new(
        store: Arc<dyn Store>,
        erasures: Arc<Erasures>,
        items: mpsc::Receiver<Item>,
    ) -> Self {
        WayOut {
            store,
            erasures,
            items,
            counts: Summary::default(),
        }
    }

    /// The pieces, as they are taken.
    pub(super) fn pieces(self) -> Pieces {
        unfold(self, |mut way| async move {
            let item = way.items.recv().await?;
            let piece = way.piece(item).await;
            if piece.is_err() {
                way.items.close();
            }
            let answer = piece.map(|piece| pb::ReplayRecordsResponse { piece: Some(piece) });
            Some((answer.map_err(Status::from), way))
        })
        .boxed()
    }

    async fn piece(&mut self, item: Item) -> Result<Piece, Refusal> {
        match item {
            Item::Record {
                position,
                reference,
                mut replayed,
                erasures,
            } => {
                if self.erasures.count() != erasures && self.is_erased(position).await? {
                    replayed = Replayed::NotComparable(NotComparable::Erased);
                }
                self.counts.add(position, &replayed);
                Ok(Piece::Record(record(reference, &replayed)))
            }
            Item::Progress(progress) => Ok(Piece::Progress(progress)),
            Item::End { same } => {
                self.counts.same += same;
                self.summary().await.map(Piece::Summary)
            }
            Item::Refused(why) => Err(why),
        }
    }

    async fn is_erased(&self, position: u64) -> Result<bool, Refusal> {
        let body = self.store.body(position).await.map_err(store_refusal)?;
        Ok(body == KeptBody::Erased)
    }

    async fn summary(&self) -> Result<pb::ReplaySummary, Refusal> {
        let mut references = BTreeMap::new();
        for position in examples(&self.counts) {
            let leaf = self.store.leaf(position).await.map_err(store_refusal)?;
            let leaf = leaf.ok_or(Refusal::OwnFault)?;
            references.insert(position, reference(position, leaf_hash(&leaf)));
        }
        summary(&self.counts, |position| {
            references.get(&position).cloned().ok_or(Refusal::OwnFault)
        })
    }
}
