//! The log, or the evidence of one record, out of a store and into a file.
//!
//! Both end with a checkpoint that was signed for it, and hold nothing that the store does not: a
//! body whose subject was erased is left out, and so is a source that is not kept. A log is written
//! page by page, so that memory does not grow with it.

use std::io::Write;

use crate::audit::export::{
    ATTACHED_PARTS, ATTACHED_RULES, ExportWriter, Head, HeadKind, OlderLog, WriteError,
};
use crate::audit::leaf::{Leaf, LeafFault};
use crate::audit::merkle::verify_consistency;
use crate::audit::note::{Checkpoint, KeyRing, NoteFault, SignedNote};
use crate::store::{KeptBody, Store, StoreError, consistency_proof, inclusion_proof};

/// How many records are read at once.
const RECORDS_AT_ONCE: usize = 256;

/// Why nothing is written.
#[derive(Debug, thiserror::Error)]
pub enum NotExported {
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The file cannot be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// What was signed is no checkpoint.
    #[error("the checkpoint cannot be read: {0}")]
    Note(#[from] NoteFault),
    /// A leaf of the store is none.
    #[error("record {0} cannot be read: {1}")]
    Leaf(u64, LeafFault),
    /// There is no such record below the checkpoint.
    #[error("the log has no record {0}")]
    NoRecord(u64),
    /// The older checkpoint is of another log.
    #[error("the older checkpoint is of the log `{of}`, and this is `{here}`")]
    OtherLog {
        /// The log of the checkpoint.
        of: String,
        /// This log.
        here: String,
    },
    /// The older checkpoint is of more records than there are.
    #[error(
        "the older checkpoint is of {older} records, and the log has {size}: records are missing"
    )]
    Shorter {
        /// The records of the older checkpoint.
        older: u64,
        /// The records there are.
        size: u64,
    },
    /// The log does not continue the older checkpoint.
    #[error("the log does not continue the checkpoint of {0} records: it was rewritten")]
    Rewritten(u64),
}

/// The evidence of a record: its leaf and body, its proof to the checkpoint of `note`, and what its
/// rules and parts were. With an older checkpoint it has the proof that the log continues that one.
///
/// # Errors
/// [`NotExported`].
pub async fn evidence(
    store: &dyn Store,
    position: u64,
    note: &str,
    keys: &KeyRing,
    since: Option<&Checkpoint>,
) -> Result<Vec<u8>, NotExported> {
    let (note, checkpoint) = signed(note)?;
    let size = checkpoint.size;
    let bytes = store.leaf(position).await?;
    let bytes = bytes.filter(|_| position < size);
    let bytes = bytes.ok_or(NotExported::NoRecord(position))?;
    let leaf = Leaf::parse(&bytes).map_err(|why| NotExported::Leaf(position, why))?;
    let head = Head {
        origin: checkpoint.origin.clone(),
        size,
        kind: HeadKind::Evidence {
            position,
            proof: inclusion_proof(store, position, size).await?,
            older: match since {
                Some(since) => Some(older(store, since, &checkpoint).await?),
                None => None,
            },
        },
    };
    let mut writer = begun(Vec::new(), &head, keys)?;
    match store.body(position).await? {
        KeptBody::Whole { salt, body } => writer.record(&bytes, Some((&salt, &body)))?,
        KeptBody::Erased | KeptBody::NoLeaf => writer.record(&bytes, None)?,
    }
    writer.checkpoint(&note)?;
    let digests = [
        (ATTACHED_RULES, leaf.header.rules_digest),
        (ATTACHED_PARTS, leaf.header.parts_digest),
    ];
    for (name, digest) in digests {
        let Some(digest) = digest else {
            continue;
        };
        if let Some(content) = store.blob(digest).await? {
            writer.attachment(name, &content)?;
        }
    }
    Ok(writer.end()?)
}

/// The whole log up to the checkpoint of `note`.
///
/// # Errors
/// [`NotExported`].
pub async fn log<W: Write>(
    store: &dyn Store,
    output: W,
    note: &str,
    keys: &KeyRing,
) -> Result<W, NotExported> {
    let (note, checkpoint) = signed(note)?;
    let head = Head {
        origin: checkpoint.origin,
        size: checkpoint.size,
        kind: HeadKind::Log {
            first: 0,
            peaks: Vec::new(),
        },
    };
    let mut writer = begun(output, &head, keys)?;
    let mut next = 0;
    while next < checkpoint.size {
        let page = store.records(next, RECORDS_AT_ONCE).await?;
        let page = page
            .into_iter()
            .filter(|one| one.position < checkpoint.size);
        let mut is_empty = true;
        for record in page {
            is_empty = false;
            if record.position != next {
                return Err(NotExported::NoRecord(next));
            }
            next += 1;
            match &record.body {
                KeptBody::Whole { salt, body } => {
                    writer.record(&record.leaf, Some((salt, body)))?;
                }
                KeptBody::Erased | KeptBody::NoLeaf => writer.record(&record.leaf, None)?,
            }
        }
        if is_empty {
            return Err(NotExported::NoRecord(next));
        }
    }
    writer.checkpoint(&note)?;
    Ok(writer.end()?)
}

fn signed(note: &str) -> Result<(SignedNote, Checkpoint), NotExported> {
    let note = SignedNote::parse(note.as_bytes())?;
    let checkpoint = Checkpoint::parse(note.text())?;
    Ok((note, checkpoint))
}

fn begun<W: Write>(output: W, head: &Head, keys: &KeyRing) -> Result<ExportWriter<W>, NotExported> {
    let mut writer = ExportWriter::begin(output, head)?;
    for key in keys.keys() {
        writer.key(key)?;
    }
    Ok(writer)
}

/// The proof that the log continues an older checkpoint.
async fn older(
    store: &dyn Store,
    since: &Checkpoint,
    now: &Checkpoint,
) -> Result<OlderLog, NotExported> {
    if since.origin != now.origin {
        return Err(NotExported::OtherLog {
            of: since.origin.clone(),
            here: now.origin.clone(),
        });
    }
    if since.size > now.size {
        return Err(NotExported::Shorter {
            older: since.size,
            size: now.size,
        });
    }
    let proof = consistency_proof(store, since.size, now.size).await?;
    // A proof that does not hold is never handed out.
    verify_consistency(since.size, now.size, &proof, &since.root, &now.root)
        .map_err(|_| NotExported::Rewritten(since.size))?;
    Ok(OlderLog {
        size: since.size,
        proof,
    })
}
