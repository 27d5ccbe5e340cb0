//! Families: what among the parts has the same in the fields on which the clubs agree.

use std::sync::Arc;

use loftwright_dsl::program::{Choose, Rung, RungKind};

use super::offers::{Offer, Offered, Source};
use super::stock::Stock;
use crate::evaluate::expression::Asker;
use crate::shelf::{FamilyValues, Places};
use crate::trace::TraceSink;

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

/// The values that occur together, in order, each with where it is worth a look.
type ByValues = Vec<(FamilyValues, Option<Places>)>;

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
    /// that are worth a look.
    pub(super) fn families(&self, fields: &[usize], worth_a_look: &WorthALook) -> Vec<Family> {
        let by_values = |offered: &Option<Offered<'_>>, looked_for| {
            let offered = offered.as_ref();
            let parted = offered.map(|it| it.shelf.by_values(&it.places, fields, looked_for));
            parted.unwrap_or_default()
        };
        merged(
            by_values(&self.on_hand, &worth_a_look.on_hand),
            by_values(&self.to_order, &worth_a_look.to_order),
        )
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

/// The families of what is on hand and of what can be ordered, both in order of value.
fn merged(on_hand: ByValues, to_order: ByValues) -> Vec<Family> {
    let mut families = Vec::with_capacity(on_hand.len().max(to_order.len()));
    let mut to_order = to_order.into_iter().peekable();
    let ordered = |(values, to_order): (FamilyValues, Option<Places>)| Family {
        values,
        on_hand: None,
        to_order,
    };
    for (values, on_hand) in on_hand {
        while let Some(before) = to_order.next_if(|(other, _)| *other < values) {
            families.push(ordered(before));
        }
        let alike = to_order.next_if(|(other, _)| *other == values);
        families.push(Family {
            values,
            on_hand,
            to_order: alike.and_then(|(_, places)| places),
        });
    }
    families.extend(to_order.map(ordered));
    families
}
