//! A shelf as a choice looks at it: the fields of its parts, and what it works out of them.

use loftwright_dsl::program::{CandidateValue, Choose, ChooseId, Node};

use super::own_lets::OwnLets;
use crate::evaluate::expression::Asker;
use crate::shelf::{Column, Shelf};
use crate::trace::TraceSink;

/// A shelf, and what a choice works out of what stands there.
#[derive(Clone, Copy)]
pub(super) struct OnShelf<'e> {
    pub(super) shelf: &'e Shelf,
    /// Whether what stands there is to be ordered to measure.
    pub(super) is_order: bool,
    /// The choice, and whether its shelf is that of the stock.
    choose: Option<(ChooseId, bool)>,
    own_lets: &'e OwnLets,
}

impl<'e> OnShelf<'e> {
    /// How a value of the candidates stands on the shelf; one that is not known stands nowhere.
    pub(super) fn column(self, value: CandidateValue) -> Option<&'e Column> {
        match (value, self.choose) {
            (CandidateValue::Field(field), _) => self.shelf.column(field),
            (CandidateValue::Let(index), Some((id, true))) => self.own_lets.on_stock(id, index),
            // What is not known may count as met where it is ordered to measure.
            (CandidateValue::Let(index), Some((id, false))) => {
                self.own_lets.on_catalogue(id, index, self.is_order)
            }
            (CandidateValue::Setting(field), _) => self.shelf.column_of_settings(field),
            (CandidateValue::Let(_), None) => None,
        }
    }
}

impl<'a, S: TraceSink> Asker<'a, S> {
    /// A shelf as the choice at hand looks at it.
    pub(super) fn on_shelf(
        &self,
        choose: &Choose,
        shelf: &'a Shelf,
        is_order: bool,
    ) -> OnShelf<'a> {
        let is_stock = choose.takes.is_some() && !is_order;
        OnShelf {
            shelf,
            is_order,
            choose: match self.place.node {
                Node::Choose(id) => Some((id, is_stock)),
                _ => None,
            },
            own_lets: self.world.parts.own_lets(),
        }
    }
}
