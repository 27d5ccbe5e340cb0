//! The values of one field on a shelf, and where each stands.

use std::ops::Range;

use loftwright_dsl::program::Value;

use crate::places::Places;

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

/// Which values of a column pass a test: those that lie together below the wanted value, and from
/// it on.
#[derive(Clone, Debug)]
pub(crate) struct Passing {
    below: Range<usize>,
    above: Range<usize>,
}

/// A value has a set of places where a word of the set has one place or more for every so many
/// words: to join the words is then the shorter way.
const WORDS_FOR_A_PLACE: usize = 4;

impl Column {
    /// What each place of a shelf of this size has; `None` where it is not known.
    pub(super) fn new(values: impl Iterator<Item = Option<Value>>, size: usize) -> Self {
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
        let set = |standing: Standing<'_>| {
            let words = standing.places.len().saturating_mul(WORDS_FOR_A_PLACE);
            (Places::words(size) <= words).then(|| {
                let mut set = Places::none(size);
                set.add_all(standing.places);
                set
            })
        };
        column.sets = column.values().map(set).collect();
        column
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
        self.values_in(0..self.values.len())
    }

    /// What passes a test which passes what lies together, on one side of a wanted value or on
    /// both; it may fail the wanted value itself.
    pub(crate) fn passing(&self, wanted: &Value, holds: impl Fn(&Value) -> bool) -> Passing {
        let split = self.split(wanted);
        let (below, above) = self.values.split_at_checked(split).unwrap_or_default();
        let first = below.partition_point(|value| !holds(value));
        let fails_itself = above
            .first()
            .is_some_and(|value| value == wanted && !holds(value));
        let start = split + usize::from(fails_itself);
        let above = self.values.get(start..).unwrap_or_default();
        let end = start + above.partition_point(holds);
        Passing {
            below: first..split,
            above: start..end,
        }
    }

    /// Adds to some places those of the values that pass.
    pub(crate) fn add_passing(&self, places: &mut Places, passing: &Passing) {
        for values in [&passing.below, &passing.above] {
            let all = self.places_of(values.clone());
            if places.word_count().saturating_mul(values.len()) < all.len() {
                self.values_in(values.clone())
                    .for_each(|standing| standing.add_to(places));
            } else {
                places.add_all(all);
            }
        }
    }

    /// The values that fail: those below the wanted value and those from it on, the nearest first.
    pub(crate) fn failing(
        &self,
        Passing { below, above }: &Passing,
    ) -> (
        impl Iterator<Item = Standing<'_>>,
        impl Iterator<Item = Standing<'_>>,
    ) {
        let lower = self.values_in(0..below.start);
        let itself = self.values_in(below.end..above.start);
        let higher = self.values_in(above.end..self.values.len());
        (lower.rev(), itself.chain(higher))
    }

    fn split(&self, value: &Value) -> usize {
        self.values.partition_point(|found| found < value)
    }

    fn values_in(&self, range: Range<usize>) -> impl DoubleEndedIterator<Item = Standing<'_>> {
        let start = range.start;
        let values = self.values.get(range).unwrap_or_default().iter();
        values.enumerate().map(move |(offset, value)| {
            let index = start + offset;
            Standing {
                value,
                places: self.places_of(index..index + 1),
                set: self.sets.get(index).and_then(Option::as_ref),
            }
        })
    }

    /// Where the values of a range stand: those of one value after those of another.
    fn places_of(&self, range: Range<usize>) -> &[usize] {
        let end_of = |index: usize| self.ends.get(index).copied().unwrap_or(0);
        let end_before = |index: usize| index.checked_sub(1).map_or(0, end_of);
        let places = end_before(range.start)..end_before(range.end);
        self.places.get(places).unwrap_or_default()
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

    /// Whether it stands at one of some places.
    pub(super) fn meets(&self, places: &Places) -> bool {
        match self.set {
            Some(set) => set.meets(places),
            None => self.places.iter().any(|place| places.has(*place)),
        }
    }

    /// Those of some places where it stands, if there are any.
    pub(super) fn among(&self, places: &Places) -> Option<Places> {
        if !self.meets(places) {
            return None;
        }
        if let Some(set) = self.set {
            return Some(set.both(places));
        }
        let mut found = places.none_alike();
        let there = self.places.iter().filter(|place| places.has(**place));
        there.for_each(|place| found.add(*place));
        Some(found)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On a small shelf each value has a set of places, on a large one none has.
    const SIZES: [usize; 2] = [6, 6_400];

    fn column(words: [Option<i32>; 6], size: usize) -> Column {
        let words = words.into_iter().map(|word| word.map(Value::Word));
        Column::new(words, size)
    }

    fn words<'c>(found: impl Iterator<Item = Standing<'c>>) -> Vec<(i32, &'c [usize])> {
        let word = |standing: &Standing<'_>| standing.value.word().expect("a word");
        found
            .map(|standing| (word(&standing), standing.places))
            .collect()
    }

    #[test]
    fn each_value_stands_where_it_was_put() {
        for size in SIZES {
            let column = column([Some(2), None, Some(0), Some(2), Some(0), None], size);
            assert_eq!(words(column.values()), [(0, &[2, 4][..]), (2, &[0, 3][..])]);
        }
        assert_eq!(Column::default().values().count(), 0);
    }

    #[test]
    fn places_are_joined_by_sets_as_one_by_one() {
        for size in SIZES {
            let column = column([Some(2), None, Some(0), Some(2), Some(0), None], size);
            let mut low = Places::first(3, size);
            let of_each: Vec<Option<Vec<usize>>> = column
                .values()
                .map(|standing| Some(standing.among(&low)?.iter().collect()))
                .collect();
            assert_eq!(of_each, [Some(vec![2]), Some(vec![0])]);
            column.add_where(&mut low, |value| *value == Value::Word(2));
            assert_eq!(low.iter().collect::<Vec<_>>(), [0, 1, 2, 3]);
            let none = column.values().next().expect("a value");
            assert_eq!(none.among(&Places::first(2, size)), None);
        }
    }

    #[test]
    fn what_passes_a_test_and_what_fails_it_lies_together() {
        type Test = (&'static str, fn(i32) -> bool);
        let tests: [Test; 7] = [
            ("near", |word| (word - 5).abs() <= 2),
            ("it alone", |word| word == 5),
            ("over", |word| word > 5),
            ("under", |word| word < 5),
            ("at least", |word| word >= 5),
            ("every", |_| true),
            ("none", |_| false),
        ];
        let few = [Some(1), Some(3), Some(5), Some(7), Some(9), None];
        let many = || (0..200).map(|place| Some(1 + 2 * (place % 5)));
        let columns = SIZES.map(|size| (column(few, size), size));
        let columns = columns.into_iter().chain([(
            Column::new(many().map(|word| word.map(Value::Word)), 200),
            200,
        )]);
        for (column, size) in columns {
            for (wanted, (name, test)) in (0..=10).flat_map(|wanted| tests.map(|it| (wanted, it))) {
                // The same test around another wanted value.
                let holds = |value: &Value| value.word().is_some_and(|it| test(it - wanted + 5));
                let around = Value::Word(wanted);
                let mut by_halves = Places::none(size);
                let passing = column.passing(&around, holds);
                column.add_passing(&mut by_halves, &passing);
                let mut one_by_one = Places::none(size);
                column.add_where(&mut one_by_one, holds);
                assert_eq!(by_halves, one_by_one, "{name} {wanted} of {size}");

                let (below, above) = column.failing(&passing);
                let (mut below, above) = (words(below), words(above));
                below.reverse();
                let (lower, higher): (Vec<_>, Vec<_>) =
                    words(column.values().filter(|standing| !holds(standing.value)))
                        .into_iter()
                        .partition(|(word, _)| *word < wanted);
                assert_eq!((below, above), (lower, higher), "{name} {wanted} of {size}");
            }
        }
    }
}
