//! Evidence of a record, handed out; and that somebody read it, recorded.

use std::time::SystemTime;

use loftwright_proto::v1 as pb;

use super::recording::{
    Found, Recording, bare_header, damaged, keys_refusal, recorder_refusal, store_refusal,
};
use super::refusal::{FieldFault, Refusal};
use super::request::together;
use crate::audit::act::RecordRead;
use crate::audit::leaf::LeafKind;
use crate::audit::merkle::leaf_hash;
use crate::audit::note::{Checkpoint, KeyRing, open_checkpoint};
use crate::exporting::{NotExported, evidence};
use crate::registry::Principal;
use crate::store::{Entry, EntryFacts, SaltedBody};

/// The most bytes of a piece of a file on its way.
const PIECE_BYTES: usize = 256 * 1024;

/// Records that somebody reads a record, or a part of it.
///
/// # Errors
/// [`Refusal`]: nothing can be recorded; then nothing is to be shown.
pub(crate) async fn note_read(
    recording: &Recording,
    who: &Principal,
    found: &Found,
    part: &str,
) -> Result<(), Refusal> {
    let position = found.reference.position;
    let act = RecordRead {
        record: position,
        record_leaf: leaf_hash(&found.leaf_bytes),
        part: part.to_owned(),
    };
    let body = act.to_bytes().map_err(|_| Refusal::OwnFault)?;
    let entry = Entry {
        header: bare_header(LeafKind::ReadByAPerson, SystemTime::now(), who)?,
        subject: None,
        body: SaltedBody::new(body).map_err(|_| Refusal::OwnFault)?,
        request: None,
        facts: EntryFacts {
            about: Some(position),
            ..EntryFacts::default()
        },
        blobs: Vec::new(),
    };
    let placed = recording.recorder.keep(entry).await;
    placed.map(drop).map_err(recorder_refusal)
}

/// The evidence of a record as a file; that it was handed out is recorded first. `since` is a
/// signed checkpoint of this log that somebody kept; empty for none.
///
/// # Errors
/// [`Refusal`].
pub(crate) async fn evidence_of(
    recording: &Recording,
    who: &Principal,
    id: &str,
    since: &str,
) -> Result<Vec<u8>, Refusal> {
    let keys = recording.keys().await.map_err(keys_refusal)?;
    let since = match since {
        "" => Ok(None),
        note => older(note, &keys).map(Some),
    };
    let (since, found) = match (since, recording.find(id).await) {
        (Ok(since), Ok(found)) => (since, found),
        (since, found) => {
            let since = since.err().map(|why| ("since", why));
            let found = found.err().map(|why| ("id", why));
            return Err(together(found.into_iter().chain(since).collect()));
        }
    };
    note_read(recording, who, &found, RecordRead::EVIDENCE).await?;
    let note = recording.recorder.checkpoint().await;
    let note = note.map_err(recorder_refusal)?;
    let position = found.reference.position;
    let store = recording.store.as_ref();
    let pack = evidence(store, position, &note, &keys, since.as_ref()).await;
    pack.map_err(|why| match why {
        NotExported::Store(why) => store_refusal(why),
        why @ (NotExported::OtherLog { .. }
        | NotExported::Shorter { .. }
        | NotExported::Rewritten(_)) => since_fault(why.to_string()),
        why => damaged(&why.to_string()),
    })
}

fn older(note: &str, keys: &KeyRing) -> Result<Checkpoint, Refusal> {
    let opened = open_checkpoint(note.as_bytes(), keys);
    opened
        .map(|(checkpoint, _)| checkpoint)
        .map_err(|why| since_fault(why.to_string()))
}

fn since_fault(sentence: String) -> Refusal {
    Refusal::Faults(vec![FieldFault {
        field: "since".to_owned(),
        sentence,
    }])
}

/// A file in the pieces in which it travels.
pub(super) fn in_pieces(file: &[u8]) -> Vec<pb::ExportRecordResponse> {
    let pieces = file.chunks(PIECE_BYTES);
    pieces
        .map(|piece| pb::ExportRecordResponse {
            piece: piece.to_vec(),
        })
        .collect()
}
