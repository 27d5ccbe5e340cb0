//! The parts of a kind in their order, and where on the shelf each value of each field stands.
//!
//! Looking for a part means asking hundreds of them the same question: whether the flex is stiff,
//! whether the loft is near 31 degrees. On a shelf each value that occurs is asked once, and the
//! answer holds for all places where it stands. Sets of places are bits, so that the next question
//! is asked of those that are left.
//!
//! | module | what it is |
//! | --- | --- |
//! | `column` | the values of a field, and where each stands |
//! | `families` | what has the same in some fields |
//! | `places` | sets of places |

mod column;
mod families;
mod places;

use loftwright_dsl::program::{Record, Value};
use loftwright_dsl::quantity::Rational;

pub(crate) use self::column::{Column, Standing};
use self::families::Families;
pub(crate) use self::families::FamilyValues;
pub(crate) use self::places::Places;
use crate::parts::{CataloguePart, OnHand};

/// The parts of a kind, or its pieces, in the order of part id and piece id.
#[derive(Clone, Debug)]
pub(crate) struct Shelf {
    items: Vec<Item>,
    /// By the field's index; none for a field that holds lists of records.
    columns: Vec<Option<Column>>,
    /// Where at least one is on hand.
    on_hand: Places,
    families: Families,
}

/// What stands at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Item {
    /// The part's index in its kind.
    pub(crate) part: usize,
    /// The piece's index; `None` for the part itself.
    pub(crate) piece: Option<usize>,
}

impl Shelf {
    /// Every part as the catalogue has it; `on_hand` is the field that says how many there are.
    pub(crate) fn of_catalogue(parts: &[CataloguePart], on_hand: Option<usize>) -> Self {
        let items = (0..parts.len()).map(|part| Item { part, piece: None });
        Shelf::new(parts, items.collect(), on_hand)
    }

    /// Every single piece, and every part that is counted.
    pub(crate) fn of_stock(parts: &[CataloguePart], on_hand: Option<usize>) -> Self {
        let items = parts.iter().enumerate().flat_map(|(part, record)| {
            let (counted, pieces) = match &record.on_hand {
                OnHand::Counted(_) => (Some(Item { part, piece: None }), 0),
                OnHand::Pieces(pieces) => (None, pieces.len()),
            };
            let single = (0..pieces).map(move |piece| Item {
                part,
                piece: Some(piece),
            });
            counted.into_iter().chain(single)
        });
        Shelf::new(parts, items.collect(), on_hand)
    }

    fn new(parts: &[CataloguePart], items: Vec<Item>, on_hand: Option<usize>) -> Self {
        let records: Vec<(&CataloguePart, Option<&Record>)> = items
            .iter()
            .filter_map(|item| {
                let part = parts.get(item.part)?;
                let measured = match (&part.on_hand, item.piece) {
                    (OnHand::Pieces(pieces), Some(piece)) => pieces.get(piece),
                    _ => None,
                };
                Some((part, measured.map(|piece| &piece.fields)))
            })
            .collect();
        let width = parts.iter().map(|part| part.fields.len()).max();
        let column = |field: usize| {
            if on_hand == Some(field) {
                let count =
                    |part: &CataloguePart| Value::Number(Rational::whole(part.on_hand.count()));
                let counts = records.iter().map(|(part, _)| Some(count(part)));
                return Some(Column::new(counts, items.len()));
            }
            let values = || {
                let records = records.iter();
                records.map(|(part, measured)| recorded(&part.fields, *measured, field))
            };
            let is_list = |value: Option<&Value>| matches!(value, Some(Value::List(_)));
            let cloned = || values().map(|value| value.cloned());
            (!values().any(is_list)).then(|| Column::new(cloned(), items.len()))
        };
        let columns = (0..width.unwrap_or(0)).map(column).collect();
        let mut there = Places::none(items.len());
        for (place, (part, _)) in records.iter().enumerate() {
            if part.on_hand.count() > 0 {
                there.add(place);
            }
        }
        Shelf {
            items,
            columns,
            on_hand: there,
            families: Families::default(),
        }
    }

    /// What is worked out of what stands at each place, as the values of a field.
    pub(crate) fn worked_out(&self, value: impl Fn(Item) -> Option<Value>) -> Column {
        let values = self.items.iter().map(|item| value(*item));
        Column::new(values, self.items.len())
    }

    /// What stands at a place.
    pub(crate) fn item(&self, place: usize) -> Option<Item> {
        self.items.get(place).copied()
    }

    /// Where something stands.
    pub(crate) fn place_of(&self, item: Item) -> Option<usize> {
        self.items.binary_search(&item).ok()
    }

    /// The values of a field.
    pub(crate) fn column(&self, field: usize) -> Option<&Column> {
        self.columns.get(field)?.as_ref()
    }

    /// Some places, parted into those that are alike in these fields; `None` where one of the
    /// fields holds other than words and flags, of which there are few.
    pub(crate) fn alike(&self, places: &Places, fields: &[usize]) -> Option<Vec<Places>> {
        let mut parted = vec![places.clone()];
        parted.retain(|places| !places.is_empty());
        for field in fields {
            let column = self.column(*field)?;
            let is_word = |value: &Value| matches!(value, Value::Word(_) | Value::Flag(_));
            if !column.values().all(|standing| is_word(standing.value)) {
                return None;
            }
            let mut finer = Vec::new();
            for mut unknown in parted {
                for standing in column.values() {
                    let mut alike = self.nothing();
                    standing.add_to(&mut alike);
                    alike.keep(&unknown);
                    unknown = unknown.without(&alike);
                    finer.push(alike);
                }
                finer.push(unknown);
            }
            finer.retain(|places| !places.is_empty());
            parted = finer;
        }
        Some(parted)
    }

    /// Every place.
    pub(crate) fn everything(&self) -> Places {
        Places::first(self.items.len(), self.items.len())
    }

    /// Where at least one is on hand.
    pub(crate) fn on_hand(&self) -> &Places {
        &self.on_hand
    }

    /// No place.
    pub(crate) fn nothing(&self) -> Places {
        Places::none(self.items.len())
    }

    /// The places before one.
    pub(crate) fn before(&self, place: usize) -> Places {
        Places::first(place, self.items.len())
    }
}

/// What the piece's or else the part's record says of a field.
pub(crate) fn recorded<'e>(
    part: &'e Record,
    measured: Option<&'e Record>,
    field: usize,
) -> Option<&'e Value> {
    let measured = measured.and_then(|record| record.get(field)?.as_ref());
    measured.or_else(|| part.get(field)?.as_ref())
}
