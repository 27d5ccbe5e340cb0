//! The parts of a kind in their order, and where on the shelf each value of each field stands.
//!
//! Looking for a part means asking hundreds of them the same question: whether the flex is stiff,
//! whether the loft is near 31 degrees. On a shelf each value that occurs is asked once, and the
//! answer holds for all places where it stands. Sets of places are bits, so that the next question
//! is asked of those that are left.

use loftwright_dsl::program::{Record, Value};
use loftwright_dsl::quantity::Rational;

use crate::parts::{CataloguePart, OnHand};

/// The parts of a kind, or its pieces, in the order of part id and piece id.
#[derive(Clone, Debug)]
pub(crate) struct Shelf {
    items: Vec<Item>,
    /// By the field's index; none for a field that holds lists of records.
    columns: Vec<Option<Column>>,
    /// Where at least one is on hand.
    on_hand: Places,
}

/// What stands at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Item {
    /// The part's index in its kind.
    pub(crate) part: usize,
    /// The piece's index; `None` for the part itself.
    pub(crate) piece: Option<usize>,
}

/// The values of one field, each with the places where it stands. One that is not known stands
/// nowhere.
#[derive(Clone, Debug, Default)]
pub(crate) struct Column {
    /// The values that occur, in order.
    values: Vec<Value>,
    /// Where among the places those of each value end.
    ends: Vec<usize>,
    /// By value, then in order.
    places: Vec<usize>,
    /// The places of each value as a set, where it stands at many.
    sets: Vec<Option<Places>>,
}

/// A value that occurs, with where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Standing<'c> {
    pub(crate) value: &'c Value,
    /// In order.
    pub(crate) places: &'c [usize],
    /// As a set, where they are many.
    set: Option<&'c Places>,
}

/// A value has a set of places where a word of the set has one place or more for every so many
/// words: to join the words is then the shorter way.
const WORDS_FOR_A_PLACE: usize = 4;

/// Some of the places of a shelf.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Places {
    words: Vec<u64>,
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
                return Some(Column::new(counts).with_sets(items.len()));
            }
            let values = || {
                let records = records.iter();
                records.map(|(part, measured)| recorded(&part.fields, *measured, field))
            };
            let is_list = |value: Option<&Value>| matches!(value, Some(Value::List(_)));
            let cloned = || values().map(|value| value.cloned());
            (!values().any(is_list)).then(|| Column::new(cloned()).with_sets(items.len()))
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
        }
    }

    /// What is worked out of what stands at each place, as the values of a field.
    pub(crate) fn worked_out(&self, value: impl Fn(Item) -> Option<Value>) -> Column {
        let values = self.items.iter().map(|item| value(*item));
        Column::new(values).with_sets(self.items.len())
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
            if !column.values.iter().all(is_word) {
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

    /// Some places, parted by the values of these fields, in order of value. A place is left out
    /// where one of the fields is not known.
    pub(crate) fn by_values(&self, places: &Places, fields: &[usize]) -> Vec<(Vec<Value>, Places)> {
        let mut parted = vec![(Vec::new(), places.clone())];
        for field in fields {
            let Some(column) = self.column(*field) else {
                return Vec::new();
            };
            let mut finer = Vec::new();
            for (values, places) in &parted {
                for standing in column.values() {
                    if let Some(alike) = standing.among(places) {
                        let mut finer_values = Vec::with_capacity(fields.len());
                        finer_values.extend(values.iter().chain([standing.value]).cloned());
                        finer.push((finer_values, alike));
                    }
                }
            }
            parted = finer;
        }
        parted
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

impl Column {
    fn new(values: impl Iterator<Item = Option<Value>>) -> Self {
        let known = values.enumerate();
        let mut known: Vec<(Value, usize)> = known
            .filter_map(|(place, value)| Some((value?, place)))
            .collect();
        known.sort();
        let mut column = Column::default();
        for (value, place) in known {
            if column.values.last() != Some(&value) {
                column.values.push(value);
                column.ends.push(column.places.len());
            }
            column.places.push(place);
            if let Some(end) = column.ends.last_mut() {
                *end = column.places.len();
            }
        }
        column
    }

    /// With sets of places on a shelf of this size.
    fn with_sets(mut self, size: usize) -> Self {
        let set = |standing: Standing<'_>| {
            let mut set = Places::none(size);
            let words = set.words.len();
            set.add_all(standing.places);
            (words <= standing.places.len().saturating_mul(WORDS_FOR_A_PLACE)).then_some(set)
        };
        self.sets = self.values().map(set).collect();
        self
    }

    /// Adds to some places those of the values of which this holds.
    pub(crate) fn add_where(&self, places: &mut Places, holds: impl Fn(&Value) -> bool) {
        for standing in self.values() {
            if holds(standing.value) {
                standing.add_to(places);
            }
        }
    }

    /// The values that occur, in order.
    pub(crate) fn values(&self) -> impl DoubleEndedIterator<Item = Standing<'_>> {
        self.values_from_to(0, self.values.len())
    }

    /// The values below one, the nearest first.
    pub(crate) fn below(&self, value: &Value) -> impl Iterator<Item = Standing<'_>> {
        self.values_from_to(0, self.split(value)).rev()
    }

    /// The value itself and those above it, the nearest first.
    pub(crate) fn from(&self, value: &Value) -> impl Iterator<Item = Standing<'_>> {
        self.values_from_to(self.split(value), self.values.len())
    }

    /// The values that pass a test which passes what lies together, on one side of a wanted value
    /// or on both; it may fail the wanted value itself.
    pub(crate) fn passing(
        &self,
        wanted: &Value,
        holds: impl Fn(&Value) -> bool,
    ) -> impl Iterator<Item = Standing<'_>> {
        let split = self.split(wanted);
        let (below, above) = self.values.split_at_checked(split).unwrap_or_default();
        let first = below.partition_point(|value| !holds(value));
        let fails_itself = above
            .first()
            .is_some_and(|value| value == wanted && !holds(value));
        let start = usize::from(fails_itself);
        let above = above.get(start..).unwrap_or_default();
        let end = split + start + above.partition_point(holds);
        let below = self.values_from_to(first, split);
        below.chain(self.values_from_to(split + start, end))
    }

    fn split(&self, value: &Value) -> usize {
        self.values.partition_point(|found| found < value)
    }

    fn values_from_to(
        &self,
        start: usize,
        end: usize,
    ) -> impl DoubleEndedIterator<Item = Standing<'_>> {
        let end_of = |index: usize| self.ends.get(index).copied().unwrap_or(0);
        let values = self.values.get(start..end).unwrap_or_default().iter();
        values.enumerate().map(move |(offset, value)| {
            let index = start + offset;
            let first = index.checked_sub(1).map_or(0, end_of);
            let places = self.places.get(first..end_of(index));
            Standing {
                value,
                places: places.unwrap_or_default(),
                set: self.sets.get(index).and_then(Option::as_ref),
            }
        })
    }
}

impl Standing<'_> {
    /// Adds where it stands to some places.
    pub(crate) fn add_to(&self, places: &mut Places) {
        match self.set {
            Some(set) => places.join(set),
            None => places.add_all(self.places),
        }
    }

    /// Those of some places where it stands, if there are any.
    fn among(&self, places: &Places) -> Option<Places> {
        if let Some(set) = self.set {
            return set.meets(places).then(|| set.both(places));
        }
        let mut there = self
            .places
            .iter()
            .filter(|place| places.has(**place))
            .peekable();
        there.peek()?;
        let mut found = Places::none(places.words.len() * BITS);
        there.for_each(|place| found.add(*place));
        Some(found)
    }
}

const BITS: usize = 64;

impl Places {
    fn none(size: usize) -> Self {
        Places {
            words: vec![0; size.div_ceil(BITS)],
        }
    }

    /// The first so many of a shelf of this size.
    fn first(count: usize, size: usize) -> Self {
        let mut places = Places::none(size);
        for (index, word) in places.words.iter_mut().enumerate() {
            let before = count.min(size).saturating_sub(index * BITS);
            *word = match before {
                0 => 0,
                1..BITS => (1 << before) - 1,
                _ => u64::MAX,
            };
        }
        places
    }

    pub(crate) fn add(&mut self, place: usize) {
        if let Some(word) = self.words.get_mut(place / BITS) {
            *word |= 1 << (place % BITS);
        }
    }

    pub(crate) fn add_all(&mut self, places: &[usize]) {
        places.iter().for_each(|place| self.add(*place));
    }

    pub(crate) fn remove(&mut self, place: usize) {
        if let Some(word) = self.words.get_mut(place / BITS) {
            *word &= !(1 << (place % BITS));
        }
    }

    pub(crate) fn has(&self, place: usize) -> bool {
        let word = self.words.get(place / BITS);
        word.is_some_and(|word| word & (1 << (place % BITS)) != 0)
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.words.iter().all(|word| *word == 0)
    }

    pub(crate) fn count(&self) -> usize {
        let count = |word: &u64| usize::try_from(word.count_ones()).unwrap_or(BITS);
        self.words.iter().map(count).sum()
    }

    /// Whether some of them are in the other set too.
    pub(crate) fn meets(&self, other: &Places) -> bool {
        let mut words = self.words.iter().zip(&other.words);
        words.any(|(word, other)| word & other != 0)
    }

    /// Those that are in the other set too.
    pub(crate) fn keep(&mut self, other: &Places) {
        for (word, other) in self.words.iter_mut().zip(&other.words) {
            *word &= other;
        }
    }

    /// Those that are in both sets.
    fn both(&self, other: &Places) -> Places {
        let words = self.words.iter().zip(&other.words);
        Places {
            words: words.map(|(word, other)| word & other).collect(),
        }
    }

    /// Those that are not in the other set.
    pub(crate) fn without(&self, other: &Places) -> Places {
        let words = self.words.iter().zip(&other.words);
        Places {
            words: words.map(|(word, other)| word & !other).collect(),
        }
    }

    /// Those of the other set as well.
    pub(crate) fn join(&mut self, other: &Places) {
        for (word, other) in self.words.iter_mut().zip(&other.words) {
            *word |= other;
        }
    }

    /// In order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = usize> {
        self.words.iter().enumerate().flat_map(|(index, word)| {
            let mut left = *word;
            std::iter::from_fn(move || {
                let bit = usize::try_from(left.trailing_zeros()).unwrap_or(BITS);
                if bit >= BITS {
                    return None;
                }
                left &= left - 1;
                Some(index * BITS + bit)
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_a_set_in_order() {
        for size in [0, 1, 63, 64, 65, 200] {
            for count in [0, 1, 5, 63, 64, 65, 128, 200] {
                let first = Places::first(count, size);
                let expected: Vec<usize> = (0..size.min(count)).collect();
                assert_eq!(
                    first.iter().collect::<Vec<_>>(),
                    expected,
                    "{count} of {size}"
                );
                assert_eq!(first.count(), expected.len());
            }
        }
        let mut odd = Places::none(200);
        (1..200).step_by(2).for_each(|place| odd.add(place));
        let mut low = odd.clone();
        low.keep(&Places::first(6, 200));
        assert_eq!(low.iter().collect::<Vec<_>>(), [1, 3, 5]);
        low.remove(3);
        assert!(low.has(5) && !low.has(3) && !low.has(1000));
        let mut both = odd.without(&Places::first(195, 200));
        both.join(&low);
        assert_eq!(both.iter().collect::<Vec<_>>(), [1, 5, 195, 197, 199]);
        assert!(!both.is_empty() && Places::none(200).is_empty());
    }

    #[test]
    fn each_value_stands_where_it_was_put() {
        let words = [Some(2), None, Some(0), Some(2), Some(0), None];
        let column = Column::new(words.iter().map(|word| word.map(Value::Word)));
        let found: Vec<_> = column.values().collect();
        let standing = |value, places| Standing {
            value,
            places,
            set: None,
        };
        let (none, two) = (Value::Word(0), Value::Word(2));
        assert_eq!(found, [standing(&none, &[2, 4]), standing(&two, &[0, 3])]);
        assert_eq!(column.below(&two).collect::<Vec<_>>(), found[..1]);
        assert_eq!(column.from(&two).collect::<Vec<_>>(), found[1..]);
        assert_eq!(column.below(&Value::Word(1)).count(), 1);
        assert_eq!(Column::default().values().count(), 0);
    }
}
