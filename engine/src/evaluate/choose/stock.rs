//! What earlier clubs took from the stock.

use std::collections::BTreeMap;

use loftwright_dsl::program::PartId;

use crate::parts::{CataloguePart, OnHand};

/// What is taken, by kind of part.
#[derive(Clone, Debug, Default)]
pub(in crate::evaluate) struct Stock {
    /// By the part's index, then the piece's.
    taken: BTreeMap<PartId, Vec<Taken>>,
}

/// What is taken of one part, or that a piece of it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Taken {
    part: usize,
    /// The piece's index; `None` where the part is only counted.
    pub(super) piece: Option<usize>,
    /// How many.
    pub(super) count: i64,
}

impl Stock {
    /// What is taken of a part.
    pub(super) fn taken_of(&self, kind: PartId, part: usize) -> &[Taken] {
        let Some(taken) = self.taken.get(&kind) else {
            return &[];
        };
        let start = taken.partition_point(|taken| taken.part < part);
        let end = taken.partition_point(|taken| taken.part <= part);
        taken.get(start..end).unwrap_or_default()
    }

    /// How many are left of a part that is only counted.
    pub(super) fn left_of(&self, kind: PartId, part: usize, record: &CataloguePart) -> i64 {
        let OnHand::Counted(count) = &record.on_hand else {
            return 0;
        };
        let taken = self.taken_of(kind, part).iter();
        taken.fold(*count, |left, taken| left.saturating_sub(taken.count))
    }

    /// Takes so many of a part, or a piece of it.
    pub(in crate::evaluate) fn take(
        &mut self,
        kind: PartId,
        part: usize,
        piece: Option<usize>,
        count: i64,
    ) {
        let taken = self.taken.entry(kind).or_default();
        let place = taken.partition_point(|taken| (taken.part, taken.piece) < (part, piece));
        taken.insert(place, Taken { part, piece, count });
    }
}
