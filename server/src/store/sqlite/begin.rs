//! How a batch begins: its transaction is opened and what it needs to know is looked up, in one
//! call, since each call wakes the thread of the connection and is waited for.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use sqlx::Row;
use sqlx::sqlite::SqliteConnection;

use super::subjects::Subject;
use super::{requests, subjects};
use crate::audit::merkle::Hash;
use crate::store::entry::KnownRequest;
use crate::store::fault::StoreError;

/// Opens the transaction of a write. A batch that has nothing to look up opens it with its lines.
pub(super) const BEGIN: &str = "BEGIN IMMEDIATE";

static STATEMENT: LazyLock<Arc<str>> =
    LazyLock::new(|| Arc::from([BEGIN, requests::INDEXED, subjects::KEPT].join("; ")));

/// Opens a transaction. Those of the requests that the index knows, and the subjects, of whom those
/// that had no key have one now.
pub(super) async fn begin(
    connection: &mut SqliteConnection,
    asked: &[Hash],
    mut wanted: Vec<Hash>,
) -> Result<(BTreeMap<Hash, KnownRequest>, BTreeMap<Hash, Subject>), StoreError> {
    wanted.sort_unstable();
    wanted.dedup();
    // Made of words of ours alone.
    let rows = sqlx::query(sqlx::AssertSqlSafe(Arc::clone(&STATEMENT)))
        .bind(requests::prefixes(asked))
        .bind(subjects::as_json(&wanted))
        .fetch_all(&mut *connection)
        .await?;
    // The subjects come together in one row of one column.
    let (of_subjects, of_requests): (Vec<_>, Vec<_>) =
        rows.into_iter().partition(|row| row.len() == 1);
    let known = requests::of_rows(&of_requests, asked)?;
    let mut found = match of_subjects.first() {
        Some(row) => subjects::of_row(row, &wanted)?,
        None => BTreeMap::new(),
    };
    wanted.retain(|hash| !found.contains_key(hash));
    found.extend(subjects::make(connection, &wanted).await?);
    Ok((known, found))
}
