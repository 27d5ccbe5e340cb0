//! Which requests have a record.
//!
//! The hash of a request's id is anywhere among all others, so an index that took each at once
//! would touch a page of the file for each. It takes them later and in order: those whose hash
//! begins with the same byte go in together, one first byte for each [`RECORDS_OF_A_TURN`] records,
//! in turn. Until then they are remembered here ([`Pending`]), so that there are never many. What
//! is remembered follows from the leaves, and is read from them when the log is opened.
//!
//! A caller asks for his request before it is worked on. Where there was none, that is remembered
//! too, with how many records there were: the writer asks the index again only for those that it
//! has taken since, and these are remembered for some turns more.

use std::collections::{BTreeMap, VecDeque};
use std::ops::RangeInclusive;
use std::path::Path;

use sqlx::Row;
use sqlx::sqlite::{SqliteConnection, SqliteRow};

use super::read::{signed, unsigned};
use super::records::{KeptLeaf, Rows, leaf_of};
use crate::audit::leaf::Leaf;
use crate::audit::merkle::Hash;
use crate::store::entry::KnownRequest;
use crate::store::fault::StoreError;

/// For so many records of a batch, or fewer, the requests of one first byte go into the index.
pub(super) const RECORDS_OF_A_TURN: usize = 64;
/// How many first bytes there are.
const FIRST_BYTES: usize = 256;
/// For so many turns what went into the index is remembered: what a caller takes from asking to
/// being recorded.
const TURNS_HELD: usize = 32;
/// The most requests of which it is remembered that they were asked for.
const MOST_SOUGHT: usize = 4096;

/// The requests that the index has not taken yet, or not long ago, by the hash of their id.
#[derive(Debug)]
pub(super) struct Pending {
    /// For each first byte: small maps are quicker to look in than a large one.
    known: [BTreeMap<Hash, KnownRequest>; FIRST_BYTES],
    /// Of those that were asked for and not found: how many records were looked through.
    sought: BTreeMap<Hash, u64>,
    /// How many records there are.
    size: u64,
    /// How far the index goes, for each first byte.
    known_to: [u64; FIRST_BYTES],
    /// From where on all are remembered, for each first byte.
    held_from: [u64; FIRST_BYTES],
    /// The last turns: their first bytes, and how far the index went with them.
    held: VecDeque<(RangeInclusive<u8>, u64)>,
    /// The first byte whose requests go into the index next.
    turn: u8,
}

/// The lines of the index that go in with a batch.
pub(super) struct Turn {
    /// The first bytes of their hashes.
    pub(super) bytes: RangeInclusive<u8>,
    /// How many records there are then: so far the index goes for these bytes.
    pub(super) known_to: u64,
    /// Prefix and position of each, in order.
    pub(super) lines: Vec<(i64, i64)>,
}

impl Pending {
    /// A request that is remembered.
    pub(super) fn find(&self, id: &Hash) -> Option<KnownRequest> {
        self.known.get(first_byte(id))?.get(id).copied()
    }

    /// How many records there are: those that it is asked in, with the index.
    pub(super) fn size(&self) -> u64 {
        self.size
    }

    /// A request was found neither here nor in the index, when there were so many records.
    pub(super) fn was_sought(&mut self, id: Hash, size: u64) {
        if self.sought.len() >= MOST_SOUGHT {
            // Some whose callers went away, and others, which are then asked for once more.
            self.sought.clear();
        }
        self.sought.insert(id, size);
    }

    /// Whether the index cannot have a request that is not remembered: somebody asked for it, and
    /// all that came since are.
    pub(super) fn is_new(&mut self, id: &Hash) -> bool {
        let held_from = self.held_from.get(first_byte(id));
        let sought = self.sought.remove(id);
        sought.is_some_and(|size| held_from.is_some_and(|from| *from <= size))
    }

    /// What goes into the index with the next batch, of these requests and so many records, with
    /// which there will be so many in all.
    pub(super) fn turn(&self, (new, records): (&[(Hash, KnownRequest)], usize), size: u64) -> Turn {
        let more = records.saturating_sub(1) / RECORDS_OF_A_TURN;
        let last = self
            .turn
            .saturating_add(u8::try_from(more).unwrap_or(u8::MAX));
        let bytes = self.turn..=last;
        let remembered = bytes.clone().flat_map(|byte| self.of_byte(byte));
        let remembered = remembered.filter(|(id, known)| {
            let known_to = self.known_to.get(first_byte(id));
            known_to.is_none_or(|known_to| known.position >= *known_to)
        });
        let new = new.iter().map(|(id, known)| (id, known));
        let new = new.filter(|(id, _)| bytes.contains(&id.0[0]));
        let lines = remembered.chain(new);
        let mut lines: Vec<_> = lines
            .map(|(id, known)| (prefix(id), signed(known.position)))
            .collect();
        lines.sort_unstable();
        Turn {
            bytes,
            known_to: size,
            lines,
        }
    }

    /// After the commit: what went in some turns ago is forgotten, what is new remembered.
    pub(super) fn advance(&mut self, turn: &Turn, new: Vec<(Hash, KnownRequest)>) {
        for byte in turn.bytes.clone() {
            if let Some(known_to) = self.known_to.get_mut(usize::from(byte)) {
                *known_to = turn.known_to;
            }
        }
        self.turn = turn.bytes.end().wrapping_add(1);
        self.held.push_back((turn.bytes.clone(), turn.known_to));
        if self.held.len() > TURNS_HELD
            && let Some((bytes, known_to)) = self.held.pop_front()
        {
            self.forget(bytes, known_to);
        }
        for (id, known) in new {
            self.remember(id, known);
        }
        self.size = turn.known_to;
    }

    /// Forgets what the index has of these first bytes, before a place.
    fn forget(&mut self, bytes: RangeInclusive<u8>, before: u64) {
        for byte in bytes.map(usize::from) {
            if let Some(of_byte) = self.known.get_mut(byte) {
                of_byte.retain(|_, known| known.position >= before);
            }
            if let Some(from) = self.held_from.get_mut(byte) {
                *from = before;
            }
        }
    }

    fn remember(&mut self, id: Hash, known: KnownRequest) {
        if let Some(of_byte) = self.known.get_mut(first_byte(&id)) {
            of_byte.insert(id, known);
        }
    }

    fn of_byte(&self, byte: u8) -> impl Iterator<Item = (&Hash, &KnownRequest)> {
        self.known.get(usize::from(byte)).into_iter().flatten()
    }
}

/// Where a request stands among those of all first bytes.
fn first_byte(id: &Hash) -> usize {
    usize::from(id.0[0])
}

/// The number under which a request stands in the index.
fn prefix(id: &Hash) -> i64 {
    let [a, b, c, d, e, f, g, h, ..] = id.0;
    i64::from_be_bytes([a, b, c, d, e, f, g, h])
}

/// The requests of prefixes, as JSON: their places, and the leaves of the rows that these are in.
pub(super) const INDEXED: &str = "SELECT requests.position, records.first, \
     records.request_contents, records.leaves \
     FROM json_each(?) AS asked CROSS JOIN requests ON requests.prefix = asked.value \
     CROSS JOIN records ON records.first = \
     (SELECT max(first) FROM records WHERE first <= requests.position)";

/// The prefixes of requests, as JSON.
pub(super) fn prefixes(ids: &[Hash]) -> String {
    let prefixes: Vec<String> = ids.iter().map(|id| prefix(id).to_string()).collect();
    format!("[{}]", prefixes.join(","))
}

/// Those of the requests that are in rows of [`INDEXED`].
pub(super) fn of_rows(
    rows: &[SqliteRow],
    ids: &[Hash],
) -> Result<BTreeMap<Hash, KnownRequest>, StoreError> {
    let found = rows.iter().map(of_row).collect::<Result<Vec<_>, _>>()?;
    let asked = found.into_iter().flatten();
    Ok(asked.filter(|(id, _)| ids.contains(id)).collect())
}

/// What the index knows of a request.
pub(super) async fn indexed(
    connection: &mut SqliteConnection,
    id: Hash,
) -> Result<Option<KnownRequest>, StoreError> {
    let rows = sqlx::query(INDEXED)
        .bind(prefixes(&[id]))
        .fetch_all(connection)
        .await?;
    Ok(of_rows(&rows, &[id])?.into_values().next())
}

/// What the index has not taken yet, read from the leaves.
pub(super) async fn pending(
    connection: &mut SqliteConnection,
    file: &Path,
    size: u64,
) -> Result<Pending, StoreError> {
    let fault = |error| StoreError::of_database(file, error);
    let damaged = |why: &str| StoreError::Damaged {
        file: file.to_owned(),
        why: why.to_owned(),
    };
    let ranges = "SELECT known_to FROM request_ranges WHERE first_byte BETWEEN 0 AND 255 \
                  ORDER BY first_byte";
    let rows = sqlx::query(ranges)
        .fetch_all(&mut *connection)
        .await
        .map_err(fault)?;
    let known_to: Vec<u64> = rows
        .iter()
        .map(|row| unsigned(row.try_get(0)?))
        .collect::<Result<_, sqlx::Error>>()
        .map_err(fault)?;
    let known_to: [u64; FIRST_BYTES] = known_to
        .try_into()
        .map_err(|_| damaged("it does not say how far its index of requests goes"))?;
    let first = known_to.iter().min().copied().unwrap_or(0);
    if known_to.iter().any(|known_to| *known_to > size) {
        return Err(damaged("its index of requests goes beyond its records"));
    }
    let rows = Rows::read(connection, first, size).await;
    let rows = rows.map_err(fault)?;
    let records = rows.records().map_err(fault)?;
    // The one that waits longest.
    let turn = known_to.iter().position(|known_to| *known_to == first);
    let mut pending = Pending {
        known: std::array::from_fn(|_| BTreeMap::new()),
        sought: BTreeMap::new(),
        size,
        known_to,
        held_from: known_to,
        held: VecDeque::new(),
        turn: turn.and_then(|turn| u8::try_from(turn).ok()).unwrap_or(0),
    };
    for position in first..size {
        let request = records.leaf(position).map(|leaf| of_leaf(position, leaf));
        let Some((id, known)) = request.transpose()?.flatten() else {
            continue;
        };
        let to = known_to.get(first_byte(&id));
        if to.is_some_and(|to| known.position >= *to) {
            pending.remember(id, known);
        }
    }
    Ok(pending)
}

/// The request of a row of [`INDEXED`].
fn of_row(row: &SqliteRow) -> Result<Option<(Hash, KnownRequest)>, StoreError> {
    let (position, first) = (unsigned(row.try_get(0)?)?, unsigned(row.try_get(1)?)?);
    let (contents, leaves) = (row.try_get(2)?, row.try_get(3)?);
    let leaf = leaf_of(contents, leaves, position.saturating_sub(first));
    let request = leaf.map(|leaf| of_leaf(position, leaf));
    Ok(request.transpose()?.flatten())
}

/// The request of a leaf.
fn of_leaf(position: u64, kept: KeptLeaf<'_>) -> Result<Option<(Hash, KnownRequest)>, StoreError> {
    let leaf = Leaf::parse(kept.bytes).map_err(|_| StoreError::Row {
        position,
        what: "its leaf cannot be read",
    })?;
    let content = kept.request_content;
    let known = KnownRequest { position, content };
    Ok(leaf.header.request_id_hash.map(|id| (id, known)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn empty() -> Pending {
        Pending {
            known: std::array::from_fn(|_| BTreeMap::new()),
            sought: BTreeMap::new(),
            size: 0,
            known_to: [0; FIRST_BYTES],
            held_from: [0; FIRST_BYTES],
            held: VecDeque::new(),
            turn: 0,
        }
    }

    /// A batch of one record without a request, or with one. How many it put into the index.
    fn batch(pending: &mut Pending, id: Option<Hash>) -> usize {
        let position = pending.size();
        let content = Hash([9; Hash::BYTES]);
        let new = id.map(|id| (id, KnownRequest { position, content }));
        let new: Vec<_> = new.into_iter().collect();
        let turn = pending.turn((&new, 1), position + 1);
        pending.advance(&turn, new);
        turn.lines.len()
    }

    #[test]
    fn a_request_is_new_where_it_was_asked_for_and_all_that_came_since_are_remembered() {
        let mut pending = empty();
        let id = Hash([3; Hash::BYTES]);
        assert!(!pending.is_new(&id), "nobody asked for it");
        pending.was_sought(id, 0);
        assert!(pending.is_new(&id));
        assert!(
            !pending.is_new(&id),
            "asked for by one, and told to another"
        );

        batch(&mut pending, Some(id));
        let mut taken = 0;
        for _ in 0..2 * FIRST_BYTES {
            let remembered = pending.find(&id).is_some();
            let lines = batch(&mut pending, None);
            assert!(remembered || lines == 0);
            taken += lines;
        }
        assert_eq!(taken, 1, "the index takes it once");
        assert_eq!(pending.find(&id), None);
        // Whoever asked before it was recorded, and was slow, has not seen it.
        pending.was_sought(id, 0);
        assert!(!pending.is_new(&id));
    }

    #[test]
    fn what_went_into_the_index_is_remembered_for_some_turns_and_does_not_go_in_again() {
        let mut pending = empty();
        let id = Hash([0; Hash::BYTES]);
        // With 256 turns for each batch, all of a first byte have theirs again and again.
        let records = FIRST_BYTES * RECORDS_OF_A_TURN;
        let known = KnownRequest {
            position: 0,
            content: id,
        };
        let new = vec![(id, known)];
        let turn = pending.turn((&new, records), 1);
        assert_eq!(turn.lines, [(0, 0)], "with the batch that it came in");
        pending.advance(&turn, new);
        for _ in 0..TURNS_HELD {
            assert_eq!(pending.find(&id), Some(known));
            let turn = pending.turn((&[], records), pending.size() + 1);
            assert!(turn.lines.is_empty(), "{:?}", turn.lines);
            pending.advance(&turn, Vec::new());
        }
        assert_eq!(pending.find(&id), None);
    }
}
