//! Bodies, many in one row: those of a batch then fill their pages one after the other, where a row
//! each would leave a fifth of every page empty, and they are one call.
//!
//! A row holds the bodies of records whose places follow each other. For each stand there the
//! length of its content in four bytes, largest first, its nonce, and its content.

use std::collections::BTreeMap;
use std::sync::Arc;

use sqlx::Row;
use sqlx::sqlite::SqlitePool;

use super::read::{signed, unsigned};
use crate::store::sealed::{NONCE_BYTES, Sealed};

/// What stands before a content.
const BEFORE_BYTES: usize = size_of::<u32>() + NONCE_BYTES;

/// The rows that a stretch of records has its bodies in, by the place of the first of each.
pub(super) struct Bodies(BTreeMap<u64, Vec<u8>>);

/// A body as it is kept.
pub(super) struct KeptContent<'a> {
    pub(super) nonce: &'a [u8; NONCE_BYTES],
    pub(super) content: &'a [u8],
}

/// What a row holds.
pub(super) fn together(bodies: &[Arc<Sealed>]) -> Vec<u8> {
    let bytes = bodies.iter().map(|body| BEFORE_BYTES + body.content.len());
    let mut contents = Vec::with_capacity(bytes.sum());
    for body in bodies {
        // No content comes near: the database holds none of a gigabyte.
        let length = u32::try_from(body.content.len()).unwrap_or(u32::MAX);
        contents.extend_from_slice(&length.to_be_bytes());
        contents.extend_from_slice(&body.nonce);
        contents.extend_from_slice(&body.content);
    }
    contents
}

impl Bodies {
    /// Those of the records from one place through another.
    pub(super) async fn read(
        readers: &SqlitePool,
        first: u64,
        last: u64,
    ) -> Result<Self, sqlx::Error> {
        let rows = sqlx::query(
            "SELECT first, contents FROM bodies WHERE first <= ? \
             AND first >= (SELECT max(first) FROM bodies WHERE first <= ?)",
        )
        .bind(signed(last))
        .bind(signed(first))
        .fetch_all(readers)
        .await?;
        let rows = rows
            .iter()
            .map(|row| Ok((unsigned(row.try_get(0)?)?, row.try_get(1)?)));
        Ok(Bodies(rows.collect::<Result<_, sqlx::Error>>()?))
    }

    /// That of the record at a place, if there is one.
    pub(super) fn of(&self, position: u64) -> Option<KeptContent<'_>> {
        let (first, contents) = self.0.range(..=position).next_back()?;
        let mut rest = contents.as_slice();
        for _ in *first..position {
            rest = split(rest)?.1;
        }
        Some(split(rest)?.0)
    }
}

/// The first body, and the others.
fn split(contents: &[u8]) -> Option<(KeptContent<'_>, &[u8])> {
    let (length, rest) = contents.split_first_chunk()?;
    let (nonce, rest) = rest.split_first_chunk()?;
    let length = usize::try_from(u32::from_be_bytes(*length)).ok()?;
    let (content, rest) = rest.split_at_checked(length)?;
    Some((KeptContent { nonce, content }, rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_body_of_a_row_is_found_at_its_place_and_none_beyond() {
        let body = |byte, length| {
            Arc::new(Sealed {
                nonce: [byte; NONCE_BYTES],
                content: vec![byte; length],
            })
        };
        let row = together(&[body(1, 40), body(2, 0), body(3, 300)]);
        let cut = row.get(..row.len() - 1).expect("a row").to_vec();
        let bodies = Bodies(BTreeMap::from([(5, row), (8, cut)]));
        let found = |position| {
            let found = bodies.of(position)?;
            Some((found.nonce[0], found.content.len()))
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
