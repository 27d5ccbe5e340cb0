//! The parts of a workshop without what was taken.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::Program;

use super::PartPlace;
use super::draw::Draw;
use crate::parts::{CataloguePart, OnHand, Parts};

/// Catalogue and stock without what these draws took; what was ordered was never there.
///
/// A draw's piece is that of the drawer it was taken from: draws must be told in terms of the full
/// drawers, which [`by_full_drawers`] does.
pub(super) fn without(program: &Program, parts: &Parts, draws: &[Draw]) -> Parts {
    let mut counts: BTreeMap<PartPlace, i64> = BTreeMap::new();
    let mut pieces: BTreeMap<PartPlace, BTreeSet<usize>> = BTreeMap::new();
    for draw in draws.iter().filter(|draw| !draw.is_ordered) {
        match draw.piece {
            Some(piece) => {
                pieces.entry(draw.part).or_default().insert(piece);
            }
            None => *counts.entry(draw.part).or_default() += draw.count,
        }
    }
    let left = |place: PartPlace, part: &CataloguePart| CataloguePart {
        on_hand: match &part.on_hand {
            OnHand::Counted(count) => {
                let taken = counts.get(&place).copied().unwrap_or(0);
                OnHand::Counted(count.saturating_sub(taken).max(0))
            }
            OnHand::Pieces(all) => {
                let taken = pieces.get(&place);
                let is_left = |piece: usize| !taken.is_some_and(|taken| taken.contains(&piece));
                let all = all.iter().enumerate();
                OnHand::Pieces(
                    all.filter(|(piece, _)| is_left(*piece))
                        .map(|(_, piece)| piece.clone())
                        .collect(),
                )
            }
        },
        ..part.clone()
    };
    let kinds = parts.kinds().map(|kind| {
        let all = parts.of(kind).iter().enumerate();
        let all = all.map(|(place, part)| left((kind, place), part));
        (kind, all.collect())
    });
    Parts::new(program, kinds.collect())
}

/// Draws from what others left, their pieces told by their places in the full drawers.
pub(super) fn by_full_drawers(full: &Parts, left: &Parts, draws: &mut [Draw]) {
    for draw in draws {
        let (kind, place) = draw.part;
        let all = |parts: &Parts| parts.of(kind).get(place).map(|part| part.on_hand.clone());
        let (Some(OnHand::Pieces(full)), Some(OnHand::Pieces(left)), Some(piece)) =
            (all(full), all(left), draw.piece)
        else {
            continue;
        };
        let id = left.get(piece).map(|piece| piece.id.as_str());
        draw.piece = full.iter().position(|known| Some(known.id.as_str()) == id);
    }
}
