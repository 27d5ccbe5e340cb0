//! What a batch comes to, row by row, and how it is written.

use std::collections::BTreeMap;
use std::sync::Arc;

use sha2::{Digest, Sha256};
use sqlx::sqlite::SqliteConnection;
use sqlx::{QueryBuilder, Row, Sqlite};

use super::read::signed;
use super::subjects::Subject;
use crate::audit::leaf::{Leaf, body_commitment, subject_commitment};
use crate::audit::merkle::{Frontier, Hash, NewNode, leaf_hash};
use crate::store::entry::{Entry, KnownRequest};
use crate::store::fault::StoreError;
use crate::store::sealed::{self, Sealed};

/// The name of a ruleset, and the SHA-256 of a revision's source; either may be empty.
type Revision = (String, Vec<u8>);

/// What a batch comes to, to be written.
#[derive(Default)]
pub(super) struct Rows {
    leaves: Vec<(u64, Vec<u8>, Hash)>,
    nodes: Vec<NewNode>,
    bodies: Vec<(u64, Sealed)>,
    facts: Vec<FactsRow>,
    requests: Vec<(Hash, KnownRequest)>,
    blobs: BTreeMap<Hash, Arc<[u8]>>,
}

/// What lists say of one leaf.
struct FactsRow {
    position: u64,
    instant_ms: i64,
    kind: &'static str,
    revision: Option<Revision>,
    outcome: Option<&'static str>,
    about: Option<u64>,
    subject: Option<i64>,
}

impl Rows {
    /// Gives an entry the next place.
    pub(super) fn place(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject: Option<(&str, &Subject)>,
    ) -> Result<(u64, Hash), StoreError> {
        let commitment = body_commitment(&entry.salt, &entry.body);
        let sealed = match subject {
            Some((_, subject)) => sealed::seal(&subject.key, commitment, &entry.salt, &entry.body)?,
            None => in_the_clear(entry),
        };
        let number = subject.map(|(_, subject)| subject.number);
        self.place_leaf(frontier, entry, subject, number, sealed)
    }

    /// The same, with a body that everybody may read.
    pub(super) fn place_in_the_clear(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        text: &str,
        subject: &Subject,
    ) -> Result<(u64, Hash), StoreError> {
        let body = in_the_clear(entry);
        self.place_leaf(frontier, entry, Some((text, subject)), None, body)
    }

    fn place_leaf(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject: Option<(&str, &Subject)>,
        sealed_for: Option<i64>,
        body: Sealed,
    ) -> Result<(u64, Hash), StoreError> {
        let position = frontier.size();
        let mut header = entry.header.clone();
        header.position = position;
        header.request_id_hash = entry.request.map(|mark| mark.id);
        header.subject_commitment =
            subject.map(|(text, subject)| subject_commitment(&subject.salt, text));
        let commitment = body_commitment(&entry.salt, &entry.body);
        let mut bytes = Leaf { header, commitment }.to_bytes()?;
        let hash = leaf_hash(&bytes);
        frontier.add(hash, &mut self.nodes)?;
        bytes.truncate(bytes.len().saturating_sub(Hash::BYTES));
        self.leaves.push((position, bytes, commitment));
        self.bodies.push((position, body));
        self.facts.push(FactsRow {
            position,
            instant_ms: entry.header.instant_ms,
            kind: entry.header.kind.text(),
            revision: revision(entry),
            outcome: entry.facts.outcome.map(crate::store::Outcome::text),
            about: entry.facts.about,
            subject: sealed_for,
        });
        if let Some(mark) = entry.request {
            let content = mark.content;
            let known = KnownRequest { position, content };
            self.requests.push((mark.id, known));
        }
        for blob in &entry.blobs {
            self.blobs
                .insert(Hash(Sha256::digest(blob).into()), Arc::clone(blob));
        }
        Ok((position, hash))
    }

    pub(super) async fn write(
        self,
        connection: &mut SqliteConnection,
        size: u64,
    ) -> Result<(), sqlx::Error> {
        if self.leaves.is_empty() {
            return Ok(());
        }
        for (digest, content) in self.blobs {
            write_blob(connection, digest, &content).await?;
        }
        write_facts(connection, self.facts).await?;
        let mut query =
            QueryBuilder::<Sqlite>::new("INSERT INTO leaves (position, header, commitment) ");
        query.push_values(self.leaves, |mut row, (position, header, commitment)| {
            row.push_bind(signed(position))
                .push_bind(header)
                .push_bind(commitment.as_bytes().to_vec());
        });
        query.build().execute(&mut *connection).await?;
        let mut query = QueryBuilder::<Sqlite>::new("INSERT INTO nodes (level, place, hash) ");
        query.push_values(self.nodes, |mut row, node| {
            row.push_bind(i64::from(node.place.level))
                .push_bind(signed(node.place.index))
                .push_bind(node.hash.as_bytes().to_vec());
        });
        query.build().execute(&mut *connection).await?;
        let mut query =
            QueryBuilder::<Sqlite>::new("INSERT INTO bodies (position, nonce, content) ");
        query.push_values(self.bodies, |mut row, (position, sealed)| {
            row.push_bind(signed(position))
                .push_bind(sealed.nonce.to_vec())
                .push_bind(sealed.content);
        });
        query.build().execute(&mut *connection).await?;
        if !self.requests.is_empty() {
            let mut query = QueryBuilder::<Sqlite>::new(
                "INSERT INTO requests (id_hash, content_hash, position) ",
            );
            query.push_values(self.requests, |mut row, (id, known)| {
                row.push_bind(id.as_bytes().to_vec())
                    .push_bind(known.content.as_bytes().to_vec())
                    .push_bind(signed(known.position));
            });
            query.build().execute(&mut *connection).await?;
        }
        sqlx::query("UPDATE log SET size = ? WHERE one = 1")
            .bind(signed(size))
            .execute(connection)
            .await?;
        Ok(())
    }
}

/// Keeps a content under its digest, where it is not kept yet.
pub(super) async fn write_blob(
    connection: &mut SqliteConnection,
    digest: Hash,
    content: &[u8],
) -> Result<(), sqlx::Error> {
    sqlx::query("INSERT INTO blobs (digest, content) VALUES (?, ?) ON CONFLICT DO NOTHING")
        .bind(digest.as_bytes().to_vec())
        .bind(content.to_vec())
        .execute(connection)
        .await?;
    Ok(())
}

/// The revision of an entry, where it names a ruleset or a source.
fn revision(entry: &Entry) -> Option<Revision> {
    let ruleset = entry.facts.ruleset.clone();
    let digest = entry.header.rules_digest;
    let digest = digest.map(|digest| digest.as_bytes().to_vec());
    match (ruleset, digest) {
        (None, None) => None,
        (ruleset, digest) => Some((ruleset.unwrap_or_default(), digest.unwrap_or_default())),
    }
}

async fn write_facts(
    connection: &mut SqliteConnection,
    facts: Vec<FactsRow>,
) -> Result<(), sqlx::Error> {
    let mut numbers: BTreeMap<Revision, i64> = BTreeMap::new();
    for revision in facts.iter().filter_map(|row| row.revision.as_ref()) {
        if !numbers.contains_key(revision) {
            numbers.insert(
                revision.clone(),
                number_of(&mut *connection, revision).await?,
            );
        }
    }
    let mut query = QueryBuilder::<Sqlite>::new(
        "INSERT INTO facts (position, instant_ms, kind, revision, outcome, about, subject) ",
    );
    query.push_values(facts, |mut line, row| {
        let revision = row.revision.as_ref();
        line.push_bind(signed(row.position))
            .push_bind(row.instant_ms)
            .push_bind(row.kind)
            .push_bind(revision.and_then(|revision| numbers.get(revision).copied()))
            .push_bind(row.outcome)
            .push_bind(row.about.map(signed))
            .push_bind(row.subject);
    });
    query.build().execute(connection).await?;
    Ok(())
}

/// The number under which a revision stands in facts; a new one gets the next.
async fn number_of(
    connection: &mut SqliteConnection,
    (ruleset, revision): &Revision,
) -> Result<i64, sqlx::Error> {
    sqlx::query("INSERT INTO revisions (ruleset, revision) VALUES (?, ?) ON CONFLICT DO NOTHING")
        .bind(ruleset.as_str())
        .bind(revision.as_slice())
        .execute(&mut *connection)
        .await?;
    sqlx::query("SELECT number FROM revisions WHERE ruleset = ? AND revision = ?")
        .bind(ruleset.as_str())
        .bind(revision.as_slice())
        .fetch_one(connection)
        .await?
        .try_get(0)
}

/// Salt and body of an entry without a secret.
fn in_the_clear(entry: &Entry) -> Sealed {
    Sealed {
        nonce: [0; 12],
        content: sealed::together(&entry.salt, &entry.body),
    }
}
