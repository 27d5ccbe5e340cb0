//! Closed vocabularies: choices and scales.

/// A closed list of words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Vocabulary {
    /// The name.
    pub name: String,
    /// The words; of a scale, lowest first.
    pub words: Vec<String>,
    /// Choice or scale.
    pub kind: VocabularyKind,
    /// The index in [`super::Program::layers`] of the layer that declares it.
    pub layer: usize,
}

/// Whether the words are ordered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VocabularyKind {
    /// Unordered.
    Choice,
    /// Ordered, in whole steps, or with half steps between them.
    Scale {
        /// Whether half steps stand between the whole ones.
        in_halves: bool,
    },
}

impl Vocabulary {
    /// The words' values, in order: places of a choice, half steps of a scale.
    pub fn values(&self) -> Vec<i32> {
        let count = i32::try_from(self.words.len()).unwrap_or(i32::MAX);
        match self.kind {
            VocabularyKind::Choice => (0..count).collect(),
            VocabularyKind::Scale { in_halves: true } => (0..=self.highest()).collect(),
            VocabularyKind::Scale { in_halves: false } => (0..count).map(|step| 2 * step).collect(),
        }
    }

    /// The value of a word.
    pub fn value_of(&self, word: &str) -> Option<i32> {
        let place = self.words.iter().position(|known| known == word)?;
        let place = i32::try_from(place).ok()?;
        Some(match self.kind {
            VocabularyKind::Choice => place,
            VocabularyKind::Scale { .. } => 2 * place,
        })
    }

    /// The highest value.
    pub fn highest(&self) -> i32 {
        let last = i32::try_from(self.words.len())
            .unwrap_or(i32::MAX)
            .saturating_sub(1);
        match self.kind {
            VocabularyKind::Choice => last,
            VocabularyKind::Scale { .. } => 2 * last,
        }
    }

    /// The value for people: `regular`, `regular plus 1/2`.
    pub fn text_of(&self, value: i32) -> String {
        let (place, half) = match self.kind {
            VocabularyKind::Choice => (value, false),
            VocabularyKind::Scale { .. } => (value.div_euclid(2), value.rem_euclid(2) == 1),
        };
        let word = usize::try_from(place)
            .ok()
            .and_then(|place| self.words.get(place));
        match (word, half) {
            (Some(word), true) => format!("{word} plus 1/2"),
            (Some(word), false) => word.clone(),
            (None, _) => format!("no word {value} of {}", self.name),
        }
    }
}
