//! What there is to choose from, in the order of part, piece and setting.

use loftwright_dsl::program::Choose;

use super::candidate::Candidate;
use super::family::Family;
use super::stock::Stock;
use crate::evaluate::expression::World;
use crate::parts::OnHand;
use crate::places::Places;
use crate::shelf::{Shelf, Spot};

/// Where candidates come from.
#[derive(Clone, Copy)]
pub(super) enum Source<'s> {
    /// What is on hand and not taken yet: at least so many.
    Stock(&'s Stock, i64),
    /// Every part of the catalogue.
    Catalogue,
    /// Every part of the catalogue, to be ordered to measure.
    Order,
}

/// What a club chooses from.
#[derive(Clone, Copy)]
pub(super) struct Offer<'s> {
    pub(super) source: Source<'s>,
    /// Only what is of this family.
    pub(super) family: Option<&'s Family>,
}

/// A shelf, and what on it is offered.
pub(super) struct Offered<'e> {
    pub(super) shelf: &'e Shelf,
    pub(super) places: Places,
}

impl Offer<'_> {
    /// What is offered; nothing where there is no part of the kind at all.
    pub(super) fn on_shelf<'e>(self, world: World<'e>, choose: &Choose) -> Option<Offered<'e>> {
        let shelves = world.parts.shelves(choose)?;
        let (shelf, mut places) = match self.source {
            Source::Stock(stock, takes) => {
                let shelf = &shelves.stock;
                (shelf, left_on(shelf, world, choose, stock, takes))
            }
            Source::Catalogue | Source::Order => {
                let shelf = &shelves.catalogue;
                (shelf, shelf.everything())
            }
        };
        if let Some(family) = self.family {
            let of_family = match self.source {
                Source::Stock(..) | Source::Catalogue => &family.on_hand,
                Source::Order => &family.to_order,
            };
            match of_family {
                Some(of_family) => places.keep(of_family),
                None => places = shelf.nothing(),
            }
        }
        Some(Offered { shelf, places })
    }
}

/// What earlier clubs have left, at least so many of what is only counted.
fn left_on(shelf: &Shelf, world: World<'_>, choose: &Choose, stock: &Stock, takes: i64) -> Places {
    let parts = world.parts.of(choose.part);
    let mut left = shelf.on_hand().clone();
    let is_enough = |part: usize| {
        let record = parts.get(part);
        record.is_some_and(|record| stock.left_of(choose.part, part, record) >= takes.max(1))
    };
    for taken in stock.taken(choose.part) {
        if taken.item.piece.is_some() || !is_enough(taken.item.part) {
            shelf
                .places_of(taken.item)
                .for_each(|place| left.remove(place));
        }
    }
    if takes > 1 {
        for place in left.clone().iter() {
            let item = shelf.spot(place).map(|spot| spot.item);
            if item.is_some_and(|item| item.piece.is_none() && !is_enough(item.part)) {
                left.remove(place);
            }
        }
    }
    left
}

/// What stands at a place, as a candidate.
pub(super) fn candidate_at<'e>(
    shelf: &Shelf,
    world: World<'e>,
    choose: &Choose,
    place: usize,
) -> Option<Candidate<'e>> {
    let Spot { item, setting } = shelf.spot(place)?;
    let record = world.parts.of(choose.part).get(item.part)?;
    let mut candidate = Candidate::of_part(world, choose.part, item.part, record).tried();
    if let (Some(index), OnHand::Pieces(pieces)) = (item.piece, &record.on_hand) {
        candidate = candidate.with_piece(index, &pieces.get(index)?.fields);
    }
    match setting {
        Some(index) => candidate.in_setting(choose, index),
        None => Some(candidate),
    }
}
