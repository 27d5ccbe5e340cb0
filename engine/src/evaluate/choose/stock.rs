//! What earlier clubs took from the stock.

use std::collections::BTreeMap;

use loftwright_dsl::program::PartId;

use crate::parts::{CataloguePart, OnHand};
use crate::shelf::Item;

/// What is taken, by kind of part.
#[derive(Clone, Debug, Default)]
pub(in crate::evaluate) struct Stock {
    /// In the order of part and piece.
    taken: BTreeMap<PartId, Vec<Taken>>,
}

/// What is taken of one part, or that a piece of it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Taken {
    /// The piece, or the part that is only counted.
    pub(super) item: Item,
    /// How many.
    count: i64,
}

impl Stock {
    /// What is taken of a kind of part.
    pub(super) fn taken(&self, kind: PartId) -> &[Taken] {
        self.taken.get(&kind).map_or(&[], Vec::as_slice)
    }

    /// How many are left of a part that is only counted.
    pub(super) fn left_of(&self, kind: PartId, part: usize, record: &CataloguePart) -> i64 {
        let OnHand::Counted(count) = &record.on_hand else {
            return 0;
        };
        let taken = self.taken(kind);
        let start = taken.partition_point(|taken| taken.item.part < part);
        let of_part = taken.iter().skip(start);
        let of_part = of_part.take_while(|taken| taken.item.part == part);
        of_part.fold(*count, |left, taken| left.saturating_sub(taken.count))
    }

    /// Takes so many of a part, or a piece of it.
    pub(in crate::evaluate) fn take(&mut self, kind: PartId, item: Item, count: i64) {
        let taken = self.taken.entry(kind).or_default();
        let place = taken.partition_point(|taken| taken.item < item);
        taken.insert(place, Taken { item, count });
    }
}
