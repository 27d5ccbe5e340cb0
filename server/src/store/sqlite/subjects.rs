//! Subjects: each has a number, a key and a salt, found by the keyed hash of the pseudonym.

use std::collections::BTreeMap;

use sqlx::sqlite::SqliteConnection;
use sqlx::{QueryBuilder, Row, Sqlite};
use zeroize::Zeroizing;

use crate::audit::leaf::Salt;
use crate::audit::merkle::Hash;
use crate::store::entry::random;
use crate::store::fault::StoreError;
use crate::store::sealed::SubjectKey;

/// A subject as it is kept.
pub(super) struct Subject {
    pub(super) number: i64,
    pub(super) key: SubjectKey,
    pub(super) salt: Salt,
}

/// The subjects of these hashes; a new key is made for one that has none.
pub(super) async fn of_hashes(
    connection: &mut SqliteConnection,
    mut hashes: Vec<Hash>,
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    hashes.sort_unstable();
    hashes.dedup();
    let mut found = kept(connection, &hashes).await?;
    hashes.retain(|hash| !found.contains_key(hash));
    if hashes.is_empty() {
        return Ok(found);
    }
    let mut made = Vec::new();
    for hash in &hashes {
        made.push((*hash, random::<32>()?, random::<32>()?));
    }
    let mut query = QueryBuilder::<Sqlite>::new("INSERT INTO subjects (subject_hash, key, salt) ");
    query.push_values(made, |mut row, (hash, key, salt)| {
        row.push_bind(hash.as_bytes().to_vec())
            .push_bind(key.to_vec())
            .push_bind(salt.to_vec());
    });
    query.build().execute(&mut *connection).await?;
    found.extend(kept(connection, &hashes).await?);
    Ok(found)
}

pub(super) async fn kept(
    connection: &mut SqliteConnection,
    hashes: &[Hash],
) -> Result<BTreeMap<Hash, Subject>, StoreError> {
    if hashes.is_empty() {
        return Ok(BTreeMap::new());
    }
    let asked: Vec<String> = hashes.iter().map(|hash| format!("\"{hash}\"")).collect();
    let rows = sqlx::query(
        "SELECT subjects.number, subjects.subject_hash, subjects.key, subjects.salt \
         FROM json_each(?) AS asked \
         CROSS JOIN subjects ON subjects.subject_hash = unhex(asked.value)",
    )
    .bind(format!("[{}]", asked.join(",")))
    .fetch_all(connection)
    .await?;
    let mut subjects = BTreeMap::new();
    for row in rows {
        let bytes = |column| -> Result<[u8; 32], StoreError> {
            let bytes: Vec<u8> = row.try_get(column)?;
            bytes.try_into().map_err(|_| StoreError::Number)
        };
        let subject = Subject {
            number: row.try_get(0)?,
            key: Zeroizing::new(bytes(2)?),
            salt: Salt(bytes(3)?),
        };
        subjects.insert(Hash(bytes(1)?), subject);
    }
    Ok(subjects)
}
