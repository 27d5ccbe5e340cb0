//! Families: what among the parts has the same in the fields on which the clubs agree.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::sync::Arc;

use loftwright_dsl::program::{Choose, Rung, RungKind};

use super::offers::{Offer, Offered, Source};
use super::stock::Stock;
use crate::evaluate::expression::Asker;
use crate::places::Places;
use crate::shelf::{Alike, FamilyValues};
use crate::trace::{MOST_FAMILIES, TraceSink};

/// Parts that have the same in the fields on which the clubs agree.
#[derive(Clone, Debug, Default)]
pub(super) struct Family {
    /// The values of those fields.
    pub(super) values: FamilyValues,
    /// Where its parts stand among those on hand; in the catalogue, where the stock is not asked.
    pub(super) on_hand: Option<Places>,
    /// Where they stand in the catalogue, to be ordered.
    pub(super) to_order: Option<Places>,
}

/// What there is of all families.
pub(super) struct AllOffered<'a> {
    pub(super) on_hand: Option<Offered<'a>>,
    /// Where one of the rungs orders.
    pub(super) to_order: Option<Offered<'a>>,
}

/// What passes all that whole shelves can say, for any of the clubs.
#[derive(Default)]
pub(super) struct WorthALook {
    pub(super) on_hand: Places,
    pub(super) to_order: Places,
}

impl<'a, S: TraceSink> Asker<'a, S> {
    /// What can be taken or ordered, of any family.
    pub(super) fn all_offered(&self, choose: &Choose, stock: &Stock) -> AllOffered<'a> {
        let offered = |source| {
            let offer = Offer {
                source,
                family: None,
            };
            offer.on_shelf(self.world, choose)
        };
        let orders = |rung: &Rung| matches!(rung.kind, RungKind::Orders);
        AllOffered {
            on_hand: offered(match choose.takes {
                Some(count) => Source::Stock(stock, count),
                None => Source::Catalogue,
            }),
            to_order: if choose.rungs.iter().any(orders) {
                offered(Source::Order)
            } else {
                None
            },
        }
    }
}

impl AllOffered<'_> {
    /// The families that the clubs could agree on, in order of value, each with those of its parts
    /// that are worth a look. Those of which no part is all come to the same: there are no more of
    /// them than a trace keeps.
    pub(super) fn families(&self, fields: &[usize], worth_a_look: &WorthALook) -> Vec<Family> {
        let (on_hand, to_order) = (
            of_all(&self.on_hand, fields),
            of_all(&self.to_order, fields),
        );
        let mut families = Vec::new();
        let mut fruitless = 0;
        for (on_hand, to_order) in side_by_side(&on_hand, &to_order) {
            let Some(alike) = on_hand.or(to_order) else {
                continue;
            };
            let parts = (
                worth(on_hand, &self.on_hand, &worth_a_look.on_hand),
                worth(to_order, &self.to_order, &worth_a_look.to_order),
            );
            if matches!(parts, (None, None)) {
                let is_there = || is_in(on_hand, &self.on_hand) || is_in(to_order, &self.to_order);
                if fruitless == MOST_FAMILIES || !is_there() {
                    continue;
                }
                fruitless += 1;
            }
            families.push(Family {
                values: Arc::clone(alike.values()),
                on_hand: parts.0,
                to_order: parts.1,
            });
        }
        families
    }

    /// A family with all of its parts.
    pub(super) fn whole(&self, fields: &[usize], family: &Family) -> Family {
        let of_family = |offered: &Option<Offered<'_>>| {
            let Offered { shelf, places } = offered.as_ref()?;
            shelf.of_values(places, fields, &family.values)
        };
        Family {
            values: Arc::clone(&family.values),
            on_hand: of_family(&self.on_hand),
            to_order: of_family(&self.to_order),
        }
    }
}

/// All that is alike on the shelf of an offer.
fn of_all<'o>(offered: &'o Option<Offered<'_>>, fields: &[usize]) -> Cow<'o, [Alike]> {
    let offered = offered.as_ref();
    offered.map_or(Cow::Borrowed(&[]), |offered| {
        offered.shelf.all_alike(fields)
    })
}

/// Whether some of what is alike is offered.
fn is_in(alike: Option<&Alike>, offered: &Option<Offered<'_>>) -> bool {
    let (Some(alike), Some(offered)) = (alike, offered) else {
        return false;
    };
    alike.meets(&offered.places)
}

/// What of what is alike is worth a look, if anything is, where some of it is offered.
fn worth(
    alike: Option<&Alike>,
    offered: &Option<Offered<'_>>,
    worth_a_look: &Places,
) -> Option<Places> {
    let found = alike?.among(worth_a_look)?;
    is_in(alike, offered).then_some(found)
}

/// What is alike on two shelves, in order of value.
fn side_by_side<'s>(
    left: &'s [Alike],
    right: &'s [Alike],
) -> impl Iterator<Item = (Option<&'s Alike>, Option<&'s Alike>)> {
    let (mut left, mut right) = (left.iter().peekable(), right.iter().peekable());
    std::iter::from_fn(move || {
        let order = match (left.peek(), right.peek()) {
            (None, None) => return None,
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (Some(left), Some(right)) => left.values().cmp(right.values()),
        };
        Some((
            left.next_if(|_| order.is_le()),
            right.next_if(|_| order.is_ge()),
        ))
    })
}
