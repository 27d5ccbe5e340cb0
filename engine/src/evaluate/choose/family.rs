//! Families: what among the parts has the same in the fields on which the clubs agree.

use loftwright_dsl::program::{Choose, Rung, RungKind, Value};

use super::offers::{Offer, Offered, Source};
use super::stock::Stock;
use crate::evaluate::expression::Asker;
use crate::shelf::{Places, Shelf};
use crate::trace::TraceSink;

/// Parts that have the same in the fields on which the clubs agree.
#[derive(Clone, Debug)]
pub(super) struct Family {
    /// The values of those fields.
    pub(super) values: Vec<Value>,
    /// Where its parts stand among those on hand; in the catalogue, where the stock is not asked.
    pub(super) on_hand: Places,
    /// Where they stand in the catalogue, to be ordered.
    pub(super) to_order: Places,
}

/// The families that the clubs could agree on.
pub(super) struct Families {
    /// In order of value.
    pub(super) all: Vec<Family>,
    /// One of which there is no part.
    pub(super) empty: Family,
}

/// Places that have the same values, in order of value.
type ByValues = Vec<(Vec<Value>, Places)>;

impl<S: TraceSink> Asker<'_, S> {
    /// The families among what can be taken or ordered.
    pub(super) fn families(&self, choose: &Choose, fields: &[usize], stock: &Stock) -> Families {
        let offered = |source| {
            let offer = Offer {
                source,
                family: None,
            };
            offer.on_shelf(self.world, choose)
        };
        let on_hand = offered(match choose.takes {
            Some(count) => Source::Stock(stock, count),
            None => Source::Catalogue,
        });
        let to_order = offered(Source::Order);
        let nothing = |offered: &Option<Offered<'_>>| {
            let shelf = offered.as_ref().map(|offered| offered.shelf);
            shelf.map(Shelf::nothing).unwrap_or_default()
        };
        let empty = Family {
            values: Vec::new(),
            on_hand: nothing(&on_hand),
            to_order: nothing(&to_order),
        };
        let orders = |rung: &Rung| matches!(rung.kind, RungKind::Orders);
        let to_order = to_order.filter(|_| choose.rungs.iter().any(orders));
        let by_values = |offered: Option<Offered<'_>>| {
            let parted = offered.map(|it| it.shelf.by_values(&it.places, fields));
            parted.unwrap_or_default()
        };
        Families {
            all: merged(by_values(on_hand), by_values(to_order), &empty),
            empty,
        }
    }
}

/// The families of what is on hand and of what can be ordered, both in order of value.
fn merged(on_hand: ByValues, to_order: ByValues, empty: &Family) -> Vec<Family> {
    let mut families = Vec::with_capacity(on_hand.len().max(to_order.len()));
    let mut to_order = to_order.into_iter().peekable();
    let ordered = |(values, to_order): (Vec<Value>, Places)| Family {
        values,
        to_order,
        on_hand: empty.on_hand.clone(),
    };
    for (values, on_hand) in on_hand {
        while let Some(before) = to_order.next_if(|(other, _)| *other < values) {
            families.push(ordered(before));
        }
        let alike = to_order.next_if(|(other, _)| *other == values);
        families.push(Family {
            values,
            on_hand,
            to_order: alike.map_or_else(|| empty.to_order.clone(), |(_, places)| places),
        });
    }
    families.extend(to_order.map(ordered));
    families
}
