//! The statement that writes lines, so many at a time.
//!
//! Its text is the same for the same number of lines, so that it is prepared once; and it is
//! several statements in one, so that the thread of the connection is woken once.

use std::collections::BTreeMap;
use std::iter::repeat_n;
use std::sync::{Arc, LazyLock};

use sqlx::query::Query;
use sqlx::sqlite::{Sqlite, SqliteArguments};

use super::read::signed;
use super::rows::{Line, Revision};

/// The most lines of one statement, as a power of two.
const MOST_LINES_POWER: u32 = 6;

/// A statement for each power of two of lines.
static STATEMENTS: LazyLock<Vec<Arc<str>>> = LazyLock::new(|| {
    let counts = (0..=MOST_LINES_POWER).map(|power| 1 << power);
    counts.map(|count| Arc::from(text(count))).collect()
});

fn text(lines: usize) -> String {
    let values = |columns: usize| {
        let row: Vec<&str> = repeat_n("?", columns).collect();
        let row = format!("({})", row.join(", "));
        let rows: Vec<&str> = repeat_n(row.as_str(), lines).collect();
        rows.join(", ")
    };
    format!(
        "INSERT INTO leaves (position, header, commitment, hash, request_content) VALUES {}; \
         INSERT INTO bodies (position, nonce, content) VALUES {}; \
         INSERT INTO facts (position, instant_ms, kind, revision, outcome, about, subject) \
         VALUES {}",
        values(5),
        values(3),
        values(7)
    )
}

/// The statement for the first of so many lines, and for how many it is; `None` where there are
/// none.
pub(super) fn for_lines(lines: usize) -> Option<(Arc<str>, usize)> {
    let power = lines.checked_ilog2()?.min(MOST_LINES_POWER);
    let statement = STATEMENTS.get(usize::try_from(power).ok()?)?;
    Some((Arc::clone(statement), 1 << power))
}

/// A statement with its lines, as many as it is for.
pub(super) fn bound<'query>(
    statement: Arc<str>,
    lines: &'query [Line],
    numbers: &BTreeMap<Revision, i64>,
) -> Query<'query, Sqlite, SqliteArguments> {
    // Made of words of ours alone.
    let mut query = sqlx::query(sqlx::AssertSqlSafe(statement));
    for line in lines {
        let content = line.request_content.as_ref();
        query = query
            .bind(signed(line.position))
            .bind(line.header.as_slice())
            .bind(line.commitment.as_bytes().as_slice())
            .bind(line.hash.as_bytes().as_slice())
            .bind(content.map(|hash| hash.as_bytes().as_slice()));
    }
    for line in lines {
        query = query
            .bind(signed(line.position))
            .bind(line.body.nonce.as_slice())
            .bind(line.body.content.as_slice());
    }
    for line in lines {
        let facts = &line.facts;
        let revision = facts.revision.as_ref();
        query = query
            .bind(signed(line.position))
            .bind(facts.instant_ms)
            .bind(facts.kind)
            .bind(revision.and_then(|revision| numbers.get(revision).copied()))
            .bind(facts.outcome)
            .bind(facts.about.map(signed))
            .bind(facts.subject);
    }
    query
}
