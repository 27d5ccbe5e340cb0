//! Why rules or parts that were once in force cannot be read back.

use super::revision::SourceFault;
use crate::parts_snapshot::SnapshotFault;
use crate::store::StoreError;

/// Why a revision, or what a record rests on, cannot be read back.
#[derive(Debug, thiserror::Error)]
pub enum NotRead {
    /// It was never published.
    #[error("it was never published here")]
    NeverPublished,
    /// The source of its rules is gone.
    #[error("its source is not kept here any more")]
    NoSource,
    /// The snapshot of its parts is gone.
    #[error("its parts are not kept here any more")]
    NoParts,
    /// What is kept is no source of rules, or lacks a layer.
    #[error("its source is damaged: {0}")]
    Source(#[from] SourceFault),
    /// This program does not accept the rules any more.
    #[error("this release does not accept it: {0}")]
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
