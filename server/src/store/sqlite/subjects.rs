//! Subjects: each has a number, a key and a salt, found by the keyed hash of the pseudonym.
//!
//! Players come again within the hour, so the writer remembers those of late, and asks the database
//! for the others only.

use std::collections::BTreeMap;
use std::sync::Arc;

use sqlx::sqlite::{SqliteConnection, SqliteRow};
use sqlx::{QueryBuilder, Row, Sqlite};
use zeroize::Zeroizing;

use super::read;
use crate::audit::leaf::{Salt, subject_commitment};
use crate::audit::merkle::Hash;
use crate::store::entry::random;
use crate::store::fault::StoreError;
use crate::store::salted::{ReadySealed, SaltedBody};
use crate::store::sealed::{self, SubjectKey};

/// The subjects of hashes in hexadecimal, as JSON, all in one row: a row each would have to be
/// handed from thread to thread. For each [`SUBJECT_BYTES`].
pub(super) const KEPT: &str = "SELECT unhex(group_concat(format('%016x', subjects.number) \
     || hex(subjects.subject_hash) || hex(subjects.key) || hex(subjects.salt), '')) \
     FROM json_each(?) AS asked \
     CROSS JOIN subjects ON subjects.subject_hash = unhex(asked.value)";
/// The most subjects that are remembered are twice as many.
const MOST_OF_LATE: usize = 2048;
/// Number, hash, key, salt.
const SUBJECT_BYTES: usize = 8 + 3 * 32;

/// A subject as it is kept.
#[derive(Clone)]
pub(super) struct Subject {
    pub(super) number: i64,
    pub(super) key: SubjectKey,
    pub(super) salt: Salt,
}

impl Subject {
    /// Seals a body under his key.
    pub(super) fn seal(
        &self,
        pseudonym: &str,
        body: &SaltedBody,
    ) -> Result<ReadySealed, StoreError> {
        Ok(ReadySealed {
            number: self.number,
            subject_commitment: subject_commitment(&self.salt, pseudonym),
            body: Arc::new(sealed::seal(&self.key, random()?, body)?),
        })
    }
}

/// The subjects of late, by the keyed hash of the pseudonym: those that were met since `young` was
/// begun, and those of the time before.
#[derive(Default)]
pub(super) struct Remembered {
    young: BTreeMap<Hash, Arc<Subject>>,
    old: BTreeMap<Hash, Arc<Subject>>,
}

impl Remembered {
    pub(super) fn get(&self, hash: &Hash) -> Option<Arc<Subject>> {
        let found = self.young.get(hash).or_else(|| self.old.get(hash));
        found.map(Arc::clone)
    }

    /// After the commit: these were met.
    pub(super) fn take_in(&mut self, met: BTreeMap<Hash, Arc<Subject>>) {
        for (hash, subject) in met {
            self.old.remove(&hash);
            self.young.insert(hash, subject);
        }
        if self.young.len() >= MOST_OF_LATE {
            self.old = std::mem::take(&mut self.young);
        }
    }

    /// Nothing is left of one whose key is destroyed.
    pub(super) fn forget(&mut self, hash: &Hash) {
        self.young.remove(hash);
        self.old.remove(hash);
    }
}

/// Hashes as JSON.
pub(super) fn as_json(hashes: &[Hash]) -> String {
    let asked: Vec<String> = hashes.iter().map(|hash| format!("\"{hash}\"")).collect();
    format!("[{}]", asked.join(","))
}

/// The subjects of a row of [`KEPT`], which are among those that were asked for.
pub(super) fn of_row(
    row: &SqliteRow,
    asked: &[Hash],
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    let bytes: Option<&[u8]> = row.try_get(0)?;
    let (kept, rest) = bytes.unwrap_or_default().as_chunks::<SUBJECT_BYTES>();
    if !rest.is_empty() {
        return Err(StoreError::Number);
    }
    let mut subjects = BTreeMap::new();
    for bytes in kept {
        let (hash, subject) = subject(bytes).ok_or(StoreError::Number)?;
        // A key of another length moves what stands after it.
        if !asked.contains(&hash) {
            return Err(StoreError::Number);
        }
        subjects.insert(hash, subject);
    }
    Ok(subjects)
}

fn subject(bytes: &[u8; SUBJECT_BYTES]) -> Option<(Hash, Subject)> {
    let (number, rest) = bytes.split_first_chunk()?;
    let (hash, rest) = rest.split_first_chunk()?;
    let (key, salt) = rest.split_first_chunk()?;
    let subject = Subject {
        number: i64::from_be_bytes(*number),
        key: Zeroizing::new(*key),
        salt: Salt(salt.try_into().ok()?),
    };
    Some((Hash(*hash), subject))
}

/// Makes keys for subjects that have none.
pub(super) async fn make(
    connection: &mut SqliteConnection,
    hashes: &[Hash],
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    if hashes.is_empty() {
        return Ok(BTreeMap::new());
    }
    let mut made = BTreeMap::new();
    for hash in hashes {
        made.insert(*hash, (Zeroizing::new(random::<32>()?), random::<32>()?));
    }
    // Where one cannot be written no statement keeps what its pages were before.
    let mut query =
        QueryBuilder::<Sqlite>::new("INSERT OR ROLLBACK INTO subjects (subject_hash, key, salt) ");
    query.push_values(&made, |mut row, (hash, (key, salt))| {
        row.push_bind(hash.as_bytes().to_vec())
            .push_bind(key.to_vec())
            .push_bind(salt.to_vec());
    });
    query.push(" RETURNING subject_hash, number");
    let rows = query.build().fetch_all(connection).await?;
    let mut subjects = BTreeMap::new();
    for row in rows {
        let hash = read::hash(&row, 0)?;
        if let Some((key, salt)) = made.remove(&hash) {
            let (number, salt) = (row.try_get(1)?, Salt(salt));
            subjects.insert(hash, Subject { number, key, salt });
        }
    }
    Ok(subjects)
}

pub(super) async fn kept(
    connection: &mut SqliteConnection,
    hashes: &[Hash],
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    let row = sqlx::query(KEPT)
        .bind(as_json(hashes))
        .fetch_one(connection)
        .await?;
    of_row(&row, hashes)
}
