//! Who signs checkpoints: each is shown to continue the last one, and is on the disk before anybody
//! sees it.

use std::sync::Arc;

use super::Store;
use super::fault::StoreError;
use super::folder::DataFolder;
use super::tree::{consistency_proof, root_of};
use crate::audit::merkle::{ProofError, empty_root, verify_consistency};
use crate::audit::note::{Checkpoint, NoteFault, SigningKey, VerifierKey, sign_checkpoint};

/// Signs for one log.
pub struct Notary {
    store: Arc<dyn Store>,
    folder: DataFolder,
    key: SigningKey,
    /// The key that signs next, while the key is being changed.
    next_key: Option<SigningKey>,
    last: Option<(Checkpoint, String)>,
}

/// Why nothing is signed.
#[derive(Debug, thiserror::Error)]
pub enum NotaryError {
    /// The log does not continue what was signed.
    #[error(
        "the log of {size} records does not continue the one of {signed} that was signed: {why}"
    )]
    OtherHistory {
        /// The records now.
        size: u64,
        /// The records of the last checkpoint.
        signed: u64,
        /// What the proof says.
        why: ProofError,
    },
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The log's name can stand in no note.
    #[error("the checkpoint cannot be written: {0}")]
    Note(#[from] NoteFault),
}

impl Notary {
    /// A notary that goes on from the directory's last checkpoint.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn new(
        store: Arc<dyn Store>,
        folder: DataFolder,
        key: SigningKey,
    ) -> Result<Self, StoreError> {
        let last = folder.last_checkpoint(&key)?;
        Ok(Notary {
            store,
            folder,
            key,
            next_key: None,
            last,
        })
    }

    /// The same, signing with a second key too.
    pub(super) fn with_next_key(self, key: SigningKey) -> Self {
        Notary {
            next_key: Some(key),
            ..self
        }
    }

    /// The directory it signs in.
    pub(super) fn folder(&self) -> &DataFolder {
        &self.folder
    }

    /// The public half of the key.
    pub fn verifier(&self) -> &VerifierKey {
        self.key.verifier()
    }

    /// How many records the last checkpoint is over.
    pub fn signed_size(&self) -> u64 {
        self.last.as_ref().map_or(0, |(last, _)| last.size)
    }

    /// A checkpoint over all there is. Where nothing was added it is the last one.
    ///
    /// # Errors
    /// [`NotaryError`]; then nothing is signed.
    pub async fn sign(&mut self) -> Result<&str, NotaryError> {
        let store = Arc::clone(&self.store);
        let store = store.as_ref();
        let size = store.size().await?;
        let is_new = self.last.as_ref().is_none_or(|(last, _)| last.size != size);
        if is_new {
            let root = root_of(store, size).await?;
            let (signed, signed_root) = self
                .last
                .as_ref()
                .map_or((0, empty_root()), |(last, _)| (last.size, last.root));
            let proof = match signed <= size {
                true => consistency_proof(store, signed, size).await?,
                false => Vec::new(),
            };
            verify_consistency(signed, size, &proof, &signed_root, &root)
                .map_err(|why| NotaryError::OtherHistory { size, signed, why })?;
            let checkpoint = Checkpoint::new(&store.identity().origin, size, root);
            let keys: Vec<_> = [&self.key].into_iter().chain(&self.next_key).collect();
            let note = sign_checkpoint(&checkpoint, &keys)?.to_text();
            self.folder.keep_checkpoint(&note)?;
            store.keep_checkpoint(size, &note).await?;
            self.last = Some((checkpoint, note));
        }
        Ok(self.last.as_ref().map_or("", |(_, note)| note.as_str()))
    }
}

impl std::fmt::Debug for Notary {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter
            .debug_struct("Notary")
            .field("last", &self.last)
            .finish_non_exhaustive()
    }
}
