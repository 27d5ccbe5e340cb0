//! Why rules or parts that were once in force cannot be read back, and what helps.

use loftwright_engine::CONTRACT_VERSION;

use super::revision::SourceFault;
use crate::audit::merkle::Hash;
use crate::parts_snapshot::SnapshotFault;
use crate::store::StoreError;

/// Why a revision, or what a record rests on, cannot be read back.
#[derive(Debug, thiserror::Error)]
pub enum NotRead {
    /// It was never published.
    #[error("it was never published here")]
    NeverPublished,
    /// The source of its rules is gone.
    #[error(
        "its source is not kept here any more: the content {0} is missing; put the data directory \
         back from a backup, or publish the same rules again (evidence packs of its records hold \
         them)"
    )]
    NoSource(Hash),
    /// The snapshot of its parts is gone.
    #[error(
        "its parts are not kept here any more: the content {0} is missing; put the data directory \
         back from a backup (evidence packs of its records hold them)"
    )]
    NoParts(Hash),
    /// It is of another version of the contract between engine and rules.
    #[error(
        "it was written for version {found} of the engine's contract, and this release has version \
         {known}; use the release that published it, or publish its rules again by this one"
    )]
    Contract {
        /// The version of the rules.
        found: u32,
        /// The one of this release.
        known: u32,
    },
    /// What is kept is no source of rules, or lacks a layer.
    #[error("its source is damaged: {0}")]
    Source(#[from] SourceFault),
    /// This program does not accept the rules any more.
    #[error("this release does not accept it: {0}; use the release that published it")]
    Refused(String),
    /// What is kept is no snapshot that these rules can read.
    #[error("its parts cannot be read by the rules: {0}")]
    Parts(#[from] SnapshotFault),
    /// The task that reads did not end.
    #[error("reading it did not end: {0}")]
    Task(#[from] tokio::task::JoinError),
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl NotRead {
    /// Whether this release can read rules that were written for a version of the contract: what
    /// the engine reads of them, and what it offers to them, is of one version.
    ///
    /// # Errors
    /// [`NotRead::Contract`].
    pub(crate) fn unless_contract_is_ours(found: u32) -> Result<(), NotRead> {
        let known = CONTRACT_VERSION;
        match found == known {
            true => Ok(()),
            false => Err(NotRead::Contract { found, known }),
        }
    }
}
