//! Parts and pieces: what the catalogue knows and what lies in the drawers.
//!
//! The catalogue holds parts; the stock holds pieces (each measured on its own) or counts (where
//! nothing is measured). `on_hand` is the stock's alone. Parts do not change once they are there,
//! and both stand on a shelf where they are found by the values of their fields: laid out once,
//! it serves every player.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Choose, PartId, Program, Record, Value};

use crate::evaluate::choose::{OwnLets, fields_looked_at};
use crate::evaluate::lofts::LoftsByHand;
use crate::shelf::{Layout, Shelf};

/// The field of a part that says how many are on hand.
pub(crate) const ON_HAND: &str = "on_hand";

/// Catalogue and stock of one workshop, read against a program's `part` declarations.
#[derive(Clone, Debug, Default)]
pub struct Parts {
    kinds: BTreeMap<PartId, Kind>,
    own_lets: OwnLets,
    lofts: LoftsByHand,
}

/// The parts of one kind.
#[derive(Clone, Debug)]
struct Kind {
    /// Sorted by id.
    parts: Vec<CataloguePart>,
    shelves: Shelves,
    /// By the field with the settings, for the choices that look at each of them.
    in_settings: BTreeMap<usize, Shelves>,
}

/// The parts of one kind as they are looked for.
#[derive(Clone, Debug)]
pub(crate) struct Shelves {
    /// The parts as the catalogue has them.
    pub(crate) catalogue: Shelf,
    /// The pieces, and the parts that are counted.
    pub(crate) stock: Shelf,
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

impl OnHand {
    /// How many there are.
    pub fn count(&self) -> i64 {
        match self {
            OnHand::Counted(count) => *count,
            OnHand::Pieces(pieces) => i64::try_from(pieces.len()).unwrap_or(i64::MAX),
        }
    }
}

impl CataloguePart {
    /// The settings in its list of them.
    pub(crate) fn settings(&self, field: usize) -> &[Record] {
        match self.fields.get(field) {
            Some(Some(Value::List(settings))) => settings,
            _ => &[],
        }
    }
}

impl Shelves {
    fn new(parts: &[CataloguePart], layout: &Layout<'_>) -> Self {
        Shelves {
            catalogue: Shelf::of_catalogue(parts, layout),
            stock: Shelf::of_stock(parts, layout),
        }
    }
}

impl Kind {
    fn new(program: &Program, id: PartId, parts: Vec<CataloguePart>) -> Self {
        let on_hand = program.parts[id].field_index(ON_HAND);
        let chooses = || program.chooses.iter().filter(|choose| choose.part == id);
        let mut wanted: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for choose in chooses() {
            if let Some((field, _)) = choose.in_each {
                let fields = wanted.entry(field).or_default();
                fields.extend(fields_looked_at(choose));
            }
        }
        let in_settings = wanted.iter().map(|(field, wanted)| {
            let settings = Some((*field, wanted));
            (*field, Shelves::new(&parts, &Layout { on_hand, settings }))
        });
        let settings = None;
        let mut kind = Kind {
            shelves: Shelves::new(&parts, &Layout { on_hand, settings }),
            in_settings: in_settings.collect(),
            parts,
        };
        for choose in chooses() {
            if let Some(shelves) = kind.shelves_mut(choose) {
                shelves.catalogue.find_families(choose);
                shelves.stock.find_families(choose);
            }
        }
        kind
    }

    fn shelves(&self, choose: &Choose) -> Option<&Shelves> {
        match choose.in_each {
            None => Some(&self.shelves),
            Some((field, _)) => self.in_settings.get(&field),
        }
    }

    fn shelves_mut(&mut self, choose: &Choose) -> Option<&mut Shelves> {
        match choose.in_each {
            None => Some(&mut self.shelves),
            Some((field, _)) => self.in_settings.get_mut(&field),
        }
    }
}

impl Parts {
    /// The parts of each kind of the program, sorted by id. They serve evaluations of this program
    /// only.
    pub fn new(program: &Program, kinds: BTreeMap<PartId, Vec<CataloguePart>>) -> Self {
        let kind = |(id, parts): (PartId, Vec<CataloguePart>)| (id, Kind::new(program, id, parts));
        let parts = Parts {
            kinds: kinds.into_iter().map(kind).collect(),
            own_lets: OwnLets::default(),
            lofts: LoftsByHand::default(),
        };
        Parts {
            own_lets: OwnLets::of(program, &parts),
            lofts: LoftsByHand::of(program, &parts),
            ..parts
        }
    }

    /// The parts of a kind, sorted by id.
    pub fn of(&self, kind: PartId) -> &[CataloguePart] {
        self.kinds.get(&kind).map_or(&[], |kind| &kind.parts)
    }

    /// The kinds of which there are parts, in the order of their declaration.
    pub fn kinds(&self) -> impl Iterator<Item = PartId> {
        self.kinds.keys().copied()
    }

    /// The parts of all kinds.
    pub fn all(&self) -> impl Iterator<Item = &CataloguePart> {
        self.kinds.values().flat_map(|kind| &kind.parts)
    }

    /// What choices work out of a part that is the same for every player.
    pub(crate) fn own_lets(&self) -> &OwnLets {
        &self.own_lets
    }

    /// The lofts on hand for a player of each hand.
    pub(crate) fn lofts(&self) -> &LoftsByHand {
        &self.lofts
    }

    /// The parts that a choice chooses from, as it looks at them.
    pub(crate) fn shelves(&self, choose: &Choose) -> Option<&Shelves> {
        self.kinds.get(&choose.part)?.shelves(choose)
    }
}
