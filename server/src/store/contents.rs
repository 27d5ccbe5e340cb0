//! What leaves rest on beside their bodies: whether each content that they name by its digest is
//! kept and is what its digest says, and what the rulesets are called that revisions are of.

use std::collections::BTreeMap;

use super::Store;
use super::entry::KeptBody;
use super::facts::Listed;
use super::fault::StoreError;
use crate::audit::act::{PartsChanged, Published};
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::audit::merkle::Hash;

/// The most digests that are asked for at once.
const CONTENTS_AT_ONCE: usize = 256;

/// What leaves name, gathered as they are gone through: as much as there are different contents,
/// however many leaves name them.
#[derive(Default)]
pub(super) struct Named {
    /// The first record that names each content, and what the content is to it.
    contents: BTreeMap<Hash, (u64, &'static str)>,
    /// What the rulesets of revisions are called, as they were published.
    rulesets: BTreeMap<Hash, String>,
}

impl Named {
    /// Takes in what a leaf names, and an act that is kept in the clear.
    pub(super) fn take_in(
        &mut self,
        position: u64,
        header: &LeafHeader,
        body: &KeptBody,
    ) -> Result<(), StoreError> {
        self.note(position, header.rules_digest, "the source of its rules");
        self.note(position, header.parts_digest, "the snapshot of its parts");
        let KeptBody::Whole { body, .. } = body else {
            return Ok(());
        };
        let what = "its body is not one that this program reads";
        let fault = |_| StoreError::Row { position, what };
        match header.kind {
            LeafKind::Catalogue | LeafKind::Stock => {
                let act = PartsChanged::of_bytes(body).map_err(fault)?;
                for file in act.files.into_values() {
                    self.note(position, Some(file), "a file of its stock");
                }
            }
            LeafKind::Published => {
                let act = Published::of_bytes(body).map_err(fault)?;
                let revision = header.rules_digest;
                self.rulesets
                    .extend(revision.map(|revision| (revision, act.ruleset)));
            }
            _ => {}
        }
        Ok(())
    }

    fn note(&mut self, position: u64, digest: Option<Hash>, what: &'static str) {
        if let Some(digest) = digest {
            self.contents.entry(digest).or_insert((position, what));
        }
    }

    /// Whether a list calls the ruleset of a record as its revision was published.
    pub(super) fn calls_it_so(&self, listed: &Listed) -> bool {
        let published = listed
            .revision
            .and_then(|revision| self.rulesets.get(&revision));
        published.is_none_or(|name| listed.ruleset.as_ref() == Some(name))
    }

    /// Reads every content that is kept.
    ///
    /// # Errors
    /// The first that is not what its digest says; then the first record whose content is missing.
    pub(super) async fn check_contents(mut self, store: &dyn Store) -> Result<(), StoreError> {
        let mut after = None;
        loop {
            let digests = store.contents(after, CONTENTS_AT_ONCE).await?;
            let Some(last) = digests.last() else {
                break;
            };
            after = Some(*last);
            for digest in digests {
                // A content that is another is an error of its own.
                if store.blob(digest).await?.is_some() {
                    self.contents.remove(&digest);
                }
            }
        }
        let missing = self.contents.into_iter();
        match missing.min_by_key(|(_, (position, _))| *position) {
            None => Ok(()),
            Some((digest, (position, what))) => Err(StoreError::NoContent {
                position,
                what,
                digest,
            }),
        }
    }
}
