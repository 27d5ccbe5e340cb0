//! Why the record cannot be opened, read or written. Each says what to do; none is repaired.

use std::path::{Path, PathBuf};

use crate::audit::leaf::LeafFault;
use crate::audit::merkle::{FrontierError, Hash, NodePlace, PlanError};
use crate::audit::note::KeyFault;
use crate::audit::note::key_file::KeyFileError;

/// A fault of the store.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another process writes there.
    #[error("the data directory `{0}` is in use by another process; stop that one first")]
    InUse(PathBuf),
    /// A file or folder cannot be used.
    #[error("`{path}` cannot be used: {why}")]
    System {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        why: std::io::Error,
    },
    /// The key file cannot be used.
    #[error(transparent)]
    Key(#[from] KeyFileError),
    /// There are records, and the key that signs them is gone.
    #[error("`{database}` has records, but the key file `{key}` is missing; put it back")]
    KeyMissing {
        /// The database.
        database: PathBuf,
        /// Where the key should be.
        key: PathBuf,
    },
    /// The key is that of another log.
    #[error(
        "`{database}` holds the log `{log}`, and the key file is of `{key}`; put back the key \
         that belongs to the log"
    )]
    KeyOfAnotherLog {
        /// The database.
        database: PathBuf,
        /// The log in it.
        log: String,
        /// The log of the key.
        key: String,
    },
    /// The key was being changed when the program ended.
    #[error(
        "`{0}` is there: a change of the log's key was begun and not ended; end it with \
         `loftwright log-key rotate`"
    )]
    KeyChangeBegun(PathBuf),
    /// The log cannot be called that.
    #[error("the log cannot have that name: {0}")]
    LogName(KeyFault),
    /// No database at all.
    #[error(
        "`{0}` is not a database; name another data directory, or put the file back from a backup"
    )]
    NotADatabase(PathBuf),
    /// A database of some other program.
    #[error("`{0}` is a database of another program; name another data directory")]
    Foreign(PathBuf),
    /// Written before the first release.
    #[error(
        "`{file}` has schema {found}, and this program reads none before schema {oldest}; export \
         the log with the program that wrote it (`export-log`), and begin another data directory"
    )]
    OlderSchema {
        /// The file.
        file: PathBuf,
        /// Its schema.
        found: i64,
        /// The oldest of ours.
        oldest: i64,
    },
    /// Written by a later release.
    #[error(
        "`{file}` has schema {found}, and this program knows schema {known}; use the release that \
         wrote it, or a later one"
    )]
    NewerSchema {
        /// The file.
        file: PathBuf,
        /// Its schema.
        found: i64,
        /// Ours.
        known: i64,
    },
    /// The database is damaged.
    #[error("`{file}` is damaged: {why}; keep the file, and put one back from a backup")]
    Damaged {
        /// The file.
        file: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// Records are missing at the end.
    #[error(
        "`{file}` holds {held} records, and {signed} were signed for: the end of the log is \
         missing (is its `-wal` file cut or lost?); put the data directory back from a backup"
    )]
    CutShort {
        /// The file.
        file: PathBuf,
        /// The records in it.
        held: u64,
        /// The records of the last signed checkpoint.
        signed: u64,
    },
    /// The records are not those that were signed.
    #[error(
        "the first {size} records of `{file}` are not those that were signed for; keep the file, \
         and put one back from a backup"
    )]
    OtherHistory {
        /// The file.
        file: PathBuf,
        /// How many were signed for.
        size: u64,
    },
    /// The last checkpoint's file is gone or wrong.
    #[error("the last signed checkpoint `{file}` {why}; put the file back from a backup")]
    Checkpoint {
        /// The file.
        file: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// The database refuses.
    #[error("the database fails: {0}")]
    Database(#[from] sqlx::Error),
    /// The machine gives no random bytes.
    #[error("the system gives no random bytes")]
    NoRandomness,
    /// A leaf that cannot be written.
    #[error("a leaf cannot be written: {0}")]
    Leaf(#[from] LeafFault),
    /// The tree cannot grow.
    #[error(transparent)]
    Tree(#[from] FrontierError),
    /// What is not in the log cannot be proved.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// A stored node is missing.
    #[error("the node {index} of level {level} is missing", index = .0.index, level = .0.level)]
    NoNode(NodePlace),
    /// A stored row is not what was written.
    #[error("record {position}: {what}")]
    Row {
        /// The place of the record.
        position: u64,
        /// What is wrong.
        what: &'static str,
    },
    /// A content that a record rests on is gone.
    #[error(
        "record {position} rests on {what}, and the content {digest} is not kept any more; put the \
         data directory back from a backup"
    )]
    NoContent {
        /// The place of the first record that rests on it.
        position: u64,
        /// What it is to the record.
        what: &'static str,
        /// Its SHA-256.
        digest: Hash,
    },
    /// A content is not what was kept.
    #[error("the content {0} is not what was kept; put the data directory back from a backup")]
    Content(Hash),
    /// A number that no log has.
    #[error("a stored number is out of range")]
    Number,
}

impl StoreError {
    /// Whether what is kept is not what was written, which is no passing trouble.
    pub fn is_damage(&self) -> bool {
        matches!(
            self,
            StoreError::Damaged { .. }
                | StoreError::CutShort { .. }
                | StoreError::OtherHistory { .. }
                | StoreError::NoNode(_)
                | StoreError::Row { .. }
                | StoreError::NoContent { .. }
                | StoreError::Content(_)
                | StoreError::Number
        )
    }

    /// A fault of the database file, by SQLite's own result code.
    ///
    /// Source: sqlite.org/rescode.html, SQLITE_CORRUPT (11) and SQLITE_NOTADB (26).
    pub(super) fn of_database(file: &Path, error: sqlx::Error) -> Self {
        let code = error
            .as_database_error()
            .and_then(|error| error.code())
            .and_then(|code| code.parse::<u32>().ok());
        match code.map(|code| code & 0xff) {
            Some(26) => StoreError::NotADatabase(file.to_owned()),
            Some(11) => StoreError::Damaged {
                file: file.to_owned(),
                why: error.to_string(),
            },
            _ => StoreError::Database(error),
        }
    }
}
