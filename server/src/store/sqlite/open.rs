//! Opening: what the file is, its schema, and whether it holds what was signed for.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection, Executor, Row};
use tokio::sync::Mutex;

use super::backfill::Backfill;
use super::{SqliteStore, Writer, nodes, read, requests};
use crate::audit::merkle::{Frontier, Plan};
use crate::audit::note::{Checkpoint, SignedNote, SigningKey};
use crate::store::entry::{LogIdentity, random};
use crate::store::fault::StoreError;
use crate::store::folder::DataFolder;

/// What SQLite files of ours say they are: "Loft" in ASCII.
const APPLICATION_ID: i64 = 0x4c6f_6674;
/// The schemas that are read, each with its number, in their order; a file says which it has. None
/// before them was ever part of a release.
const SCHEMAS: [(i64, &str); 1] = [(OLDEST_SCHEMA, include_str!("schema_2.sql"))];
const OLDEST_SCHEMA: i64 = 2;
/// The size of a page of a new file: the bodies of a batch are few pages, and of an index whose
/// entries go anywhere little is written that did not change.
const PAGE_BYTES: u32 = 8192;
/// The pages of the write-ahead log at which a commit moves them itself: no more than one block of
/// the log's index has, and so many that what [`Backfill`] leaves is moved seldom.
const MOST_PAGES_OF_LOG: &str = "4000";
/// The most readers at once.
const MOST_READERS: u32 = 4;
/// The most rows that wait for whoever asked for them: as many as a stretch of records has, so that
/// what reads them need not be woken for each.
const MOST_ROWS_WAITING: usize = 256;

impl SqliteStore {
    /// Opens the database of a data directory; a new one is made where there is none. `key` is the
    /// directory's own.
    ///
    /// # Errors
    /// [`StoreError`]: what the file is not, and what to do.
    pub async fn open(folder: &DataFolder, key: &SigningKey) -> Result<Self, StoreError> {
        let file = folder.database();
        let fault = |error| StoreError::of_database(&file, error);
        let options = SqliteConnectOptions::new()
            .filename(&file)
            .create_if_missing(true)
            .busy_timeout(Duration::from_secs(10))
            .disable_statement_logging();
        let signed = folder.last_checkpoint(key)?;
        let found = look_at(&options, &file).await?;
        if let (0, Some((signed, _))) = (found, &signed) {
            let (held, signed) = (0, signed.size);
            return Err(StoreError::CutShort { file, held, signed });
        }
        let options = options
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .page_size(PAGE_BYTES)
            .pragma("secure_delete", "ON")
            .pragma("wal_autocheckpoint", MOST_PAGES_OF_LOG)
            .optimize_on_close(false, None);
        let mut connection = options.connect().await.map_err(fault)?;
        migrate(&mut connection, found, key.verifier().name())
            .await
            .map_err(fault)?;
        let identity = identity(&mut connection, &file, key).await?;
        let moving = options.connect().await.map_err(fault)?;
        let readers = SqlitePoolOptions::new()
            .max_connections(MOST_READERS)
            // There is nobody at the other end who could be gone.
            .test_before_acquire(false)
            .connect_lazy_with(
                options
                    .read_only(true)
                    .create_if_missing(false)
                    .row_buffer_size(MOST_ROWS_WAITING),
            );
        let frontier = frontier(&mut connection, &file).await?;
        let pending = requests::pending(&mut connection, &file, frontier.size()).await?;
        let was_signed = read::last_checkpoint(&readers).await.map_err(fault)?;
        match &signed {
            None if was_signed.is_some() => return Err(folder.checkpoint_missing()),
            None => {}
            Some((signed, note)) => {
                check_signed(&mut connection, &file, frontier.size(), signed).await?;
                // The file is written first, so the database has no later one and no other.
                if was_signed.is_some_and(|kept| is_later_or_other(&kept, signed, note)) {
                    return Err(folder.checkpoint_not_last());
                }
            }
        }
        let writer = Arc::new(Mutex::new(Writer {
            connection,
            frontier: Some(frontier),
            revisions: BTreeMap::new(),
            is_within: false,
            // Whoever wrote it before may have been killed within an erasure.
            is_erasing: true,
        }));
        Ok(SqliteStore {
            file,
            identity,
            backfill: Backfill::start(moving, Arc::clone(&writer)),
            writer,
            readers,
            pending: std::sync::Mutex::new(pending),
            subjects: std::sync::Mutex::default(),
        })
    }
}

/// The schema that a file has: 0 where it is new. Nothing is written to a file that is not ours.
async fn look_at(options: &SqliteConnectOptions, file: &Path) -> Result<i64, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let [.., (known, _)] = SCHEMAS;
    let mut connection = options.connect().await.map_err(fault)?;
    let mut number = async |sql: &'static str| {
        let row = connection.fetch_one(sql).await.map_err(fault)?;
        row.try_get::<i64, _>(0).map_err(fault)
    };
    let application = number("PRAGMA application_id").await?;
    let found = number("PRAGMA user_version").await?;
    let tables = number("SELECT count(*) FROM sqlite_schema").await?;
    connection.close().await.map_err(fault)?;
    match application {
        APPLICATION_ID if found > known => Err(StoreError::NewerSchema {
            file: file.to_owned(),
            found,
            known,
        }),
        APPLICATION_ID if found < OLDEST_SCHEMA => Err(StoreError::OlderSchema {
            file: file.to_owned(),
            found,
            oldest: OLDEST_SCHEMA,
        }),
        APPLICATION_ID => Ok(found),
        0 if tables == 0 => Ok(0),
        _ => Err(StoreError::Foreign(file.to_owned())),
    }
}

/// Brings a file from the schema it has to the last one, each step in a transaction of its own.
async fn migrate(
    connection: &mut SqliteConnection,
    found: i64,
    origin: &str,
) -> Result<(), sqlx::Error> {
    for (number, schema) in SCHEMAS {
        if number <= found {
            continue;
        }
        let mut transaction = connection.begin_with("BEGIN IMMEDIATE").await?;
        transaction.execute(sqlx::raw_sql(schema)).await?;
        if number == OLDEST_SCHEMA {
            let secret: [u8; 32] = random().map_err(|_| sqlx::Error::WorkerCrashed)?;
            sqlx::query("INSERT INTO log (one, origin, secret) VALUES (1, ?, ?)")
                .bind(origin)
                .bind(secret.to_vec())
                .execute(&mut *transaction)
                .await?;
        }
        let marks =
            format!("PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {number}");
        // Numbers of ours: nothing that somebody sent.
        transaction
            .execute(sqlx::raw_sql(sqlx::AssertSqlSafe(marks)))
            .await?;
        transaction.commit().await?;
    }
    Ok(())
}

/// Whose log it is.
async fn identity(
    connection: &mut SqliteConnection,
    file: &Path,
    key: &SigningKey,
) -> Result<LogIdentity, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let row = sqlx::query("SELECT origin, secret FROM log WHERE one = 1")
        .fetch_one(connection)
        .await
        .map_err(fault)?;
    let origin: String = row.try_get(0).map_err(fault)?;
    let secret: Vec<u8> = row.try_get(1).map_err(fault)?;
    let secret = secret.try_into().map_err(|_| StoreError::Damaged {
        file: file.to_owned(),
        why: "the log's secret is not 32 bytes".to_owned(),
    })?;
    if origin != key.verifier().name() {
        return Err(StoreError::KeyOfAnotherLog {
            database: file.to_owned(),
            log: origin,
            key: key.verifier().name().to_owned(),
        });
    }
    Ok(LogIdentity::new(&origin, secret))
}

/// The edge of the tree that the file holds, after a look at whether its leaves are all there.
pub(super) async fn frontier(
    connection: &mut SqliteConnection,
    file: &Path,
) -> Result<Frontier, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let size = read::size(&mut *connection).await.map_err(fault)?;
    let row = sqlx::query("SELECT coalesce(max(known_to), 0) FROM request_ranges")
        .fetch_one(&mut *connection)
        .await
        .map_err(fault)?;
    let said: i64 = row.try_get(0).map_err(fault)?;
    if u64::try_from(said) != Ok(size) {
        return Err(StoreError::Damaged {
            file: file.to_owned(),
            why: format!("it says that it has {said} records, and the last one is number {size}"),
        });
    }
    let places = Frontier::places(size);
    let nodes = nodes::at(connection, file, &places.iter().copied().collect()).await?;
    let peaks: Option<Vec<_>> = places
        .iter()
        .map(|place| nodes.get(place).copied())
        .collect();
    Ok(Frontier::of(size, peaks.unwrap_or_default())?)
}

/// Whether a checkpoint of the database is of a larger log than the one of the file, or of one as
/// large and another.
fn is_later_or_other(kept: &str, signed: &Checkpoint, note: &str) -> bool {
    let parsed = SignedNote::parse(kept.as_bytes()).ok();
    let parsed = parsed.and_then(|note| Checkpoint::parse(note.text()).ok());
    parsed.is_none_or(|kept_one| {
        kept_one.size > signed.size || (kept_one.size == signed.size && kept != note)
    })
}

/// Whether the file holds all that was signed for.
async fn check_signed(
    connection: &mut SqliteConnection,
    file: &Path,
    held: u64,
    signed: &Checkpoint,
) -> Result<(), StoreError> {
    if signed.size > held {
        return Err(StoreError::CutShort {
            file: file.to_owned(),
            held,
            signed: signed.size,
        });
    }
    let plan = Plan::root(signed.size);
    let nodes: BTreeMap<_, _> = nodes::at(connection, file, &plan.places()).await?;
    let roots = plan.hashes(|place| {
        let hash = nodes.get(&place).copied();
        hash.ok_or(StoreError::NoNode(place))
    })?;
    if roots.first() == Some(&signed.root) {
        return Ok(());
    }
    Err(StoreError::OtherHistory {
        file: file.to_owned(),
        size: signed.size,
    })
}
