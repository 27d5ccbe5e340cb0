//! The statements that write a batch and end its transaction.
//!
//! What goes together is several statements in one text, since each call wakes the thread of the
//! connection and is waited for. A text is prepared once: it has room for so many lines, and those
//! that a batch does not have are null and left out. Where one cannot be written the transaction is
//! taken back whole (`OR ROLLBACK`), so that no statement keeps what its pages were before.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use sqlx::AssertSqlSafe;
use sqlx::query::Query;
use sqlx::sqlite::{Sqlite, SqliteArguments};

use super::begin::BEGIN;
use super::read::signed;
use super::records::{self, MOST_IN_A_ROW};
use super::requests::{RECORDS_OF_A_TURN, Turn};
use super::rows::{Line, Revision};

type WithArguments<'query> = Query<'query, Sqlite, SqliteArguments>;

/// The most requests of one statement: those of a turn, mostly.
pub(super) const MOST_REQUESTS: usize = 2 * RECORDS_OF_A_TURN;

/// Records of one row, and what lists say of them. The place of the first is `$1`.
static LINES: LazyLock<String> = LazyLock::new(|| {
    let facts = (0..MOST_IN_A_ROW).map(|line| format!("($1 + {line}, ?, ?, ?, ?, ?, ?)"));
    format!(
        "INSERT OR ROLLBACK INTO records (first, hashes, request_contents, leaves, bodies) \
         VALUES (?, ?, ?, ?, ?); \
         INSERT OR ROLLBACK INTO facts \
         (position, instant_ms, kind, revision, outcome, about, subject) \
         SELECT * FROM (VALUES {}) WHERE column2 IS NOT NULL",
        facts.collect::<Vec<_>>().join(", ")
    )
});

/// Nodes of the tree, as JSON.
const NODES: &str = "INSERT OR ROLLBACK INTO nodes (level, place, hash) \
     SELECT value ->> 0, value ->> 1, unhex(value ->> 2) FROM json_each(?)";

/// Requests that go into their index.
static REQUESTS: LazyLock<String> = LazyLock::new(|| {
    format!(
        "INSERT OR ROLLBACK INTO requests (prefix, position) \
         SELECT * FROM (VALUES {}) WHERE column1 IS NOT NULL",
        vec!["(?, ?)"; MOST_REQUESTS].join(", ")
    )
});

/// What stands last.
const END: &str =
    "UPDATE OR ROLLBACK request_ranges SET known_to = ? WHERE first_byte BETWEEN ? AND ?; COMMIT";

/// What is written at the end of a batch.
pub(super) struct End<'a> {
    /// Nodes of the tree, if any, as JSON: level, place, hash in hexadecimal.
    pub(super) nodes: Option<String>,
    /// Whose requests go into their index, and how many records the log has then.
    pub(super) turn: &'a Turn,
    /// What is left of them.
    pub(super) requests: &'a [(i64, i64)],
}

/// Writes records of one row, in a transaction that is begun where it is not yet, and ends it where
/// there is an end.
pub(super) fn of<'query>(
    lines: &[Line],
    begins: bool,
    numbers: &BTreeMap<Revision, i64>,
    end: Option<&End>,
) -> WithArguments<'query> {
    let nodes = end.and_then(|end| end.nodes.as_ref());
    let requests = end.map_or_else(Default::default, |end| end.requests);
    let texts = [
        begins.then_some(BEGIN),
        (!lines.is_empty()).then_some(LINES.as_str()),
        nodes.map(|_| NODES),
        (!requests.is_empty()).then_some(REQUESTS.as_str()),
        end.map(|_| END),
    ];
    let texts: Vec<&str> = texts.into_iter().flatten().collect();
    // Made of words of ours alone.
    let mut query = sqlx::query(AssertSqlSafe(texts.join("; ")));
    if !lines.is_empty() {
        query = with_lines(query, lines, numbers);
    }
    if let Some(nodes) = nodes {
        query = query.bind(nodes.clone());
    }
    if !requests.is_empty() {
        query = with_requests(query, requests);
    }
    if let Some(End { turn, .. }) = end {
        query = query
            .bind(signed(turn.known_to))
            .bind(*turn.bytes.start())
            .bind(*turn.bytes.end());
    }
    query
}

/// Puts requests into their index, as many as one statement has room for.
pub(super) fn of_requests<'query>(requests: &[(i64, i64)]) -> WithArguments<'query> {
    with_requests(sqlx::query(REQUESTS.as_str()), requests)
}

fn with_lines<'query>(
    mut query: WithArguments<'query>,
    lines: &[Line],
    numbers: &BTreeMap<Revision, i64>,
) -> WithArguments<'query> {
    let columns = records::columns(lines);
    query = query
        .bind(lines.first().map(|line| signed(line.position)))
        .bind(columns.hashes)
        .bind(columns.request_contents)
        .bind(columns.leaves)
        .bind(columns.bodies);
    for line in 0..MOST_IN_A_ROW {
        let facts = lines.get(line).map(|line| &line.facts);
        let revision = facts.and_then(|facts| facts.revision.as_ref());
        query = query
            .bind(facts.map(|facts| facts.instant_ms))
            .bind(facts.map(|facts| facts.kind))
            .bind(revision.and_then(|revision| numbers.get(revision).copied()))
            .bind(facts.and_then(|facts| facts.outcome))
            .bind(facts.and_then(|facts| facts.about).map(signed))
            .bind(facts.and_then(|facts| facts.subject));
    }
    query
}

fn with_requests<'query>(
    mut query: WithArguments<'query>,
    requests: &[(i64, i64)],
) -> WithArguments<'query> {
    for request in 0..MOST_REQUESTS {
        let (prefix, position) = requests.get(request).copied().unzip();
        query = query.bind(prefix).bind(position);
    }
    query
}
