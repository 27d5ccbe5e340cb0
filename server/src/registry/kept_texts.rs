//! The texts of rules, which the bodies of recommendations refer to, read from the exact sources
//! that are kept. That costs no check of the rules, so that a record is read whatever this program
//! makes of them.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::log::hash_of;
use super::not_read::NotRead;
use super::revision::{Source, SourceFault};
use crate::audit::columns::KnownTexts;
use crate::audit::merkle::Hash;
use crate::store::Store;

/// Of how many rules they are remembered.
const MOST_REMEMBERED: usize = 8;

/// The texts of rules, which the bodies of recommendations refer to.
pub struct KeptTexts {
    store: Arc<dyn Store>,
    /// By the digest of the rules' source; the one used last stands first.
    remembered: Mutex<VecDeque<(Hash, Arc<KnownTexts>)>>,
}

impl std::fmt::Debug for KeptTexts {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("KeptTexts").finish_non_exhaustive()
    }
}

impl KeptTexts {
    /// Those of a store.
    pub fn new(store: Arc<dyn Store>) -> Self {
        KeptTexts {
            store,
            remembered: Mutex::default(),
        }
    }

    /// The texts of the rules whose source has this digest.
    ///
    /// # Errors
    /// [`NotRead`].
    pub async fn of_rules(&self, rules: Hash) -> Result<Arc<KnownTexts>, NotRead> {
        if let Some(known) = self.known(rules) {
            return Ok(known);
        }
        let source = self.store.blob(rules).await?;
        self.read(rules, &source.ok_or(NotRead::NoSource(rules))?)
    }

    /// The texts of a source that is at hand.
    ///
    /// # Errors
    /// [`NotRead`].
    pub fn of_source(&self, source: &Source) -> Result<Arc<KnownTexts>, NotRead> {
        let rules = hash_of(&source.revision).ok_or(SourceFault::Head)?;
        match self.known(rules) {
            Some(known) => Ok(known),
            None => self.read(rules, &source.bytes),
        }
    }

    fn known(&self, rules: Hash) -> Option<Arc<KnownTexts>> {
        let mut remembered = self.remembered();
        let place = remembered.iter().position(|(known, _)| *known == rules)?;
        let found = remembered.remove(place)?;
        let texts = Arc::clone(&found.1);
        remembered.push_front(found);
        Some(texts)
    }

    fn read(&self, rules: Hash, source: &[u8]) -> Result<Arc<KnownTexts>, NotRead> {
        let texts = Arc::new(KnownTexts::of_source(source).ok_or(SourceFault::Head)?);
        let mut remembered = self.remembered();
        remembered.push_front((rules, Arc::clone(&texts)));
        remembered.truncate(MOST_REMEMBERED);
        Ok(texts)
    }

    fn remembered(&self) -> MutexGuard<'_, VecDeque<(Hash, Arc<KnownTexts>)>> {
        // Whoever panicked with it has left whole pairs.
        self.remembered
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}
