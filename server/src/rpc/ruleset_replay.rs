//! `ReplayRecords`: the log read from its beginning, past recommendations evaluated by a candidate,
//! what comes of each handed on.
//!
//! It runs on a thread of its own beside those that answer players, and ends where nobody takes its
//! pieces any more (`replay_reading` is where its records come from, `replay_pieces` their way
//! out).

use std::collections::BTreeSet;
use std::sync::Arc;

use loftwright_dsl::quantity::Date;
use loftwright_engine::SEMANTICS_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::parts::Parts;
use loftwright_proto::v1 as pb;
use tokio::runtime::Handle;
use tokio::sync::{OwnedSemaphorePermit, mpsc};

use super::recording::{reference, store_refusal};
use super::refusal::{FieldFault, Refusal};
use super::replay_pieces::{Erasures, Item, Pieces, WayOut};
use super::replay_reading::Reading;
use crate::audit::columns::KnownTexts;
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::audit::merkle::{Hash, leaf_hash};
use crate::parts_snapshot::parts_of_text;
use crate::registry::{KeptTexts, NotRead, Registry, Revised, hash_of};
use crate::replay::{NotComparable, Replayed, Replays};
use crate::store::{KeptBody, KeptRecord, Store};

/// The most snapshots of parts that stay read.
const MOST_SNAPSHOTS: usize = 8;
/// The most that waits to be sent.
const MOST_WAITING: usize = 64;
const MS_A_DAY: i64 = 86_400_000;

/// The instants between which recommendations are evaluated, in milliseconds since 1970.
#[derive(Clone, Copy, Debug)]
pub(super) struct Days {
    first_ms: i64,
    last_ms: i64,
}

/// A replay.
pub(super) struct Replaying {
    pub(super) store: Arc<dyn Store>,
    pub(super) texts: Arc<KeptTexts>,
    pub(super) erasures: Arc<Erasures>,
    pub(super) revised: Arc<Revised>,
    /// The revisions whose recommendations are evaluated.
    pub(super) revisions: BTreeSet<Hash>,
    pub(super) days: Days,
    pub(super) with_same: bool,
    /// How many records there are.
    pub(super) size: u64,
}

/// Snapshots of parts as the candidate reads them, with what is replayed with each; the one used
/// last at the end.
type Snapshots<'a> = Vec<(Hash, Result<Replays<'a>, String>)>;

/// The texts of rules, with the digest of these.
type Texts = (Hash, Arc<KnownTexts>);

/// Why a replay ends before its end.
enum Ended {
    /// Nobody takes its pieces.
    NobodyThere,
    /// It cannot go on.
    Refused(Refusal),
}

/// The days of a request.
pub(super) fn days(request: &pb::ReplayRecordsRequest) -> Result<Days, Refusal> {
    let mut faults = Vec::new();
    let mut day = |field: &str, text: &str| {
        let found = Date::parse(text);
        if found.is_none() && !text.is_empty() {
            faults.push(FieldFault {
                field: field.to_owned(),
                sentence: format!(
                    "`{}` was sent; a day is such as 2026-05-01",
                    super::status::shortened(text, 60).escape_debug()
                ),
            });
        }
        found.and_then(|day| day.days().checked_mul(MS_A_DAY))
    };
    let first = day("first_day", &request.first_day);
    let last = day("last_day", &request.last_day);
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    Ok(Days {
        first_ms: first.unwrap_or(i64::MIN),
        last_ms: last.map_or(i64::MAX, |last| last.saturating_add(MS_A_DAY - 1)),
    })
}

/// The revisions of a ruleset, as headers name them.
pub(super) fn revisions(registry: &Registry, ruleset: &str) -> BTreeSet<Hash> {
    let ledger = registry.ledger();
    let revisions = ledger.revisions(ruleset).iter();
    revisions.filter_map(|one| hash_of(&one.revision)).collect()
}

impl Replaying {
    /// Starts it; `permit` is held until its end.
    pub(super) fn start(self, permit: OwnedSemaphorePermit) -> Pieces {
        let (items, taken) = mpsc::channel(MOST_WAITING);
        let way = WayOut::new(Arc::clone(&self.store), Arc::clone(&self.erasures), taken);
        let handle = Handle::current();
        tokio::task::spawn_blocking(move || {
            let _permit = permit;
            if let Err(Ended::Refused(why)) = self.run(&handle, &items) {
                // Whoever does not take it any more is not told.
                let _ = items.blocking_send(Item::Refused(why));
            }
        });
        way.pieces()
    }

    fn run(&self, handle: &Handle, items: &mpsc::Sender<Item>) -> Result<(), Ended> {
        let evaluator = Evaluator::new(&self.revised.program);
        let mut snapshots = Snapshots::new();
        let mut texts = None;
        let mut same = 0;
        let mut reading = Reading::begin(handle, &self.store, &self.erasures, self.size);
        while let Some(batch) = reading.next().map_err(Ended::Refused)? {
            for (header, kept) in batch.records {
                if !self.is_asked_for(&header) {
                    continue;
                }
                let known = (&mut snapshots, &mut texts);
                let replayed = self.one(handle, &evaluator, known, (&header, &kept.body))?;
                if replayed == Replayed::Same && !self.with_same {
                    same += 1;
                    continue;
                }
                let item = Item::Record {
                    position: kept.position,
                    reference: reference_of(&kept),
                    replayed,
                    erasures: batch.erasures,
                };
                send(items, item)?;
            }
            let progress = pb::ReplayProgress {
                done: batch.end,
                of: self.size,
            };
            send(items, Item::Progress(progress))?;
        }
        send(items, Item::End { same })
    }

    /// What a recommendation comes to.
    fn one<'a>(
        &self,
        handle: &Handle,
        evaluator: &'a Evaluator<'a>,
        (snapshots, texts): (&mut Snapshots<'a>, &mut Option<Texts>),
        (header, body): (&LeafHeader, &KeptBody),
    ) -> Result<Replayed, Ended> {
        let not = |why| Ok(Replayed::NotComparable(why));
        let KeptBody::Whole { body, .. } = body else {
            return not(NotComparable::Erased);
        };
        let semantics = header.semantics_version.unwrap_or_default();
        if semantics != SEMANTICS_VERSION {
            return not(NotComparable::Semantics(semantics));
        }
        let Some((rules, digest)) = header.rules_digest.zip(header.parts_digest) else {
            return not(NotComparable::Damaged);
        };
        // Most have those of the one before.
        let (_, known) = match texts.take_if(|(known, _)| *known == rules) {
            Some(texts) => texts,
            None => match handle.block_on(self.texts.of_rules(rules)) {
                Ok(known) => (rules, known),
                Err(NotRead::Store(why)) => return Err(Ended::Refused(store_refusal(why))),
                Err(why) => return not(NotComparable::Rules(why.to_string())),
            },
        };
        let (_, known) = texts.insert((rules, known));
        match self.replays(handle, evaluator, snapshots, digest)? {
            Ok(replays) => Ok(replays.replay(body, known)),
            Err(why) => not(NotComparable::Parts(why.clone())),
        }
    }

    fn is_asked_for(&self, header: &LeafHeader) -> bool {
        header.kind == LeafKind::Recommendation
            && header
                .rules_digest
                .is_some_and(|revision| self.revisions.contains(&revision))
            && (self.days.first_ms..=self.days.last_ms).contains(&header.instant_ms)
    }

    /// The replays with the parts of a digest, or why the candidate cannot read these.
    fn replays<'s, 'a>(
        &self,
        handle: &Handle,
        evaluator: &'a Evaluator<'a>,
        snapshots: &'s mut Snapshots<'a>,
        digest: Hash,
    ) -> Result<&'s mut Result<Replays<'a>, String>, Ended> {
        let place = snapshots.iter().position(|(known, _)| *known == digest);
        let found = match place {
            Some(place) => snapshots.remove(place),
            None => {
                let text = handle.block_on(self.store.blob(digest));
                let text = text.map_err(|why| Ended::Refused(store_refusal(why)))?;
                let parts = self.parts_of(text);
                (digest, parts.map(|parts| Replays::new(evaluator, parts)))
            }
        };
        if snapshots.len() >= MOST_SNAPSHOTS {
            drop(snapshots.remove(0));
        }
        snapshots.push(found);
        let replays = snapshots.last_mut().map(|(_, replays)| replays);
        replays.ok_or(Ended::Refused(Refusal::OwnFault))
    }

    fn parts_of(&self, text: Option<Vec<u8>>) -> Result<Parts, String> {
        let text = text.ok_or("they are not kept here")?;
        let text = String::from_utf8(text).map_err(|_| "they are no text")?;
        let parts = parts_of_text(&self.revised.program, &text);
        parts.map_err(|why| why.to_string())
    }
}

fn reference_of(kept: &KeptRecord) -> pb::RecordReference {
    reference(kept.position, leaf_hash(&kept.leaf))
}

fn send(items: &mpsc::Sender<Item>, item: Item) -> Result<(), Ended> {
    let sent = items.blocking_send(item);
    sent.map_err(|_| Ended::NobodyThere)
}
