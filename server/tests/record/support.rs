//! A log in a folder of its own, and entries for it.

use std::path::Path;
use std::sync::Arc;

use loftwright_server::audit::note::SigningKey;
use loftwright_server::store::{DataFolder, Entry, Notary, Placed, SqliteStore, Store, StoreError};
use sqlx::{ConnectOptions, Connection, SqliteConnection};

pub(crate) use loftwright_testing::entry;

/// What the digests of an [`entry`] are of: a leaf's hash is SHA-256 over a zero byte and the leaf
/// (RFC 6962, section 2.1).
pub(crate) const RESTED_ON: &[u8] = b"\0a digest";

/// An open log.
pub(crate) struct Log {
    pub(crate) store: Arc<SqliteStore>,
    pub(crate) notary: Notary,
}

impl Log {
    /// Opens the log of a directory.
    pub(crate) async fn open(path: &Path) -> Result<Self, StoreError> {
        let folder = loop {
            match DataFolder::open(path) {
                // Another test is starting a process, which has our files until it runs.
                Err(StoreError::InUse(_)) => tokio::task::yield_now().await,
                opened => break opened?,
            }
        };
        let key: SigningKey = folder.signing_key()?;
        let store = Arc::new(SqliteStore::open(&folder, &key).await?);
        let as_store: Arc<dyn Store> = store.clone();
        let notary = Notary::new(as_store, folder, key)?;
        Ok(Log { store, notary })
    }

    /// A log of so many records of one subject, all signed for.
    pub(crate) async fn of(path: &Path, records: u32) -> Self {
        let mut log = Log::open(path).await.expect("a log");
        log.store.keep_blob(RESTED_ON).await.expect("kept");
        for number in 0..records {
            log.keep(entry("player-7", &format!("body {number}"))).await;
        }
        log.notary.sign().await.expect("a checkpoint");
        log
    }

    /// Keeps one entry, and says where.
    pub(crate) async fn keep(&self, entry: Entry) -> u64 {
        let placed = self.store.append(&[entry]).await.expect("kept");
        match placed.first() {
            Some(Placed::New { position, .. }) => *position,
            other => panic!("not new: {other:?}"),
        }
    }
}

/// The fault of a directory that is no log.
pub(crate) async fn fault(path: &Path) -> StoreError {
    match Log::open(path).await {
        Ok(_) => panic!("it was opened"),
        Err(fault) => fault,
    }
}

/// The files of a directory as a crash would leave them now.
pub(crate) fn image(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for name in [
        "record.sqlite",
        "record.sqlite-wal",
        "signing-key",
        "last-checkpoint",
    ] {
        let (from, to) = (from.join(name), to.join(name));
        if from.exists() {
            std::fs::copy(from, to).expect("copied");
        }
    }
}

/// Does something to the database behind the log's back.
pub(crate) async fn behind_its_back(path: &Path, sql: &str) {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(path.join("record.sqlite"));
    let mut connection: SqliteConnection = options.connect().await.expect("a connection");
    sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned()))
        .execute(&mut connection)
        .await
        .expect("done");
    connection.close().await.expect("closed");
}
