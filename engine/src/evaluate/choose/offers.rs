//! What there is to choose from, in the order of part, piece and setting.

use loftwright_dsl::program::{CandidateValue, Choose, Value};

use super::candidate::Candidate;
use super::stock::Stock;
use crate::evaluate::expression::World;
use crate::outcome::State;
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

/// Values of the fields in which the parts of all clubs agree.
#[derive(Clone, Debug)]
pub(super) struct Family {
    /// The fields of the part.
    pub(super) fields: Vec<usize>,
    /// Their values, in the same order.
    pub(super) values: Vec<Value>,
}

impl Family {
    /// Whether a candidate is of the family; one whose field is not known is of none.
    fn has(&self, candidate: &Candidate<'_>) -> bool {
        values_of(&self.fields, candidate).is_some_and(|values| values == self.values)
    }
}

/// The values of these fields, where all of them are known.
pub(super) fn values_of(fields: &[usize], candidate: &Candidate<'_>) -> Option<Vec<Value>> {
    let known = fields.iter().map(
        |field| match candidate.state(CandidateValue::Field(*field)) {
            State::Known(value) => Some(value),
            State::None | State::Undecided(_) => None,
        },
    );
    known.collect()
}

/// What a club chooses from.
#[derive(Clone, Copy)]
pub(super) struct Offer<'s> {
    pub(super) source: Source<'s>,
    /// Only what is of this family.
    pub(super) family: Option<&'s Family>,
}

/// Hands on every candidate that is offered.
pub(super) fn each_candidate<'e>(
    world: World<'e>,
    choose: &Choose,
    offer: Offer<'_>,
    mut hand_on: impl FnMut(Candidate<'e>),
) {
    let mut of_family = |candidate: Candidate<'e>| {
        if offer.family.is_none_or(|family| family.has(&candidate)) {
            candidate.in_each_setting(choose, &mut hand_on);
        }
    };
    for (part, record) in world.parts.of(choose.part).iter().enumerate() {
        let candidate = Candidate::of_part(world, choose.part, part, record).tried();
        each_of_part(choose, offer.source, candidate, &mut of_family);
    }
}

fn each_of_part<'e>(
    choose: &Choose,
    source: Source<'_>,
    candidate: Candidate<'e>,
    hand_on: &mut impl FnMut(Candidate<'e>),
) {
    let Source::Stock(stock, takes) = source else {
        return hand_on(candidate);
    };
    let taken = stock.taken_of(choose.part, candidate.part);
    match &candidate.record.on_hand {
        OnHand::Counted(_) => {
            let left = stock.left_of(choose.part, candidate.part, candidate.record);
            if left >= takes.max(1) {
                hand_on(candidate);
            }
        }
        OnHand::Pieces(pieces) => {
            for (index, piece) in pieces.iter().enumerate() {
                if taken.iter().all(|taken| taken.piece != Some(index)) {
                    hand_on(candidate.clone().with_piece(index, &piece.fields));
                }
            }
        }
    }
}
