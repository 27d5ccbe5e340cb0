//! What a batch comes to, row by row, and how it is written.

use std::collections::BTreeMap;
use std::sync::Arc;

use sha2::{Digest, Sha256};
use sqlx::sqlite::SqliteConnection;
use sqlx::{Executor, Row};

use super::begin::BEGIN;
use super::nodes::LOWEST_KEPT_LEVEL;
use super::records::MOST_IN_A_ROW;
use super::requests::Turn;
use super::statement::{self, End, MOST_REQUESTS};
use super::subjects::Subject;
use crate::audit::leaf::{Leaf, subject_commitment};
use crate::audit::merkle::{Frontier, Hash, NewNode, NodePlace, leaf_hash};
use crate::store::entry::{Entry, KnownRequest};
use crate::store::facts::Outcome;
use crate::store::fault::StoreError;
use crate::store::packed;
use crate::store::sealed::{NONCE_BYTES, Sealed};

/// The name of a ruleset, and the SHA-256 of a revision's source; either may be empty.
pub(super) type Revision = (String, Vec<u8>);

/// What a batch comes to, to be written.
pub(super) struct Rows {
    lines: Vec<Line>,
    nodes: Vec<NewNode>,
    requests: Vec<(Hash, KnownRequest)>,
    blobs: BTreeMap<Hash, Arc<[u8]>>,
}

/// A leaf with its body and facts.
pub(super) struct Line {
    pub(super) position: u64,
    pub(super) leaf: Vec<u8>,
    pub(super) hash: Hash,
    pub(super) request_content: Option<Hash>,
    pub(super) body: Arc<Sealed>,
    pub(super) facts: FactsRow,
}

/// What lists say of one leaf.
pub(super) struct FactsRow {
    pub(super) instant_ms: i64,
    pub(super) kind: &'static str,
    pub(super) revision: Option<Revision>,
    pub(super) outcome: Option<&'static str>,
    pub(super) about: Option<u64>,
    pub(super) subject: Option<i64>,
}

impl Rows {
    /// Nothing yet; at most so many leaves will come.
    pub(super) fn new(most: usize) -> Self {
        Rows {
            lines: Vec::with_capacity(most),
            nodes: Vec::new(),
            requests: Vec::with_capacity(most),
            blobs: BTreeMap::new(),
        }
    }

    /// Gives an entry the next place.
    pub(super) fn place(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject: Option<&Subject>,
    ) -> Result<(u64, Hash), StoreError> {
        let Some(subject) = subject else {
            return self.place_leaf(frontier, entry, None, (in_the_clear(entry), None));
        };
        let text = entry.subject.as_deref().unwrap_or_default();
        let ready = entry.body.ready(text);
        let ready = ready.and_then(|ready| ready.sealed.clone());
        // One that was sealed under a key that is destroyed since is sealed again.
        let sealed = match ready.filter(|sealed| sealed.number == subject.number) {
            Some(sealed) => sealed,
            None => subject.seal(text, &entry.body)?,
        };
        let body = (sealed.body, Some(sealed.number));
        self.place_leaf(frontier, entry, Some(sealed.subject_commitment), body)
    }

    /// The same, with a body that everybody may read.
    pub(super) fn place_in_the_clear(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject: &Subject,
    ) -> Result<(u64, Hash), StoreError> {
        let text = entry.subject.as_deref().unwrap_or_default();
        let commitment = subject_commitment(&subject.salt, text);
        let body = (in_the_clear(entry), None);
        self.place_leaf(frontier, entry, Some(commitment), body)
    }

    fn place_leaf(
        &mut self,
        frontier: &mut Frontier,
        entry: &Entry,
        subject_commitment: Option<Hash>,
        (body, sealed_for): (Arc<Sealed>, Option<i64>),
    ) -> Result<(u64, Hash), StoreError> {
        let position = frontier.size();
        let commitment = entry.body.commitment();
        let mut header = entry.header.clone();
        header.position = position;
        header.request_id_hash = entry.request.map(|mark| mark.id);
        header.subject_commitment = subject_commitment;
        let leaf = Leaf { header, commitment }.to_bytes()?;
        let hash = leaf_hash(&leaf);
        frontier.add(hash, &mut self.nodes)?;
        self.lines.push(Line {
            position,
            leaf,
            hash,
            request_content: entry.request.map(|mark| mark.content),
            body,
            facts: FactsRow {
                instant_ms: entry.header.instant_ms,
                kind: entry.header.kind.text(),
                revision: revision(entry),
                outcome: entry.facts.outcome.map(Outcome::text),
                about: entry.facts.about,
                subject: sealed_for,
            },
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

    /// The new requests, and how many records there are in all.
    pub(super) fn requests(&self) -> (&[(Hash, KnownRequest)], usize) {
        (&self.requests, self.lines.len())
    }

    /// Writes all, and the requests whose turn it is into the index, in a transaction that is begun
    /// where it is not yet, and ends it. The new requests are returned.
    pub(super) async fn commit(
        self,
        connection: &mut SqliteConnection,
        mut is_begun: bool,
        turn: &Turn,
        numbers: &mut BTreeMap<Revision, i64>,
    ) -> Result<Vec<(Hash, KnownRequest)>, sqlx::Error> {
        let revisions = self.lines.iter();
        let revisions = revisions.filter_map(|line| line.facts.revision.as_ref());
        let mut unknown: Vec<&Revision> = revisions
            .filter(|revision| !numbers.contains_key(*revision))
            .collect();
        let before = turn.lines.len().saturating_sub(MOST_REQUESTS);
        let (before, requests) = turn.lines.split_at_checked(before).unwrap_or_default();
        let is_all_in_lines = unknown.is_empty() && self.blobs.is_empty() && before.is_empty();
        if !(is_begun || is_all_in_lines) {
            connection.execute(BEGIN).await?;
            is_begun = true;
        }
        for requests in before.chunks(MOST_REQUESTS) {
            let query = statement::of_requests(requests);
            query.execute(&mut *connection).await?;
        }
        for (digest, content) in &self.blobs {
            write_blob(&mut *connection, *digest, content).await?;
        }
        while let Some(revision) = unknown.first().copied() {
            let number = number_of(&mut *connection, revision).await?;
            numbers.insert(revision.clone(), number);
            unknown.retain(|other| *other != revision);
        }
        let end = End {
            nodes: self.kept_nodes(),
            turn,
            requests,
        };
        let mut left = self.lines.as_slice();
        loop {
            let (lines, later) = left.split_at(left.len().min(MOST_IN_A_ROW));
            let end = later.is_empty().then_some(&end);
            let query = statement::of(lines, !is_begun, numbers, end);
            query.execute(&mut *connection).await?;
            if end.is_some() {
                return Ok(self.requests);
            }
            is_begun = true;
            left = later;
        }
    }

    /// The nodes that are kept, if any, as JSON: level, place, hash in hexadecimal.
    fn kept_nodes(&self) -> Option<String> {
        let nodes = self.nodes.iter();
        let nodes: Vec<String> = nodes
            .filter(|node| node.place.level >= LOWEST_KEPT_LEVEL)
            .map(|node| {
                let NodePlace { level, index } = node.place;
                format!("[{level},{index},\"{}\"]", node.hash)
            })
            .collect();
        (!nodes.is_empty()).then(|| format!("[{}]", nodes.join(",")))
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
        .bind(packed::pack(content))
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
fn in_the_clear(entry: &Entry) -> Arc<Sealed> {
    Arc::new(Sealed {
        nonce: [0; NONCE_BYTES],
        content: entry.body.bytes().to_vec(),
    })
}
