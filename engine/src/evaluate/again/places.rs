//! A set of places in a program's order.

/// Places, a bit each.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Places(Vec<u64>);

/// How many bits a word has.
const WORD_BITS: usize = 64;

impl Places {
    /// None of so many.
    pub(super) fn none_of(count: usize) -> Self {
        Places(vec![0; count.div_ceil(WORD_BITS)])
    }

    /// Whether a place is among them.
    pub(super) fn has(&self, place: usize) -> bool {
        let word = self.0.get(place / WORD_BITS);
        word.is_some_and(|word| (word >> (place % WORD_BITS)) & 1 == 1)
    }

    /// One more.
    pub(super) fn add(&mut self, place: usize) {
        if let Some(word) = self.0.get_mut(place / WORD_BITS) {
            *word |= 1 << (place % WORD_BITS);
        }
    }

    /// All of others too.
    pub(super) fn add_all(&mut self, others: &Places) {
        for (word, other) in self.0.iter_mut().zip(&others.0) {
            *word |= other;
        }
    }

    /// Whether some place is among both.
    pub(super) fn meets(&self, others: &Places) -> bool {
        let mut words = self.0.iter().zip(&others.0);
        words.any(|(word, other)| word & other != 0)
    }
}
