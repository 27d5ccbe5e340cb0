//! The durable record: where leaves, bodies, keys and checkpoints are kept, and who may write.
//!
//! [`Store`] is what any database must do; [`SqliteStore`] does it in one file of the data
//! directory ([`DataFolder`]). A batch is one transaction: places in the tree are taken inside it,
//! and it is on the disk when [`Store::append`] returns. Above it, one task writes
//! ([`Recorder`]): it groups what is waiting, signs checkpoints (`notary`), and stops for good
//! where a commit fails, since nobody can say then what is on the disk.
//!
//! Bodies are personal. Each is sealed under a key of its subject (`sealed`), which stands in a
//! table apart; an erasure destroys that key. Who a subject is and what a request's id was stand
//! here only as hashes under a secret of the log.
//!
//! What is not as it was written is never repaired, only named ([`StoreError`]).

mod check;
mod contents;
mod entry;
mod facts;
mod fault;
mod folder;
mod keys;
mod notary;
mod packed;
mod recorder;
mod salted;
mod sealed;
mod sqlite;
mod tree;

use std::collections::{BTreeMap, BTreeSet};

use async_trait::async_trait;

use crate::audit::leaf::LeafKind;
use crate::audit::merkle::{Hash, NodePlace};

pub use check::check_store;
pub use entry::{Beside, Entry, KeptBody, KnownRequest, LogIdentity, Placed, RequestMark};
pub use facts::{EntryFacts, KeptRecord, ListFilter, Listed, Outcome};
pub use fault::StoreError;
pub use folder::DataFolder;
pub use keys::{KeyChangeError, change_key, key_ring_of, keys_of_log};
pub use notary::{Notary, NotaryError};
pub use recorder::{MOST_IN_A_BATCH, NotRecorded, Recorder, RecorderSettings};
pub use salted::SaltedBody;
pub use sqlite::SqliteStore;
pub use tree::{check_tree, consistency_proof, inclusion_proof, root_of};

/// Where the log is kept.
#[async_trait]
pub trait Store: Send + Sync {
    /// Whether what it is kept in is whole: its pages, and that what an index finds is what is
    /// there. It takes its time, as all is read.
    ///
    /// # Errors
    /// [`StoreError::Damaged`].
    async fn check_file(&self) -> Result<(), StoreError>;

    /// What the log is called, and the secret of its hashes.
    fn identity(&self) -> &LogIdentity;

    /// How many leaves there are.
    async fn size(&self) -> Result<u64, StoreError>;

    /// Works out what can be before an entry is queued, so that the one task that writes need not.
    /// Nothing rests on whether it was, nor on what happens until it is kept.
    fn make_ready(&self, _entry: &mut Entry) {}

    /// Gives entries their places and keeps them, all or none; they are on the disk when this
    /// returns. The entries of a group take places one after the other. A group with an entry whose
    /// request is known already takes none: each of its entries is answered with that request.
    ///
    /// # Errors
    /// [`StoreError`]; then it is not known whether the entries were kept.
    async fn append_groups(&self, groups: &[&[Entry]]) -> Result<Vec<Vec<Placed>>, StoreError>;

    /// The same, with entries that have nothing to do with each other.
    ///
    /// # Errors
    /// [`StoreError`]; then it is not known whether the entries were kept.
    async fn append(&self, entries: &[Entry]) -> Result<Vec<Placed>, StoreError> {
        let groups: Vec<&[Entry]> = entries.iter().map(std::slice::from_ref).collect();
        Ok(self.append_groups(&groups).await?.concat())
    }

    /// Destroys the key of the entry's subject and keeps the entry, in one transaction. `None`
    /// where there is no such subject. Only after [`Store::finish_erasures`] is nothing of the key
    /// left in any file.
    ///
    /// # Errors
    /// [`StoreError`].
    async fn erase(&self, entry: &Entry) -> Result<Option<Placed>, StoreError>;

    /// Whether nothing of a key that was destroyed is left in any file; what is left is removed, as
    /// far as nobody reads it.
    ///
    /// # Errors
    /// [`StoreError`].
    async fn finish_erasures(&self) -> Result<bool, StoreError>;

    /// The bytes of a leaf, if there is one at the place.
    async fn leaf(&self, position: u64) -> Result<Option<Vec<u8>>, StoreError>;

    /// The bytes of the leaves from a place on, `most` of them at most.
    async fn leaves(&self, from: u64, most: usize) -> Result<Vec<Vec<u8>>, StoreError>;

    /// The body of a leaf.
    async fn body(&self, position: u64) -> Result<KeptBody, StoreError>;

    /// What stands beside a leaf; nothing of one that is not there.
    async fn beside(&self, position: u64) -> Result<Beside, StoreError>;

    /// Leaves with their bodies, in order from a place on, `most` of them at most; none only where
    /// there is none.
    async fn records(&self, from: u64, most: usize) -> Result<Vec<KeptRecord>, StoreError>;

    /// The places of the leaves of these kinds, in order from a place on, `most` of them at most.
    async fn places_of_kinds(
        &self,
        kinds: &[LeafKind],
        from: u64,
        most: usize,
    ) -> Result<Vec<u64>, StoreError>;

    /// Records, the newest first, from before a place on, `most` of them at most.
    async fn list(
        &self,
        filter: &ListFilter,
        before: Option<u64>,
        most: usize,
    ) -> Result<Vec<Listed>, StoreError>;

    /// The places of the records that speak of this one, in order.
    async fn about(&self, position: u64) -> Result<Vec<u64>, StoreError>;

    /// The nodes at these places; one that is missing is an error.
    async fn nodes(
        &self,
        places: &BTreeSet<NodePlace>,
    ) -> Result<BTreeMap<NodePlace, Hash>, StoreError>;

    /// What is known of a request, by the keyed hash of its id.
    async fn request(&self, hash: Hash) -> Result<Option<KnownRequest>, StoreError>;

    /// Keeps a content under its SHA-256, once.
    async fn keep_blob(&self, content: &[u8]) -> Result<Hash, StoreError>;

    /// The content of a digest. One that is not what the digest says is an error.
    async fn blob(&self, digest: Hash) -> Result<Option<Vec<u8>>, StoreError>;

    /// The digests of the contents that are kept, in order, those after one, `most` of them.
    async fn contents(&self, after: Option<Hash>, most: usize) -> Result<Vec<Hash>, StoreError>;

    /// Keeps a signed checkpoint.
    async fn keep_checkpoint(&self, size: u64, note: &str) -> Result<(), StoreError>;

    /// The signed checkpoints over more leaves than so many, in order, each with how many it is
    /// over; `most` of them at most.
    async fn checkpoints(&self, over: u64, most: usize) -> Result<Vec<(u64, String)>, StoreError>;

    /// The signed checkpoint over the most leaves.
    async fn last_checkpoint(&self) -> Result<Option<String>, StoreError>;
}
