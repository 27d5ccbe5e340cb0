//! The texts that need not be written: those of the messages, and those of the rules.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use foldhash::fast::FixedState;

/// The names of fields and choices in messages. They stand in records: a name that is added later
/// is not known, and another list is another version of a body.
const NAMES: &str = include_str!("names.txt");

/// Texts by their numbers.
///
/// First the names of the messages, in their order. Then, ascending by their bytes, the others that
/// the exact source of the rules has. Of each line, with its blanks made one and none at its ends:
/// what stands between quotes; every run of letters, digits, `_` and `.`; what comes before the
/// first ` because "` and the first ` # `, as a whole, after its first blank, and before its first
/// ` weight `.
#[derive(Clone, Debug)]
pub struct KnownTexts {
    texts: Vec<Arc<str>>,
    numbers: HashMap<Arc<str>, usize, FixedState>,
}

impl KnownTexts {
    /// Those of the exact source of rules; `None` where it is no text.
    pub fn of_source(source: &[u8]) -> Option<Self> {
        let mut found = BTreeSet::new();
        let mut line = String::new();
        for written in std::str::from_utf8(source).ok()?.split('\n') {
            line.clear();
            for word in written.split_ascii_whitespace() {
                if !line.is_empty() {
                    line.push(' ');
                }
                line.push_str(word);
            }
            texts_of_line(&line, |text| {
                if !text.is_empty() && !found.contains(text) {
                    found.insert(text.to_owned());
                }
            });
        }
        for name in NAMES.lines() {
            found.remove(name);
        }
        let names = NAMES.lines().map(Arc::from);
        let texts: Vec<Arc<str>> = names.chain(found.into_iter().map(Arc::from)).collect();
        let numbers = texts
            .iter()
            .enumerate()
            .map(|(number, text)| (Arc::clone(text), number))
            .collect();
        Some(KnownTexts { texts, numbers })
    }

    /// The number of a text.
    pub(super) fn number(&self, text: &str) -> Option<usize> {
        self.numbers.get(text).copied()
    }

    /// The text of a number.
    pub(super) fn text(&self, number: usize) -> Option<&str> {
        self.texts.get(number).map(AsRef::as_ref)
    }
}

fn texts_of_line(line: &str, mut each: impl FnMut(&str)) {
    line.split('"').skip(1).step_by(2).for_each(&mut each);
    let is_between = |letter: char| !(letter.is_ascii_alphanumeric() || "_.".contains(letter));
    line.split(is_between).for_each(&mut each);
    let before = |line, mark| match str::split_once(line, mark) {
        Some((before, _)) => before,
        None => line,
    };
    let said = before(before(line, " because \""), " # ");
    each(said);
    each(said.split_once(' ').map_or("", |(_, rest)| rest));
    each(before(said, " weight "));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(source: &str) -> Vec<String> {
        let known = KnownTexts::of_source(source.as_bytes()).expect("a text");
        let names = NAMES.lines().count();
        let texts = known.texts.iter().skip(names);
        texts.map(|text| text.to_string()).collect()
    }

    #[test]
    fn the_texts_of_a_line_are_its_words_what_is_quoted_and_what_is_said() {
        // `at` and `most` are names of fields.
        let limit = of("  limit  iron.x   at most 2 deg  # why\n\n");
        let said = "iron.x at most 2 deg";
        let whole = format!("limit {said}");
        let expected = ["2", "deg", "iron.x", said, "limit", whole.as_str(), "why"];
        assert_eq!(limit, expected);
        let row = of("yes gives 1 because \"Two words.\"");
        assert!(row.contains(&"yes gives 1".to_owned()), "{row:?}");
        assert!(row.contains(&"Two words.".to_owned()), "{row:?}");
        let near = of("prefers mass near 3 g, within 2 g  weight 3");
        assert!(near.contains(&"prefers mass near 3 g, within 2 g".to_owned()));
    }

    /// Another list would read old bodies wrongly.
    #[test]
    fn the_names_are_in_order_and_are_those_of_this_version() {
        let names: Vec<&str> = NAMES.lines().collect();
        assert!(names.is_sorted_by(|one, other| one < other));
        let hash = crate::audit::merkle::leaf_hash(NAMES.as_bytes()).to_string();
        assert_eq!(hash.get(..16), Some("e5dd8ad29b32b924"));
    }
}
