//! The nearest of the words that would have been right: "did you mean …?".

/// The candidate nearest to `word`, if it is near enough to be a slip of the hand.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    if word.is_empty() || word.len() > 64 {
        return None;
    }
    let most = match word.chars().count() {
        0..=3 => 1,
        4..=7 => 2,
        _ => 3,
    };
    candidates
        .into_iter()
        .filter(|candidate| *candidate != word)
        .map(|candidate| (distance(word, candidate), candidate))
        .filter(|(distance, candidate)| *distance <= most && *distance < candidate.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// The number of slips between two words; a word that lacks its last letters is one slip.
fn distance(word: &str, candidate: &str) -> usize {
    let is_broken_off =
        word.len() >= 3 && candidate.starts_with(word) && candidate.len() <= word.len() + 2;
    if is_broken_off {
        1
    } else {
        strsim::damerau_levenshtein(word, candidate)
    }
}
