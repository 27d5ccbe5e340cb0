//! Acts as leaves, and what leaves and sources say when they are read again.

use std::sync::Arc;

use super::not_read::NotRead;
use crate::audit::encoding::EncodeFault;
use crate::audit::leaf::{Leaf, LeafHeader, LeafKind};
use crate::audit::merkle::Hash;
use crate::store::{
    Entry, EntryFacts, KeptBody, NotRecorded, Placed, Recorder, SaltedBody, Store, StoreError,
};
use crate::wiped::WipedBytes;

/// Where acts are recorded.
pub(super) struct Log {
    pub(super) store: Arc<dyn Store>,
    pub(super) recorder: Recorder,
}

/// Why an act is not recorded.
#[derive(Debug, thiserror::Error)]
pub enum ActNotRecorded {
    /// The recorder does not take it.
    #[error(transparent)]
    Recorder(#[from] NotRecorded),
    /// Its body cannot be written.
    #[error("the act cannot be written: {0}")]
    Body(#[from] EncodeFault),
    /// The machine gives no random bytes, or a digest is none.
    #[error("the act cannot be written: the system gives no random bytes, or a digest is none")]
    Own,
}

/// An act that is to be recorded.
pub(super) struct Act<'a> {
    pub(super) kind: LeafKind,
    pub(super) by: &'a str,
    pub(super) instant_ms: i64,
    /// The rules that it is about.
    pub(super) rules: Option<RulesOf<'a>>,
    pub(super) body: Result<Vec<u8>, EncodeFault>,
}

/// What a header says of rules.
#[derive(Clone, Copy)]
pub(super) struct RulesOf<'a> {
    pub(super) ruleset: &'a str,
    /// All in hexadecimal.
    pub(super) revision: &'a str,
    pub(super) meaning_digest: &'a str,
    pub(super) text_digest: &'a str,
    pub(super) contract_version: u32,
    /// The exact source, where it is to be kept with the act.
    pub(super) source: Option<&'a Arc<[u8]>>,
}

impl Act<'_> {
    pub(super) fn entry(self) -> Result<Entry, ActNotRecorded> {
        let digest = |hexadecimal: &str| hash_of(hexadecimal).ok_or(ActNotRecorded::Own);
        let rules = self.rules;
        Ok(Entry {
            header: LeafHeader {
                meaning_digest: rules.map(|of| digest(of.meaning_digest)).transpose()?,
                text_digest: rules.map(|of| digest(of.text_digest)).transpose()?,
                rules_digest: rules.map(|of| digest(of.revision)).transpose()?,
                contract_version: rules.map(|of| of.contract_version),
                ..LeafHeader::bare(self.kind, self.instant_ms, self.by)
            },
            subject: None,
            body: SaltedBody::new(self.body?).map_err(|_| ActNotRecorded::Own)?,
            request: None,
            facts: EntryFacts {
                ruleset: rules.map(|of| of.ruleset.to_owned()),
                ..EntryFacts::default()
            },
            blobs: rules
                .and_then(|of| of.source)
                .cloned()
                .into_iter()
                .collect(),
        })
    }
}

impl Log {
    /// Records acts together; they are on the disk when this returns. The places they took.
    pub(super) async fn keep(&self, entries: Vec<Entry>) -> Result<Vec<u64>, ActNotRecorded> {
        let placed = self.recorder.keep_together(entries).await?;
        let places = placed.into_iter().map(|placed| match placed {
            Placed::New { position, .. } => Ok(position),
            // Acts have no request that could be known.
            Placed::Known(_) => Err(ActNotRecorded::Own),
        });
        places.collect()
    }

    /// The exact source of a revision.
    pub(super) async fn source(&self, revision: &str) -> Result<Arc<[u8]>, NotRead> {
        let digest = hash_of(revision).ok_or(NotRead::NeverPublished)?;
        let source = self.store.blob(digest).await?;
        let source = source.ok_or(NotRead::NoSource(digest))?;
        Ok(source.into())
    }
}

/// A leaf in the clear with its body.
pub(super) async fn read_act(
    store: &dyn Store,
    position: u64,
) -> Result<(LeafHeader, WipedBytes), StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let leaf = store.leaf(position).await?;
    let leaf = leaf.ok_or(damaged("the leaf is missing"))?;
    let leaf = Leaf::parse(&leaf).map_err(|_| damaged("the leaf is none"))?;
    match store.body(position).await? {
        KeptBody::Whole { body, .. } => Ok((leaf.header, body)),
        KeptBody::Erased | KeptBody::NoLeaf => Err(damaged("the body of an act is missing")),
    }
}

/// The hash in 64 hexadecimal digits.
pub(crate) fn hash_of(hexadecimal: &str) -> Option<Hash> {
    let digits: Option<Vec<u8>> = hexadecimal
        .chars()
        .map(|digit| u8::try_from(digit.to_digit(16)?).ok())
        .collect();
    let (pairs, rest) = digits.as_deref()?.as_chunks::<2>();
    let bytes: Vec<u8> = pairs.iter().map(|[high, low]| high * 16 + low).collect();
    rest.is_empty().then(|| Hash::of_slice(&bytes)).flatten()
}
