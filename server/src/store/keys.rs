//! The log's key is changed.
//!
//! The new key is made, a leaf says that it is in use and the old one is not, the checkpoint that
//! ends with that leaf is signed by both, and the new key's file takes the place of the old one's.
//! Whoever trusts the old key so comes to the new one; what the old key signs later does not count.
//! A change that was interrupted is gone on with: until it is ended the log is not opened.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use super::Store;
use super::entry::{Entry, KeptBody};
use super::facts::EntryFacts;
use super::fault::StoreError;
use super::folder::DataFolder;
use super::notary::{Notary, NotaryError};
use super::salted::SaltedBody;
use super::sqlite::SqliteStore;
use crate::audit::act::{ActFault, KeyChanged};
use crate::audit::encoding::EncodeFault;
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::audit::note::key_file;
use crate::audit::note::{KeyFault, KeyRing, KeyRingFault, VerifierKey};

/// Who changes a key: whoever may write in the data directory.
const PRINCIPAL: &str = "local";
/// The most changes that are read at once.
const MOST_CHANGES: usize = 1000;

/// Why the key is not changed, or its ring not shown.
#[derive(Debug, thiserror::Error)]
pub enum KeyChangeError {
    /// The record cannot be opened or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Nothing is signed.
    #[error(transparent)]
    Notary(#[from] NotaryError),
    /// A leaf of a key says nothing that is known.
    #[error("record {position} is to say that the key was changed: {why}")]
    Act {
        /// Its place.
        position: u64,
        /// What is wrong.
        why: String,
    },
    /// The leaf cannot be written.
    #[error(transparent)]
    Encode(#[from] EncodeFault),
    /// The file of keys is none.
    #[error("`{file}` holds no keys: {why}; it is written again when the key is changed")]
    Ring {
        /// The file.
        file: String,
        /// The first fault.
        why: KeyRingFault,
    },
}

/// Changes the key of the log in a directory, or ends a change that was begun. The keys for those
/// who verify are returned.
///
/// # Errors
/// [`KeyChangeError`].
pub async fn change_key(path: &Path) -> Result<KeyRing, KeyChangeError> {
    let folder = DataFolder::open(path)?;
    let old = folder.key_before_change()?;
    let store: Arc<dyn Store> = Arc::new(SqliteStore::open(&folder, &old).await?);
    let new = folder.begin_key_change(old.verifier().name())?;
    let in_use = new.verifier().to_string();
    let out_of_use = old.verifier().to_string();
    let changes = changes(store.as_ref()).await?;
    let is_recorded = changes.last().is_some_and(|(_, act)| act.in_use == in_use);
    if !is_recorded {
        let act = KeyChanged { in_use, out_of_use };
        store.append(&[entry(&act)?]).await?;
    }
    let mut notary = Notary::new(Arc::clone(&store), folder, old)?.with_next_key(new);
    notary.sign().await?;
    let ring = keys_of_log(store.as_ref(), notary.verifier()).await?;
    notary.folder().keep_key_ring(&ring)?;
    notary.folder().end_key_change()?;
    Ok(ring)
}

/// The keys for those who verify the log of a directory, which may be in use.
///
/// # Errors
/// [`KeyChangeError`].
pub fn key_ring_of(path: &Path) -> Result<KeyRing, KeyChangeError> {
    let file = path.join("key-ring");
    let Ok(text) = fs::read_to_string(&file) else {
        // Before the first change the key itself says it all.
        let key = key_file::read(&path.join("signing-key")).map_err(StoreError::Key)?;
        return Ok(KeyRing::of(key.verifier().clone()));
    };
    KeyRing::parse(&text).map_err(|faults| KeyChangeError::Ring {
        file: file.display().to_string(),
        why: faults.into_iter().next().unwrap_or(KeyRingFault::Empty),
    })
}

/// The keys that signed a log, each with its sizes, as its leaves say; `now` is the one in use.
///
/// # Errors
/// [`KeyChangeError`].
pub async fn keys_of_log(store: &dyn Store, now: &VerifierKey) -> Result<KeyRing, KeyChangeError> {
    ring_of_changes(&changes(store).await?, now)
}

/// The changes of the key that the log knows, with their places.
async fn changes(store: &dyn Store) -> Result<Vec<(u64, KeyChanged)>, KeyChangeError> {
    let mut found = Vec::new();
    let mut from = 0;
    loop {
        let places = store.places_of_kinds(&[LeafKind::Key], from, MOST_CHANGES);
        let places = places.await?;
        let Some(last) = places.last() else {
            return Ok(found);
        };
        from = last + 1;
        for position in places {
            let KeptBody::Whole { body, .. } = store.body(position).await? else {
                let why = "it has no body".to_owned();
                return Err(KeyChangeError::Act { position, why });
            };
            let act = KeyChanged::of_bytes(&body);
            let act = act.map_err(|why: ActFault| KeyChangeError::Act {
                position,
                why: why.to_string(),
            })?;
            found.push((position, act));
        }
    }
}

/// The keys and the sizes that each signs; `first` where the key was never changed.
fn ring_of_changes(
    changes: &[(u64, KeyChanged)],
    first: &VerifierKey,
) -> Result<KeyRing, KeyChangeError> {
    let key = |position: u64, text: &str| {
        text.parse::<VerifierKey>()
            .map_err(|why: KeyFault| KeyChangeError::Act {
                position,
                why: why.to_string(),
            })
    };
    let first = match changes.first() {
        Some((position, act)) => key(*position, &act.out_of_use)?,
        None => first.clone(),
    };
    let mut ring = KeyRing::of(first);
    for (position, act) in changes {
        ring.change(key(*position, &act.in_use)?, position + 1);
    }
    Ok(ring)
}

fn entry(act: &KeyChanged) -> Result<Entry, KeyChangeError> {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    let instant_ms = since
        .ok()
        .and_then(|since| since.as_millis().try_into().ok());
    Ok(Entry {
        header: LeafHeader::bare(
            LeafKind::Key,
            instant_ms.ok_or(StoreError::Number)?,
            PRINCIPAL,
        ),
        subject: None,
        body: SaltedBody::new(act.to_bytes()?).map_err(|_| StoreError::NoRandomness)?,
        request: None,
        facts: EntryFacts::default(),
        blobs: Vec::new(),
    })
}
