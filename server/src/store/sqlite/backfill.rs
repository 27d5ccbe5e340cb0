//! What a commit leaves in the write-ahead log is moved into the database beside the writing.
//!
//! A commit that finds the log full moves it itself, and its callers wait. That stays for what this
//! does not come to; where it does, little is left to move then. Nothing rests on it: what is not
//! moved is found in the log.
//!
//! The log begins anew with the first commit that finds all of it moved. While one commit follows
//! the other there is none such: what came while the log was moved is not moved yet. So where the
//! log has grown, what is left of it is moved while nobody writes.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::sqlite::SqliteConnection;
use sqlx::{Executor, Row};
use tokio::sync::{Mutex, mpsc};

use super::Writer;

/// After so many records the log is moved.
const RECORDS: u64 = 1024;
/// From so many pages on the log is to begin anew.
const PAGES: i64 = 1000;

/// The task that moves it; it ends when this is dropped.
#[derive(Debug)]
pub(super) struct Backfill {
    wake: mpsc::Sender<()>,
    last: AtomicU64,
}

impl Backfill {
    pub(super) fn start(mut connection: SqliteConnection, writer: Arc<Mutex<Writer>>) -> Self {
        let (wake, mut woken) = mpsc::channel::<()>(1);
        tokio::spawn(async move {
            while woken.recv().await.is_some() {
                if let Err(why) = move_log(&mut connection, &writer).await {
                    tracing::warn!(%why, "the write-ahead log cannot be moved into the database");
                }
            }
        });
        Backfill {
            wake,
            last: AtomicU64::new(0),
        }
    }

    /// The log has come to so many records.
    pub(super) fn after(&self, size: u64) {
        let last = self.last.load(Ordering::Relaxed);
        if size.saturating_sub(last) >= RECORDS {
            self.last.store(size, Ordering::Relaxed);
            // Where one is under way it comes to these, or the next does.
            let _ = self.wake.try_send(());
        }
    }
}

/// Moves as much as nobody is in the way of; where the log has grown, all of it.
async fn move_log(
    connection: &mut SqliteConnection,
    writer: &Mutex<Writer>,
) -> Result<(), sqlx::Error> {
    if move_pages(connection).await? < PAGES {
        return Ok(());
    }
    // What came meanwhile, then what came while that was moved: whoever writes waits for little.
    move_pages(connection).await?;
    let _nobody_writes = writer.lock().await;
    move_pages(connection).await?;
    Ok(())
}

/// Moves what nobody is in the way of; how many pages the log has.
async fn move_pages(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    let row = connection
        .fetch_one("PRAGMA wal_checkpoint(PASSIVE)")
        .await?;
    row.try_get(1)
}

#[cfg(test)]
mod tests {
    use sqlx::ConnectOptions;
    use sqlx::sqlite::SqliteConnectOptions;

    use super::*;
    use crate::audit::leaf::{LeafHeader, LeafKind};
    use crate::store::entry::Entry;
    use crate::store::salted::SaltedBody;
    use crate::store::{DataFolder, EntryFacts, SqliteStore, Store};

    fn entry(body_bytes: usize) -> Entry {
        Entry {
            header: LeafHeader::bare(LeafKind::Key, 0, "bench-1"),
            subject: None,
            body: SaltedBody::new(vec![7; body_bytes]).expect("a body"),
            request: None,
            facts: EntryFacts::default(),
            blobs: Vec::new(),
        }
    }

    #[tokio::test]
    async fn a_log_that_has_grown_begins_anew_though_somebody_writes_while_it_is_moved() {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = DataFolder::open(folder.path()).expect("a data directory");
        let key = folder.signing_key().expect("a key");
        let store = SqliteStore::open(&folder, &key).await.expect("a store");
        let options = SqliteConnectOptions::new().filename(folder.database());
        let mut mover = options.connect().await.expect("a connection");
        let mut writer = store.writer.lock().await;
        let large = [entry(9_000_000)];
        writer.append(&store, &[&large]).await.expect("kept");
        let writing = async {
            for _ in 0..200 {
                let small = [entry(1000)];
                writer.append(&store, &[&small]).await.expect("kept");
            }
            drop(writer);
        };
        let mut moving = Box::pin(move_log(&mut mover, &store.writer));
        tokio::select! {
            _ = &mut moving => panic!("the last of it is moved while nobody writes"),
            () = writing => {}
        }
        moving.await.expect("moved");
        let last = [entry(1000)];
        store.append(&last).await.expect("kept");
        let pages = move_pages(&mut mover).await.expect("moved");
        assert!(pages < PAGES, "{pages} pages");
    }
}
