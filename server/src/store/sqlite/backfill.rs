//! What a commit leaves in the write-ahead log is moved into the database beside the writing.
//!
//! A commit that finds the log full moves it itself, and its callers wait. That stays for what this
//! does not come to; where it does, little is left to move then. Nothing rests on it: what is not
//! moved is found in the log.

use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::Executor;
use sqlx::sqlite::SqliteConnection;
use tokio::sync::mpsc;

/// After so many records the log is moved.
const RECORDS: u64 = 1024;

/// The task that moves it; it ends when this is dropped.
#[derive(Debug)]
pub(super) struct Backfill {
    wake: mpsc::Sender<()>,
    last: AtomicU64,
}

impl Backfill {
    pub(super) fn start(mut connection: SqliteConnection) -> Self {
        let (wake, mut woken) = mpsc::channel::<()>(1);
        tokio::spawn(async move {
            while woken.recv().await.is_some() {
                // As much as nobody is in the way of.
                let moved = connection.execute("PRAGMA wal_checkpoint(PASSIVE)").await;
                if let Err(why) = moved {
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
