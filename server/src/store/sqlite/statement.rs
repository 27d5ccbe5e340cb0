//! The statements that write a batch and end its transaction, so many lines at a time.
//!
//! A text is the same for the same number of lines, so that it is prepared once; and it is several
//! statements in one, since each call wakes the thread of the connection and is waited for. Where
//! one cannot be written the transaction is taken back whole (`OR ROLLBACK`), so that no statement
//! keeps what its pages were before.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use sqlx::query::Query;
use sqlx::sqlite::{Sqlite, SqliteArguments};

use super::begin::BEGIN;
use super::bodies;
use super::read::signed;
use super::requests::Turn;
use super::rows::{Line, Revision};

/// The most lines of one statement, as a power of two.
const MOST_LINES_POWER: u32 = 6;

/// What stands after the lines, where nodes of the tree are to be kept.
const NODES: &str = "INSERT OR ROLLBACK INTO nodes (level, place, hash) \
     SELECT value ->> 0, value ->> 1, unhex(value ->> 2) FROM json_each(?)";

/// What stands last.
const END: &str = "INSERT OR ROLLBACK INTO requests (prefix, position) \
     SELECT key, value FROM json_each(?); \
     UPDATE request_ranges SET known_to = ? \
     WHERE first_byte IN (SELECT value FROM json_each(?)); \
     UPDATE log SET size = ? WHERE one = 1; \
     COMMIT";

/// What a statement does.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Kind {
    begins: bool,
    /// How many lines it writes: none or a power of two.
    lines: usize,
    has_nodes: bool,
    ends: bool,
}

static STATEMENTS: LazyLock<BTreeMap<Kind, Arc<str>>> = LazyLock::new(|| {
    let counts = (0..=MOST_LINES_POWER).map(|power| 1 << power);
    let mut statements = BTreeMap::new();
    for lines in [0].into_iter().chain(counts) {
        for begins in [false, true] {
            for (has_nodes, ends) in [(false, false), (false, true), (true, true)] {
                let kind = Kind {
                    begins,
                    lines,
                    has_nodes,
                    ends,
                };
                statements.insert(kind, Arc::from(text(kind)));
            }
        }
    }
    statements
});

/// A part of a batch.
pub(super) struct Part {
    statement: Arc<str>,
    /// How many lines it has.
    pub(super) lines: usize,
    /// Whether the batch ends with it.
    pub(super) is_last: bool,
}

/// What is written at the end of a batch.
pub(super) struct End<'a> {
    /// Nodes of the tree, if any, as JSON: level, place, hash in hexadecimal.
    pub(super) nodes: Option<String>,
    /// What goes into the index of requests.
    pub(super) turn: &'a Turn,
    /// How many leaves the log has now.
    pub(super) size: u64,
}

fn text(kind: Kind) -> String {
    let parts = [
        kind.begins.then(|| BEGIN.to_owned()),
        (kind.lines > 0).then(|| text_of_lines(kind.lines)),
        kind.has_nodes.then(|| NODES.to_owned()),
        kind.ends.then(|| END.to_owned()),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join("; ")
}

fn text_of_lines(lines: usize) -> String {
    // The places follow the first one, `$1`, which is given once.
    let values = |columns: usize, first: &str| {
        let others = ", ?".repeat(columns.saturating_sub(1));
        let rows = (0..lines).map(|line| match line {
            0 => format!("({first}{others})"),
            _ => format!("($1 + {line}{others})"),
        });
        rows.collect::<Vec<_>>().join(", ")
    };
    format!(
        "INSERT OR ROLLBACK INTO leaves (position, header, commitment, hash, request_content) \
         VALUES {}; \
         INSERT OR ROLLBACK INTO bodies (first, contents) VALUES ($1, ?); \
         INSERT OR ROLLBACK INTO facts \
         (position, instant_ms, kind, revision, outcome, about, subject) VALUES {}",
        values(5, "?"),
        values(7, "$1")
    )
}

/// The next part of a batch of which so many lines are left, and whose transaction is begun or not.
pub(super) fn of(left: usize, is_begun: bool, end: &End) -> Part {
    let power = left
        .checked_ilog2()
        .map(|power| power.min(MOST_LINES_POWER));
    let lines = power.map_or(0, |power| 1 << power);
    let is_last = lines == left;
    let kind = Kind {
        begins: !is_begun,
        lines,
        has_nodes: is_last && end.nodes.is_some(),
        ends: is_last,
    };
    let statement = STATEMENTS.get(&kind).map(Arc::clone);
    Part {
        statement: statement.unwrap_or_else(|| Arc::from(text(kind))),
        lines,
        is_last,
    }
}

/// A part with its lines.
pub(super) fn bound<'query>(
    part: &Part,
    lines: Vec<Line>,
    numbers: &BTreeMap<Revision, i64>,
    end: &End<'query>,
) -> Query<'query, Sqlite, SqliteArguments> {
    // Made of words of ours alone.
    let mut query = sqlx::query(sqlx::AssertSqlSafe(Arc::clone(&part.statement)));
    let (mut contents, mut facts) = (Vec::new(), Vec::new());
    if let Some(first) = lines.first() {
        query = query.bind(signed(first.position));
    }
    for line in lines {
        let content = line.request_content;
        query = query
            .bind(line.header)
            .bind(line.commitment.as_bytes().to_vec())
            .bind(line.hash.as_bytes().to_vec())
            .bind(content.map(|hash| hash.as_bytes().to_vec()));
        contents.push(line.body);
        facts.push(line.facts);
    }
    if !contents.is_empty() {
        query = query.bind(bodies::together(&contents));
    }
    for facts in facts {
        let revision = facts.revision.as_ref();
        query = query
            .bind(facts.instant_ms)
            .bind(facts.kind)
            .bind(revision.and_then(|revision| numbers.get(revision).copied()))
            .bind(facts.outcome)
            .bind(facts.about.map(signed))
            .bind(facts.subject);
    }
    if part.is_last {
        if let Some(nodes) = &end.nodes {
            query = query.bind(nodes.clone());
        }
        query = query
            .bind(end.turn.lines.clone())
            .bind(signed(end.turn.known_to))
            .bind(end.turn.first_bytes.clone())
            .bind(signed(end.size));
    }
    query
}
