//! Records, those of a batch in one row: they then fill their pages one after the other, where a
//! row each would leave a fifth of every page empty, and they are one call.
//!
//! A row holds the records whose places follow each other from `first` on, one after the other in
//! each of its columns. A leaf has its length before it, in four bytes, largest first; a body the
//! length of its content, in the same way, and its nonce.

use std::collections::BTreeMap;

use sqlx::sqlite::{SqliteExecutor, SqliteRow};
use sqlx::{AssertSqlSafe, Row};

use super::read::{signed, unsigned};
use super::rows::Line;
use crate::audit::merkle::Hash;
use crate::store::sealed::NONCE_BYTES;

/// The most records of one row: so much is read to find one of them.
pub(super) const MOST_IN_A_ROW: usize = 64;

/// What stands before a leaf.
const BEFORE_LEAF_BYTES: usize = size_of::<u32>();
/// What stands before a content.
const BEFORE_CONTENT_BYTES: usize = size_of::<u32>() + NONCE_BYTES;

/// The columns of a row, as it is written.
pub(super) struct Columns {
    /// The hashes of the leaves.
    pub(super) hashes: Vec<u8>,
    /// The keyed hashes of all that their requests said; zeros where one had none.
    pub(super) request_contents: Vec<u8>,
    pub(super) leaves: Vec<u8>,
    pub(super) bodies: Vec<u8>,
}

/// The rows that a stretch of records is in, without their bodies, which are most of them.
pub(super) struct Rows(Vec<SqliteRow>);

/// What stands in [`Rows`], by the place of the first record of each.
pub(super) struct Records<'r>(BTreeMap<u64, Kept<'r>>);

/// A row where it was read to.
struct Kept<'r> {
    request_contents: &'r [u8],
    leaves: &'r [u8],
}

/// A leaf as it is kept.
#[derive(Clone, Copy)]
pub(super) struct KeptLeaf<'a> {
    pub(super) bytes: &'a [u8],
    /// The keyed hash of all that its request said; it means nothing where it had none.
    pub(super) request_content: Hash,
}

/// A body as it is kept.
pub(super) struct KeptContent<'a> {
    pub(super) nonce: &'a [u8; NONCE_BYTES],
    pub(super) content: &'a [u8],
}

/// What the row of these records holds.
pub(super) fn columns(lines: &[Line]) -> Columns {
    let leaves = lines.iter().map(|line| BEFORE_LEAF_BYTES + line.leaf.len());
    let contents = lines.iter().map(|line| line.body.content.len());
    let bodies = contents.map(|length| BEFORE_CONTENT_BYTES + length);
    let mut columns = Columns {
        hashes: Vec::with_capacity(lines.len() * Hash::BYTES),
        request_contents: Vec::with_capacity(lines.len() * Hash::BYTES),
        leaves: Vec::with_capacity(leaves.sum()),
        bodies: Vec::with_capacity(bodies.sum()),
    };
    for line in lines {
        let said = line.request_content.unwrap_or(Hash([0; Hash::BYTES]));
        columns.hashes.extend_from_slice(line.hash.as_bytes());
        columns.request_contents.extend_from_slice(said.as_bytes());
        columns.leaves.extend_from_slice(&length_of(&line.leaf));
        columns.leaves.extend_from_slice(&line.leaf);
        let content = &line.body.content;
        columns.bodies.extend_from_slice(&length_of(content));
        columns.bodies.extend_from_slice(&line.body.nonce);
        columns.bodies.extend_from_slice(content);
    }
    columns
}

fn length_of(bytes: &[u8]) -> [u8; size_of::<u32>()] {
    // Nothing comes near: the database holds none of a gigabyte.
    u32::try_from(bytes.len()).unwrap_or(u32::MAX).to_be_bytes()
}

/// Which rows the records from one place through another are in.
pub(super) const OF_A_STRETCH: &str =
    "first <= ?2 AND first >= (SELECT max(first) FROM records WHERE first <= ?1)";

impl Rows {
    /// Those of the records from one place through another.
    pub(super) async fn read(
        executor: impl SqliteExecutor<'_>,
        first: u64,
        last: u64,
    ) -> Result<Self, sqlx::Error> {
        let columns = "first, request_contents, leaves";
        let sql = format!("SELECT {columns} FROM records WHERE {OF_A_STRETCH}");
        // Made of words of ours alone.
        let rows = sqlx::query(AssertSqlSafe(sql))
            .bind(signed(first))
            .bind(signed(last))
            .fetch_all(executor)
            .await?;
        Ok(Rows(rows))
    }

    /// Those of some places.
    pub(super) async fn read_leaves_at(
        executor: impl SqliteExecutor<'_>,
        places: &[u64],
    ) -> Result<Self, sqlx::Error> {
        let places: Vec<String> = places.iter().map(u64::to_string).collect();
        let rows = sqlx::query(
            "SELECT first, request_contents, leaves FROM records WHERE first IN \
             (SELECT (SELECT max(first) FROM records WHERE first <= asked.value) \
             FROM json_each(?) AS asked)",
        )
        .bind(format!("[{}]", places.join(",")))
        .fetch_all(executor)
        .await?;
        Ok(Rows(rows))
    }

    /// The records in them.
    pub(super) fn records(&self) -> Result<Records<'_>, sqlx::Error> {
        let rows = self.0.iter().map(Kept::of_row);
        Ok(Records(rows.collect::<Result<_, _>>()?))
    }
}

impl<'r> Kept<'r> {
    /// What a row holds, with the place of its first record.
    fn of_row(row: &'r SqliteRow) -> Result<(u64, Self), sqlx::Error> {
        let kept = Kept {
            request_contents: row.try_get(1)?,
            leaves: row.try_get(2)?,
        };
        Ok((unsigned(row.try_get(0)?)?, kept))
    }
}

impl<'r> Records<'r> {
    /// The leaf at a place, if there is one.
    pub(super) fn leaf(&self, position: u64) -> Option<KeptLeaf<'r>> {
        let (first, kept) = self.0.range(..=position).next_back()?;
        let before = position.checked_sub(*first)?;
        leaf_of(kept.request_contents, kept.leaves, before)
    }
}

/// The leaf with so many before it in its row, of whose columns these are two.
pub(super) fn leaf_of<'row>(
    request_contents: &[u8],
    leaves: &'row [u8],
    before: u64,
) -> Option<KeptLeaf<'row>> {
    let mut rest = leaves;
    for _ in 0..before {
        rest = split_leaf(rest)?.1;
    }
    let (said, _) = request_contents.as_chunks();
    Some(KeptLeaf {
        bytes: split_leaf(rest)?.0,
        request_content: Hash(*said.get(usize::try_from(before).ok()?)?),
    })
}

/// The first leaf, and the others.
pub(super) fn split_leaf(leaves: &[u8]) -> Option<(&[u8], &[u8])> {
    let (length, rest) = leaves.split_first_chunk()?;
    rest.split_at_checked(usize::try_from(u32::from_be_bytes(*length)).ok()?)
}

/// The first body, and the others.
pub(super) fn split_body(bodies: &[u8]) -> Option<(KeptContent<'_>, &[u8])> {
    let (length, rest) = bodies.split_first_chunk()?;
    let (nonce, rest) = rest.split_first_chunk()?;
    let length = usize::try_from(u32::from_be_bytes(*length)).ok()?;
    let (content, rest) = rest.split_at_checked(length)?;
    Some((KeptContent { nonce, content }, rest))
}

#[cfg(test)]
pub(super) mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::store::sealed::Sealed;
    use crate::store::sqlite::rows::FactsRow;

    /// A line with this leaf, whose body is in the clear; its hashes are of this byte.
    pub(in super::super) fn line(byte: u8, leaf: Vec<u8>, content: Vec<u8>) -> Line {
        Line {
            position: 0,
            leaf,
            hash: Hash([byte; Hash::BYTES]),
            request_content: Some(Hash([byte; Hash::BYTES])),
            body: Arc::new(Sealed {
                nonce: [0; NONCE_BYTES],
                content,
            }),
            facts: FactsRow {
                instant_ms: 0,
                kind: "recommendation",
                revision: None,
                outcome: None,
                about: None,
                subject: None,
            },
        }
    }

    #[test]
    fn each_leaf_of_a_row_is_found_at_its_place_and_none_beyond() {
        let line = |byte, length| line(byte, vec![byte; length], Vec::new());
        let columns = columns(&[line(1, 40), line(2, 0), line(3, 300)]);
        assert_eq!(columns.hashes.len(), 3 * Hash::BYTES);
        let kept = |leaves| Kept {
            request_contents: &columns.request_contents,
            leaves,
        };
        let (_, cut) = columns.leaves.split_last().expect("leaves");
        let records = Records(BTreeMap::from([(5, kept(&columns.leaves)), (8, kept(cut))]));
        let found = |position| {
            let leaf = records.leaf(position)?;
            Some((leaf.request_content.0[0], leaf.bytes.len()))
        };
        assert_eq!(found(4), None);
        assert_eq!(found(5), Some((1, 40)));
        assert_eq!(found(6), Some((2, 0)));
        assert_eq!(found(7), Some((3, 300)));
        assert_eq!(found(9), Some((2, 0)));
        assert_eq!(found(10), None);
        assert_eq!(found(11), None);
    }
}
