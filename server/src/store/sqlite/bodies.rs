//! Records with their bodies, opened row by row as the rows come: the next are read meanwhile.

use std::collections::BTreeMap;

use futures::TryStreamExt;
use sqlx::sqlite::{SqlitePool, SqliteRow};
use sqlx::{AssertSqlSafe, Row};

use super::read::{last_of, signed, unsigned};
use super::records::{KeptContent, OF_A_STRETCH, split_body, split_leaf};
use crate::audit::leaf::body_commitment;
use crate::audit::merkle::Hash;
use crate::store::entry::KeptBody;
use crate::store::facts::KeptRecord;
use crate::store::fault::StoreError;
use crate::store::salted::apart;
use crate::store::sealed::{self, SubjectKey};
use crate::wiped::WipedBytes;

/// For whom the bodies of a row are sealed, all in one text: each place, then `-` where the subject
/// is not kept any more, or `=` and the key. Of those that are in the clear nothing is said.
///
/// It is asked with the row, so that of a record that is there it is known.
const SEALED_FOR: &str = "SELECT group_concat(facts.position || \
     iif(subjects.number IS NULL, '-', '=' || hex(subjects.key)), ' ') \
     FROM facts LEFT JOIN subjects ON subjects.number = facts.subject \
     WHERE facts.position BETWEEN first AND first + length(hashes) / 32 - 1 \
     AND facts.subject IS NOT NULL";
/// Of the rows of a stretch those that do not go on beyond it, and the first: whoever goes on where
/// they end reads each row once.
const THAT_END_IN_IT: &str = "(first <= ?1 OR first + length(hashes) / 32 <= ?2 + 1)";

/// For whom a body is sealed.
#[derive(Default)]
enum SealedFor {
    /// For nobody: it is in the clear.
    #[default]
    Nobody,
    /// For a subject who is not kept any more.
    Erased,
    /// For a subject with this key; none where it is no key.
    Kept(Option<SubjectKey>),
}

/// A row where it was read to: a batch of bodies is not copied once more.
struct SealedRow<'r> {
    first: u64,
    count: u64,
    leaves: &'r [u8],
    bodies: &'r [u8],
    sealed_for: BTreeMap<u64, SealedFor>,
}

/// Records from a place on, up to one that is missing.
pub(super) async fn records(
    readers: &SqlitePool,
    from: u64,
    most: usize,
) -> Result<Vec<KeptRecord>, StoreError> {
    let last = last_of(from, most);
    let sql = format!(
        "SELECT first, length(hashes) / 32, leaves, bodies, ({SEALED_FOR}) FROM records \
         WHERE {OF_A_STRETCH} AND {THAT_END_IN_IT} ORDER BY first"
    );
    // Made of words of ours alone.
    let mut rows = sqlx::query(AssertSqlSafe(sql))
        .bind(signed(from))
        .bind(signed(last))
        .fetch(readers);
    let (mut records, mut next) = (Vec::new(), from);
    while let Some(row) = rows.try_next().await? {
        let row = SealedRow::of_row(&row)?;
        if row.first > next {
            break;
        }
        next = row.first.saturating_add(row.count);
        row.open(from, last, &mut records)?;
    }
    Ok(records)
}

impl<'r> SealedRow<'r> {
    fn of_row(row: &'r SqliteRow) -> Result<Self, sqlx::Error> {
        let said: Option<&str> = row.try_get(4)?;
        let said = said.unwrap_or_default().split_ascii_whitespace();
        let sealed_for = said.map(sealed_for_entry).collect::<Option<_>>();
        let unread = "for whom bodies are sealed cannot be read";
        Ok(SealedRow {
            first: unsigned(row.try_get(0)?)?,
            count: unsigned(row.try_get(1)?)?,
            leaves: row.try_get(2)?,
            bodies: row.try_get(3)?,
            sealed_for: sealed_for.ok_or_else(|| sqlx::Error::Decode(unread.into()))?,
        })
    }

    /// Opens those from one place through another.
    fn open(
        mut self,
        from: u64,
        last: u64,
        records: &mut Vec<KeptRecord>,
    ) -> Result<(), StoreError> {
        let end = self.first.saturating_add(self.count);
        for position in self.first..end.min(last.saturating_add(1)) {
            let damaged = |what| StoreError::Row { position, what };
            let leaf = split_leaf(self.leaves).ok_or(damaged("the leaf is missing"))?;
            let body = split_body(self.bodies).ok_or(damaged("its body is missing"))?;
            (self.leaves, self.bodies) = (leaf.1, body.1);
            if position >= from {
                let sealed_for = self.sealed_for.remove(&position).unwrap_or_default();
                records.push(KeptRecord {
                    position,
                    leaf: leaf.0.to_vec(),
                    body: open(position, leaf.0, &body.0, &sealed_for)?,
                });
            }
        }
        Ok(())
    }
}

fn sealed_for_entry(text: &str) -> Option<(u64, SealedFor)> {
    let (position, sealed_for) = match (text.strip_suffix('-'), text.split_once('=')) {
        (Some(position), _) => (position, SealedFor::Erased),
        (None, Some((position, key))) => (position, SealedFor::Kept(key_of(key))),
        (None, None) => return None,
    };
    Some((position.parse().ok()?, sealed_for))
}

fn key_of(hexadecimal: &str) -> Option<SubjectKey> {
    let digit = |byte: u8| {
        let digit = char::from(byte).to_digit(16)?;
        u8::try_from(digit).ok()
    };
    let (pairs, rest) = hexadecimal.as_bytes().as_chunks();
    let mut key = SubjectKey::default();
    if pairs.len() != key.len() || !rest.is_empty() {
        return None;
    }
    for (byte, [high, low]) in key.iter_mut().zip(pairs) {
        *byte = digit(*high)? << 4 | digit(*low)?;
    }
    Some(key)
}

/// The body of the record at a place, which has this leaf.
fn open(
    position: u64,
    leaf: &[u8],
    body: &KeptContent<'_>,
    sealed_for: &SealedFor,
) -> Result<KeptBody, StoreError> {
    let damaged = |what| StoreError::Row { position, what };
    let commitment = leaf.last_chunk().copied().map(Hash);
    let commitment = commitment.ok_or(damaged("its leaf cannot be read"))?;
    let content = body.content.to_vec();
    let opened = match sealed_for {
        // It has no nonce.
        SealedFor::Nobody if body.nonce.iter().any(|byte| *byte != 0) => None,
        SealedFor::Nobody => apart(WipedBytes(content)),
        SealedFor::Erased => return Ok(KeptBody::Erased),
        SealedFor::Kept(key) => {
            let key = key.as_ref();
            let key = key.ok_or(damaged("its subject's key is not 32 bytes"))?;
            sealed::open(key, commitment, body.nonce, content)
        }
    };
    let (salt, body) = opened.ok_or(damaged("its body is not the one that was sealed"))?;
    if body_commitment(&salt, &body) != commitment {
        return Err(damaged("its body is not the one that was committed to"));
    }
    Ok(KeptBody::Whole { salt, body })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::salted::SaltedBody;
    use crate::store::sqlite::records::tests::line;
    use crate::store::sqlite::records::{Columns, columns};

    /// Three records with bodies of these bytes.
    fn three() -> Columns {
        let lines = [1, 2, 3].map(|byte| {
            let body = SaltedBody::new(vec![byte; 100]).expect("a body");
            let leaf = [&[byte; 50][..], body.commitment().as_bytes()].concat();
            line(byte, leaf, body.bytes().to_vec())
        });
        columns(&lines)
    }

    /// The places and the bytes of those from one place through another, where they are from 5 on.
    fn opened(
        columns: &Columns,
        bodies: &[u8],
        (from, last): (u64, u64),
    ) -> Result<Vec<(u64, u8)>, String> {
        let row = SealedRow {
            first: 5,
            count: 3,
            leaves: &columns.leaves,
            bodies,
            sealed_for: BTreeMap::new(),
        };
        let mut records = Vec::new();
        row.open(from, last, &mut records)
            .map_err(|why| why.to_string())?;
        let record = |record: KeptRecord| {
            let KeptBody::Whole { body, .. } = record.body else {
                panic!("record {} is erased", record.position)
            };
            assert_eq!((record.leaf.first(), body.len()), (body.first(), 100));
            (record.position, record.leaf[0])
        };
        Ok(records.into_iter().map(record).collect())
    }

    #[test]
    fn those_that_are_asked_for_are_opened_and_no_others() {
        let columns = three();
        let opened = |stretch| opened(&columns, &columns.bodies, stretch);
        assert_eq!(opened((0, 20)), Ok(vec![(5, 1), (6, 2), (7, 3)]));
        assert_eq!(opened((6, 6)), Ok(vec![(6, 2)]));
        assert_eq!(opened((7, u64::MAX)), Ok(vec![(7, 3)]));
        assert_eq!(opened((8, 9)), Ok(Vec::new()));
        assert_eq!(opened((0, 4)), Ok(Vec::new()));
    }

    #[test]
    fn a_body_that_is_not_its_own_is_told_with_its_place_and_those_before_it_are_opened() {
        let columns = three();
        let (_, cut) = columns.bodies.split_last().expect("bodies");
        let missing = "record 7: its body is missing";
        let told = opened(&columns, cut, (5, 7)).expect_err("a fault");
        assert!(told.contains(missing), "{told}");
        assert_eq!(opened(&columns, cut, (5, 6)), Ok(vec![(5, 1), (6, 2)]));
        let mut other = columns.bodies.clone();
        *other.last_mut().expect("bodies") = 4;
        let told = opened(&columns, &other, (5, 7)).expect_err("a fault");
        let committed = "record 7: its body is not the one that was committed to";
        assert!(told.contains(committed), "{told}");
    }
}
