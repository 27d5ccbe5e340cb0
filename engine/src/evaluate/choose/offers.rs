//! What there is to choose from, in the order of part, piece and setting.

use loftwright_dsl::program::Choose;

use super::candidate::Candidate;
use super::stock::Stock;
use crate::evaluate::expression::World;
use crate::parts::OnHand;

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

/// Hands on every candidate of a source.
pub(super) fn each_candidate<'e>(
    world: World<'e>,
    choose: &Choose,
    source: Source<'_>,
    mut hand_on: impl FnMut(Candidate<'e>),
) {
    for (part, record) in world.parts.of(choose.part).iter().enumerate() {
        let candidate = Candidate::of_part(world, choose.part, part, record).tried();
        each_of_part(choose, source, candidate, &mut hand_on);
    }
}

fn each_of_part<'e>(
    choose: &Choose,
    source: Source<'_>,
    candidate: Candidate<'e>,
    hand_on: &mut impl FnMut(Candidate<'e>),
) {
    let Source::Stock(stock, takes) = source else {
        return candidate.in_each_setting(choose, hand_on);
    };
    let taken = stock.taken_of(choose.part, candidate.part);
    match &candidate.record.on_hand {
        OnHand::Counted(count) => {
            let left = taken
                .iter()
                .fold(*count, |left, taken| left.saturating_sub(taken.count));
            if left >= takes.max(1) {
                candidate.in_each_setting(choose, hand_on);
            }
        }
        OnHand::Pieces(pieces) => {
            for (index, piece) in pieces.iter().enumerate() {
                if taken.iter().all(|taken| taken.piece != Some(index)) {
                    let piece = candidate.clone().with_piece(index, &piece.fields);
                    piece.in_each_setting(choose, hand_on);
                }
            }
        }
    }
}
