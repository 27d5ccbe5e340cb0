//! Sets of places, on a shelf or in a program's order, as bits.

const BITS: usize = 64;

/// Some of so many places.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Places {
    words: Vec<u64>,
}

impl Places {
    /// How many words a set of some of `size` places takes.
    pub(crate) fn words(size: usize) -> usize {
        size.div_ceil(BITS)
    }

    /// None of `size`.
    pub(crate) fn none(size: usize) -> Self {
        Places {
            words: vec![0; Places::words(size)],
        }
    }

    /// The first `count` of `size`.
    pub(crate) fn first(count: usize, size: usize) -> Self {
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

    /// None of as many.
    pub(crate) fn none_alike(&self) -> Self {
        Places {
            words: vec![0; self.words.len()],
        }
    }

    /// How many words they take.
    pub(crate) fn word_count(&self) -> usize {
        self.words.len()
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
    pub(crate) fn both(&self, other: &Places) -> Places {
        let mut both = self.clone();
        both.keep(other);
        both
    }

    /// Those that are not in the other set.
    pub(crate) fn without(&self, other: &Places) -> Places {
        let mut without = self.clone();
        for (word, other) in without.words.iter_mut().zip(&other.words) {
            *word &= !other;
        }
        without
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
}
