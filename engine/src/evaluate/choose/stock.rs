//! What earlier clubs took from the stock.

use std::collections::BTreeMap;

use loftwright_dsl::program::PartId;

/// What is taken, by kind of part.
#[derive(Clone, Debug, Default)]
pub(in crate::evaluate) struct Stock {
    taken: BTreeMap<PartId, Taken>,
}

/// What is taken of one kind: the part's index, the piece's, and how many; sorted.
#[derive(Clone, Debug, Default)]
pub(super) struct Taken {
    entries: Vec<(usize, Option<usize>, i64)>,
}

impl Stock {
    /// What is taken of a kind.
    pub(super) fn of(&self, kind: PartId) -> Option<&Taken> {
        self.taken.get(&kind)
    }

    /// Takes so many of a part, or a piece of it.
    pub(super) fn take(&mut self, kind: PartId, part: usize, piece: Option<usize>, count: i64) {
        let entries = &mut self.taken.entry(kind).or_default().entries;
        let place = entries.binary_search_by_key(&(part, piece), |entry| (entry.0, entry.1));
        match place {
            Ok(found) => {
                if let Some(entry) = entries.get_mut(found) {
                    entry.2 = entry.2.saturating_add(count);
                }
            }
            Err(place) => entries.insert(place, (part, piece, count)),
        }
    }
}

impl Taken {
    /// How many of a part, or whether (1) a piece of it, earlier clubs took.
    pub(super) fn count(&self, part: usize, piece: Option<usize>) -> i64 {
        let place = self
            .entries
            .binary_search_by_key(&(part, piece), |entry| (entry.0, entry.1));
        place
            .ok()
            .and_then(|found| self.entries.get(found))
            .map_or(0, |entry| entry.2)
    }
}
