//! Lists: the places of a kind, what is drawn from facts, the contents and checkpoints that are
//! kept.

use sqlx::sqlite::{SqlitePool, SqliteRow};
use sqlx::{QueryBuilder, Row, Sqlite};

use super::read::{signed, unsigned};
use super::records::{Records, Rows};
use crate::audit::leaf::{Leaf, LeafKind};
use crate::audit::merkle::Hash;
use crate::store::facts::{ListFilter, Listed, Outcome};
use crate::store::fault::StoreError;

/// A number of rows as the database has it.
fn count(most: usize) -> i64 {
    i64::try_from(most).unwrap_or(i64::MAX)
}

pub(super) async fn places_of_kinds(
    readers: &SqlitePool,
    kinds: &[LeafKind],
    from: u64,
    most: usize,
) -> Result<Vec<u64>, sqlx::Error> {
    let mut places = Vec::new();
    for kind in kinds {
        // The second condition is what lets the index be used.
        let sql = match kind {
            LeafKind::Recommendation => {
                "SELECT position FROM facts WHERE kind = ? AND position >= ? \
                 ORDER BY position LIMIT ?"
            }
            _ => {
                "SELECT position FROM facts WHERE kind = ? AND kind <> 'recommendation' \
                 AND position >= ? ORDER BY position LIMIT ?"
            }
        };
        let rows = sqlx::query(sql)
            .bind(kind.text())
            .bind(signed(from))
            .bind(count(most))
            .fetch_all(readers)
            .await?;
        for row in rows {
            places.push(unsigned(row.try_get(0)?)?);
        }
    }
    places.sort_unstable();
    places.dedup();
    places.truncate(most);
    Ok(places)
}

pub(super) async fn about(readers: &SqlitePool, position: u64) -> Result<Vec<u64>, sqlx::Error> {
    let rows = sqlx::query("SELECT position FROM facts WHERE about = ? ORDER BY position")
        .bind(signed(position))
        .fetch_all(readers)
        .await?;
    rows.iter()
        .map(|row| unsigned(row.try_get(0)?))
        .collect::<Result<_, _>>()
}

pub(super) async fn list(
    readers: &SqlitePool,
    filter: &ListFilter,
    before: Option<u64>,
    most: usize,
) -> Result<Vec<Listed>, StoreError> {
    // In this order: of a line that is there the leaf is, too.
    let rows = rows_of_list(readers, filter, before, most).await?;
    let places = rows.iter().map(|row| unsigned(row.try_get(0)?));
    let places: Vec<u64> = places.collect::<Result<_, sqlx::Error>>()?;
    let kept = Rows::read_leaves_at(readers, &places).await?;
    let records = kept.records()?;
    let lines = rows.iter().zip(places);
    lines
        .map(|(row, position)| listed_of_row(row, position, &records))
        .collect()
}

/// The rows of the lines that a list has.
async fn rows_of_list(
    readers: &SqlitePool,
    filter: &ListFilter,
    before: Option<u64>,
    most: usize,
) -> Result<Vec<SqliteRow>, sqlx::Error> {
    let mut query = QueryBuilder::<Sqlite>::new(
        "SELECT facts.position, facts.instant_ms, facts.kind, revisions.ruleset, \
         revisions.revision, facts.outcome, facts.about, facts.subject, subjects.number \
         FROM facts \
         LEFT JOIN revisions ON revisions.number = facts.revision \
         LEFT JOIN subjects ON subjects.number = facts.subject WHERE facts.position < ",
    );
    query.push_bind(before.map_or(i64::MAX, signed));
    if !filter.kinds.is_empty() {
        query.push(" AND facts.kind IN (");
        let mut kinds = query.separated(", ");
        for kind in &filter.kinds {
            kinds.push_bind(kind.text());
        }
        query.push(")");
    }
    if let Some(first) = filter.first_instant_ms {
        query.push(" AND facts.instant_ms >= ").push_bind(first);
    }
    if let Some(last) = filter.last_instant_ms {
        query.push(" AND facts.instant_ms <= ").push_bind(last);
    }
    if let Some(ruleset) = &filter.ruleset {
        query
            .push(" AND facts.revision IN (SELECT number FROM revisions WHERE ruleset = ")
            .push_bind(ruleset.clone())
            .push(")");
    }
    if let Some(revision) = filter.revision {
        query
            .push(" AND facts.revision IN (SELECT number FROM revisions WHERE revision = ")
            .push_bind(revision.as_bytes().to_vec())
            .push(")");
    }
    if let Some(outcome) = filter.outcome {
        query
            .push(" AND facts.outcome = ")
            .push_bind(outcome.text());
    }
    query
        .push(" ORDER BY facts.position DESC LIMIT ")
        .push_bind(count(most));
    query.build().fetch_all(readers).await
}

/// The digests of the contents that are kept.
pub(super) async fn contents(
    readers: &SqlitePool,
    after: Option<Hash>,
    most: usize,
) -> Result<Vec<Vec<u8>>, sqlx::Error> {
    // Every digest comes after no bytes at all.
    let after = after.map_or_else(Vec::new, |digest| digest.as_bytes().to_vec());
    let rows = sqlx::query("SELECT digest FROM blobs WHERE digest > ? ORDER BY digest LIMIT ?")
        .bind(after)
        .bind(count(most))
        .fetch_all(readers)
        .await?;
    rows.iter().map(|row| row.try_get(0)).collect()
}

/// The checkpoints over more leaves than so many.
pub(super) async fn checkpoints(
    readers: &SqlitePool,
    over: u64,
    most: usize,
) -> Result<Vec<(u64, String)>, sqlx::Error> {
    let rows =
        sqlx::query("SELECT size, note FROM checkpoints WHERE size > ? ORDER BY size LIMIT ?")
            .bind(signed(over))
            .bind(count(most))
            .fetch_all(readers)
            .await?;
    let row = |row: &SqliteRow| Ok((unsigned(row.try_get(0)?)?, row.try_get(1)?));
    rows.iter().map(row).collect()
}

/// The line of a row of [`rows_of_list`], which must be that of its leaf.
fn listed_of_row(
    row: &SqliteRow,
    position: u64,
    records: &Records<'_>,
) -> Result<Listed, StoreError> {
    let fault = |what| StoreError::Row { position, what };
    let leaf = records.leaf(position);
    let leaf = leaf.ok_or(fault("the leaf is missing"))?;
    let header = Leaf::parse(leaf.bytes)
        .map_err(|_| fault("its leaf cannot be read"))?
        .header;
    let revision: Option<&[u8]> = row.try_get(4)?;
    let revision = revision.and_then(Hash::of_slice);
    let is_of_leaf = header.position == position
        && header.instant_ms == row.try_get::<i64, _>(1)?
        && header.kind.text() == row.try_get::<&str, _>(2)?
        && header.rules_digest == revision;
    if !is_of_leaf {
        return Err(fault("what lists say of it is not what its leaf says"));
    }
    let outcome: Option<&str> = row.try_get(5)?;
    let outcome = outcome
        .map(|text| Outcome::of_text(text).ok_or(fault("its outcome is not known")))
        .transpose()?;
    let ruleset: Option<String> = row.try_get(3)?;
    let about: Option<i64> = row.try_get(6)?;
    let subject: Option<i64> = row.try_get(7)?;
    let kept_subject: Option<i64> = row.try_get(8)?;
    Ok(Listed {
        position,
        instant_ms: header.instant_ms,
        kind: header.kind,
        principal: header.principal,
        ruleset: ruleset.filter(|name| !name.is_empty()),
        revision,
        outcome,
        about: about.map(unsigned).transpose()?,
        is_erased: subject.is_some() && kept_subject.is_none(),
    })
}
