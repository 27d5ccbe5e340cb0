//! The parts of a kind in their order, and where on the shelf each value of each field stands.
//!
//! Looking for a part means asking hundreds of them the same question: whether the flex is stiff,
//! whether the loft is near 31 degrees. On a shelf each value that occurs is asked once, and the
//! answer holds for all places where it stands. Sets of places are bits, so that the next question
//! is asked of those that are left. Where a choice looks at each setting of a part, each setting
//! has a place of its own.
//!
//! | module | what it is |
//! | --- | --- |
//! | `column` | the values of a field, and where each stands |
//! | `families` | what has the same in some fields |

mod column;
mod families;

use std::collections::BTreeSet;
use std::ops::Range;

use loftwright_dsl::program::{Record, Value};
use loftwright_dsl::quantity::Rational;

pub(crate) use self::column::{Column, Passing, Standing};
use self::families::Families;
pub(crate) use self::families::{Alike, FamilyValues};
use crate::parts::{CataloguePart, OnHand};
use crate::places::Places;

/// The parts of a kind, or its pieces, in the order of part id, piece id and setting.
#[derive(Clone, Debug)]
pub(crate) struct Shelf {
    spots: Vec<Spot>,
    /// By the field's index; none for a field that holds lists of records, and for one that nobody
    /// asks for.
    columns: Vec<Option<Column>>,
    /// By the index of a field of the settings; empty where the shelf is not one of settings.
    of_settings: Vec<Option<Column>>,
    /// Where at least one is on hand.
    on_hand: Places,
    families: Families,
}

/// A part, or a piece of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Item {
    /// The part's index in its kind.
    pub(crate) part: usize,
    /// The piece's index; `None` for the part itself.
    pub(crate) piece: Option<usize>,
}

/// What stands at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Spot {
    /// The part or piece.
    pub(crate) item: Item,
    /// The index of its setting, on a shelf of settings.
    pub(crate) setting: Option<usize>,
}

/// What a shelf is laid out for.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Layout<'l> {
    /// The field that says how many there are.
    pub(crate) on_hand: Option<usize>,
    /// The field with the settings that have a place each, and the fields that are asked for then;
    /// without it all are.
    pub(crate) settings: Option<(usize, &'l BTreeSet<usize>)>,
}

impl Layout<'_> {
    fn wants(&self, field: usize) -> bool {
        self.settings
            .is_none_or(|(_, wanted)| wanted.contains(&field))
    }
}

/// What is known of a place: the part, what is measured of the piece, the setting.
type Known<'e> = (&'e CataloguePart, Option<&'e Record>, Option<&'e Record>);

impl Shelf {
    /// Every part as the catalogue has it.
    pub(crate) fn of_catalogue(parts: &[CataloguePart], layout: &Layout<'_>) -> Self {
        let items = (0..parts.len()).map(|part| Item { part, piece: None });
        Shelf::new(parts, items, layout)
    }

    /// Every single piece, and every part that is counted.
    pub(crate) fn of_stock(parts: &[CataloguePart], layout: &Layout<'_>) -> Self {
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
        Shelf::new(parts, items, layout)
    }

    fn new(
        parts: &[CataloguePart],
        items: impl Iterator<Item = Item>,
        layout: &Layout<'_>,
    ) -> Self {
        let mut spots = Vec::new();
        let mut known: Vec<Known<'_>> = Vec::new();
        for item in items {
            let Some(part) = parts.get(item.part) else {
                continue;
            };
            let measured = match (&part.on_hand, item.piece) {
                (OnHand::Pieces(pieces), Some(piece)) => pieces.get(piece),
                _ => None,
            };
            let measured = measured.map(|piece| &piece.fields);
            let mut stands = |setting: Option<usize>, record| {
                spots.push(Spot { item, setting });
                known.push((part, measured, record));
            };
            match layout.settings {
                None => stands(None, None),
                Some((field, _)) => {
                    let settings = part.settings(field).iter().enumerate();
                    settings.for_each(|(index, record)| stands(Some(index), Some(record)));
                }
            }
        }
        let mut on_hand = Places::none(spots.len());
        for (place, (part, ..)) in known.iter().enumerate() {
            if part.on_hand.count() > 0 {
                on_hand.add(place);
            }
        }
        Shelf {
            columns: columns_of_parts(&known, layout),
            of_settings: columns_of_settings(&known),
            spots,
            on_hand,
            families: Families::default(),
        }
    }

    /// What is worked out of what stands at each place, as the values of a field.
    pub(crate) fn worked_out(&self, value: impl Fn(Spot) -> Option<Value>) -> Column {
        let values = self.spots.iter().map(|spot| value(*spot));
        Column::new(values, self.spots.len())
    }

    /// What stands at a place.
    pub(crate) fn spot(&self, place: usize) -> Option<Spot> {
        self.spots.get(place).copied()
    }

    /// Where something stands, in each of its settings.
    pub(crate) fn places_of(&self, item: Item) -> Range<usize> {
        let first = self.spots.partition_point(|spot| spot.item < item);
        let others = self.spots.get(first..).unwrap_or_default();
        first..first + others.partition_point(|spot| spot.item == item)
    }

    /// The values of a field.
    pub(crate) fn column(&self, field: usize) -> Option<&Column> {
        self.columns.get(field)?.as_ref()
    }

    /// The values of a field of the settings.
    pub(crate) fn column_of_settings(&self, field: usize) -> Option<&Column> {
        self.of_settings.get(field)?.as_ref()
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
        Places::first(self.spots.len(), self.spots.len())
    }

    /// Where at least one is on hand.
    pub(crate) fn on_hand(&self) -> &Places {
        &self.on_hand
    }

    /// No place.
    pub(crate) fn nothing(&self) -> Places {
        Places::none(self.spots.len())
    }

    /// The places before one.
    pub(crate) fn before(&self, place: usize) -> Places {
        Places::first(place, self.spots.len())
    }
}

fn columns_of_parts(known: &[Known<'_>], layout: &Layout<'_>) -> Vec<Option<Column>> {
    let width = known.iter().map(|(part, ..)| part.fields.len()).max();
    let column = |field: usize| {
        if !layout.wants(field) {
            return None;
        }
        if layout.on_hand == Some(field) {
            let count = |part: &CataloguePart| Value::Number(Rational::whole(part.on_hand.count()));
            let counts = known.iter().map(|(part, ..)| Some(count(part)));
            return Some(Column::new(counts, known.len()));
        }
        column_of(known, |(part, measured, _)| {
            recorded(&part.fields, *measured, field)
        })
    };
    (0..width.unwrap_or(0)).map(column).collect()
}

fn columns_of_settings(known: &[Known<'_>]) -> Vec<Option<Column>> {
    let settings = known.iter().filter_map(|(.., setting)| *setting);
    let width = settings.map(Vec::len).max();
    let column = |field: usize| {
        column_of(known, |(.., setting)| {
            setting.as_ref()?.get(field)?.as_ref()
        })
    };
    (0..width.unwrap_or(0)).map(column).collect()
}

/// The values of a field; none where they are lists of records.
fn column_of<'e>(
    known: &[Known<'e>],
    value: impl Fn(&Known<'e>) -> Option<&'e Value>,
) -> Option<Column> {
    let is_list = |known: &Known<'e>| matches!(value(known), Some(Value::List(_)));
    let values = known.iter().map(|known| value(known).cloned());
    (!known.iter().any(is_list)).then(|| Column::new(values, known.len()))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Piece;

    /// A head with so many settings in its first field, and pieces of its own.
    fn head(settings: &[i32], pieces: usize) -> CataloguePart {
        let records = settings.iter().map(|word| vec![Some(Value::Word(*word))]);
        let piece = |index: usize| Piece {
            id: index.to_string(),
            fields: Record::new(),
        };
        CataloguePart {
            id: String::new(),
            fields: vec![Some(Value::List(records.collect())), Some(Value::Word(7))],
            lead_time_days: None,
            on_hand: OnHand::Pieces((0..pieces).map(piece).collect()),
        }
    }

    #[test]
    fn each_setting_of_each_piece_has_a_place() {
        let heads = [head(&[4, 6], 2), head(&[], 1), head(&[6], 1)];
        let wanted = BTreeSet::new();
        let layout = Layout {
            on_hand: None,
            settings: Some((0, &wanted)),
        };
        let shelf = Shelf::of_stock(&heads, &layout);
        let stands = |place: usize| {
            let Spot { item, setting } = shelf.spot(place)?;
            Some((item.part, item.piece?, setting?))
        };
        let all: Vec<_> = (0..6).map_while(stands).collect();
        assert_eq!(all, [(0, 0, 0), (0, 0, 1), (0, 1, 0), (0, 1, 1), (2, 0, 0)]);
        let places_of = |part, piece| {
            let piece = Some(piece);
            shelf.places_of(Item { part, piece })
        };
        assert_eq!(places_of(0, 1), 2..4);
        assert!(places_of(1, 0).is_empty());
        assert_eq!(places_of(2, 0), 4..5);

        let mut six = shelf.nothing();
        let settings = shelf
            .column_of_settings(0)
            .expect("a field of the settings");
        settings.add_where(&mut six, |value| *value == Value::Word(6));
        assert_eq!(six.iter().collect::<Vec<_>>(), [1, 3, 4]);
        assert!(shelf.column(1).is_none(), "nobody asks for it");
    }
}
