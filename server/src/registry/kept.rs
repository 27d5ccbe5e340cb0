//! Rulesets that a record rests on, read back from what is kept of them.
//!
//! A record names its rules and its parts by digests; the exact source and the snapshot stand in
//! the store under these. Reading them back costs a check of the rules, so that the last few are
//! remembered.

use std::collections::VecDeque;
use std::sync::Arc;

use tokio::sync::Mutex;

use super::Revised;
use super::not_read::NotRead;
use super::workshop::{Ruleset, StockIdentity};
use crate::audit::merkle::Hash;
use crate::parts_snapshot::{SnapshotFault, parts_of_text};
use crate::store::Store;

/// How many rulesets are remembered.
const MOST_REMEMBERED: usize = 8;

/// The rulesets of past records.
pub struct KeptRulesets {
    store: Arc<dyn Store>,
    /// The one used last stands first.
    remembered: Mutex<VecDeque<(Key, Arc<Ruleset>)>>,
}

/// The digests of a revision's source and of a snapshot of parts.
type Key = (Hash, Hash);

impl std::fmt::Debug for KeptRulesets {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter
            .debug_struct("KeptRulesets")
            .finish_non_exhaustive()
    }
}

impl KeptRulesets {
    /// Those of a store.
    pub fn new(store: Arc<dyn Store>) -> Self {
        KeptRulesets {
            store,
            remembered: Mutex::default(),
        }
    }

    /// The ruleset of these digests, written for that version of the contract. What its stock was
    /// called and when it was counted is not known of it.
    ///
    /// # Errors
    /// [`NotRead`].
    pub async fn ruleset(
        &self,
        contract_version: u32,
        rules: Hash,
        parts: Hash,
    ) -> Result<Arc<Ruleset>, NotRead> {
        NotRead::unless_contract_is_ours(contract_version)?;
        let key = (rules, parts);
        // Held while it is read, so that of several who ask for the same only one does the work.
        let mut remembered = self.remembered.lock().await;
        if let Some(place) = remembered.iter().position(|(known, _)| *known == key) {
            let found = remembered.remove(place);
            if let Some(found) = found {
                let ruleset = Arc::clone(&found.1);
                remembered.push_front(found);
                return Ok(ruleset);
            }
        }
        let source = self.store.blob(rules).await?;
        let source = source.ok_or(NotRead::NoSource(rules))?;
        let snapshot = self.store.blob(parts).await?;
        let snapshot = snapshot.ok_or(NotRead::NoParts(parts))?;
        let read = move || ruleset_of(&source, &snapshot, parts);
        let ruleset = Arc::new(tokio::task::spawn_blocking(read).await??);
        remembered.push_front((key, Arc::clone(&ruleset)));
        remembered.truncate(MOST_REMEMBERED);
        Ok(ruleset)
    }
}

/// The ruleset of a source and a snapshot; `digest` is the snapshot's.
fn ruleset_of(source: &[u8], snapshot: &[u8], digest: Hash) -> Result<Ruleset, NotRead> {
    let Revised {
        program, source, ..
    } = Revised::of_source(source)?;
    let snapshot = std::str::from_utf8(snapshot).map_err(|why| SnapshotFault {
        byte: why.valid_up_to(),
        why: "it is no text".to_owned(),
    })?;
    let parts = parts_of_text(&program, snapshot)?;
    Ok(Ruleset {
        source,
        program,
        parts,
        stock: StockIdentity {
            name: String::new(),
            digest: digest.to_string(),
            as_of: None,
        },
    })
}
