//! Parts and pieces: what the catalogue knows and what lies in the drawers.
//!
//! The catalogue holds parts; the stock holds pieces (each measured on its own) or counts (where
//! nothing is measured). `on_hand` is the stock's alone.

use std::collections::BTreeMap;

use loftwright_dsl::program::{PartId, Record};

/// Catalogue and stock of one workshop, read against a program's `part` declarations.
#[derive(Clone, Debug, Default)]
pub struct Parts {
    /// The parts of each kind, sorted by id.
    pub kinds: BTreeMap<PartId, Vec<CataloguePart>>,
}

/// A part of the catalogue with what is on hand of it.
#[derive(Clone, Debug)]
pub struct CataloguePart {
    /// The workshop's code of the part.
    pub id: String,
    /// The fields in the order of the declaration; those of each piece, and `on_hand`, are `None`.
    pub fields: Record,
    /// How long an order takes, in days, where it is known.
    pub lead_time_days: Option<i64>,
    /// What lies in the drawers.
    pub on_hand: OnHand,
}

/// What is on hand of a part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OnHand {
    /// So many, nothing measured on the single one.
    Counted(i64),
    /// Single pieces, sorted by id.
    Pieces(Vec<Piece>),
}

/// A single piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The piece's own code.
    pub id: String,
    /// Fields in the order of the declaration; only those `of each piece` are there.
    pub fields: Record,
}

impl Parts {
    /// The parts of a kind, sorted by id.
    pub fn of(&self, kind: PartId) -> &[CataloguePart] {
        self.kinds.get(&kind).map_or(&[], Vec::as_slice)
    }
}
