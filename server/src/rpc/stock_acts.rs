//! Changes of the stock in force: read by every ruleset, recorded, and then in force, all or none.

use std::sync::Arc;
use std::time::SystemTime;

use loftwright_engine::intake::quoted;
use loftwright_proto::v1 as pb;

use super::convert;
use super::recording::{Recording, damaged, recorder_refusal, reference, store_refusal};
use super::refusal::{FieldFault, Refusal};
use crate::audit::act::{StockChange, WhatChanged};
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::files::{FileFault, findings};
use crate::parts_snapshot::parts_text;
use crate::registry::{
    ActNotRecorded, Principals, Registry, Ruleset, Stock, Workshop, hash_of, instant_ms,
};
use crate::stock::Book;
use crate::stock::kept::{NotInLog, act_of};
use crate::stock::taken::taken_by_builds;
use crate::store::{Entry, EntryFacts, Placed, SaltedBody};

/// What brings a stock.
pub(super) struct StockAct<'a> {
    /// [`LeafKind::Catalogue`] or [`LeafKind::Stock`].
    pub(super) kind: LeafKind,
    /// Who does it.
    pub(super) by: &'a str,
    pub(super) instant: SystemTime,
    pub(super) reason: &'a str,
    pub(super) changes: Vec<StockChange>,
    /// The place of the recommendation that is built of what is taken.
    pub(super) record: Option<u64>,
}

/// The workshop with another stock; reading it takes its time.
///
/// # Errors
/// The stock's files, with every fault of theirs, or [`Refusal::OwnFault`].
pub(super) async fn with_stock(
    workshop: &Arc<Workshop>,
    stock: Stock,
) -> Result<Result<Workshop, (Stock, Vec<FileFault>)>, Refusal> {
    let workshop = Arc::clone(workshop);
    let read = move || {
        let read = workshop.with_stock(stock.clone());
        read.map_err(|faults| (stock, faults))
    };
    tokio::task::spawn_blocking(read).await.map_err(|why| {
        tracing::error!(%why, "reading parts did not end");
        Refusal::OwnFault
    })
}

/// The ruleset by whose reading a snapshot is called.
pub(super) fn reader(workshop: &Workshop) -> Result<&Arc<Ruleset>, Refusal> {
    workshop.reader().ok_or_else(|| {
        tracing::error!("no ruleset in force can read the stock");
        Refusal::OwnFault
    })
}

/// Refuses to go on from another snapshot than the caller knows. Rulesets that declare parts in
/// other ways have digests of their own for one stock: any of them will do.
pub(super) fn check_expected(workshop: &Workshop, expected: &str) -> Result<(), Refusal> {
    let mut digests = workshop.digests();
    if digests.any(|digest| digest == expected) {
        return Ok(());
    }
    Err(Refusal::OtherSnapshotInForce {
        expected: expected.to_owned(),
        in_force: reader(workshop)?.stock.digest.clone(),
    })
}

/// The entry of an act that puts a workshop's stock in force.
pub(super) fn entry(workshop: &Workshop, of: StockAct<'_>) -> Result<Entry, Refusal> {
    let ruleset = reader(workshop)?;
    let (act, mut blobs) = act_of(workshop.stock(), of.reason, of.changes, of.record);
    blobs.push(
        parts_text(&ruleset.program, &ruleset.parts)
            .into_bytes()
            .into(),
    );
    Ok(Entry {
        header: LeafHeader {
            parts_digest: Some(hash_of(&ruleset.stock.digest).ok_or(Refusal::OwnFault)?),
            ..LeafHeader::bare(
                of.kind,
                instant_ms(of.instant).ok_or(Refusal::OwnFault)?,
                of.by,
            )
        },
        subject: None,
        body: SaltedBody::new(act.to_bytes().map_err(|_| Refusal::OwnFault)?)
            .map_err(|_| Refusal::OwnFault)?,
        request: None,
        facts: EntryFacts {
            about: of.record,
            ..EntryFacts::default()
        },
        blobs,
    })
}

/// The pieces that a stock brings back though confirmed builds took them, each as a change, with
/// the place of the recommendation that was built.
pub(super) async fn coming_back(
    recording: &Recording,
    before: &Workshop,
    after: &Workshop,
) -> Result<Vec<(StockChange, u64)>, Refusal> {
    let pieces = |workshop: &Workshop| {
        let ruleset = reader(workshop)?;
        let pieces = Book::new(&ruleset.program, &ruleset.parts).pieces();
        pieces.map_err(|why| {
            tracing::error!(why, "the pieces on hand cannot be looked at");
            Refusal::OwnFault
        })
    };
    let (held, mut new) = (pieces(before)?, pieces(after)?);
    new.retain(|name, _| !held.contains_key(name));
    let names = new.keys().cloned().collect();
    let taken = taken_by_builds(recording.store.as_ref(), names).await;
    let taken = taken.map_err(|why| match why {
        NotInLog::Store(why) => store_refusal(why),
        why => damaged(&why.to_string()),
    })?;
    let with_record = |(name, record)| Some((new.remove(&name)?, record));
    Ok(taken.into_iter().filter_map(with_record).collect())
}

/// Why a stock that brings them back is refused: each of them.
pub(super) async fn refused_pieces(
    recording: &Recording,
    coming_back: &[(StockChange, u64)],
) -> Result<Refusal, Refusal> {
    let mut faults = Vec::new();
    for (change, record) in coming_back {
        let WhatChanged::Added(piece) = &change.what else {
            continue;
        };
        let record = recording.reference_at(*record).await?.id;
        let (kind, id, part) = (&change.kind, quoted(&piece.id), quoted(&change.part));
        faults.push(FieldFault {
            field: "stock".to_owned(),
            sentence: format!("the {kind} {id} of {part} was taken for the build of `{record}`"),
        });
    }
    Ok(Refusal::PiecesTaken(faults))
}

/// Records an act; its stock is then to be put in force.
pub(super) async fn record(
    recording: &Recording,
    entry: Entry,
) -> Result<pb::RecordReference, Refusal> {
    match recording
        .recorder
        .keep(entry)
        .await
        .map_err(recorder_refusal)?
    {
        Placed::New { position, leaf } => Ok(reference(position, leaf)),
        // An act has no request that could be known.
        Placed::Known(_) => Err(Refusal::OwnFault),
    }
}

/// The findings of files, as messages.
pub(super) fn finding_messages(stock: &Stock, faults: &[FileFault]) -> Vec<pb::Finding> {
    let (folder, found) = findings(&stock.name, stock.files.files(), faults);
    let messages = found.iter();
    messages
        .map(|finding| convert::finding(&folder, finding))
        .collect()
}

/// The findings of files, as faults of the request.
pub(super) fn refused_files(stock: &Stock, faults: &[FileFault]) -> Refusal {
    let (folder, found) = findings(&stock.name, stock.files.files(), faults);
    let fault = |finding| -> FieldFault { convert::finding_fault(&folder, finding) };
    Refusal::PartsRefused(found.iter().map(fault).collect())
}

/// Records the stock that the program is started with, as its own act.
///
/// # Errors
/// [`ActNotRecorded`].
pub(super) async fn record_the_start(
    registry: &Registry,
    recording: &Recording,
    reason: &str,
) -> Result<(), ActNotRecorded> {
    let _act = registry.act().await;
    let workshop = registry.workshop();
    if workshop.reader().is_none() {
        // Nothing can read it: it is in force once something can.
        return Ok(());
    }
    let act = StockAct {
        kind: LeafKind::Catalogue,
        by: Principals::THE_PROGRAM,
        instant: SystemTime::now(),
        reason,
        changes: Vec::new(),
        record: None,
    };
    let entry = entry(&workshop, act).map_err(|_| ActNotRecorded::Own)?;
    recording.recorder.keep(entry).await?;
    Ok(())
}
