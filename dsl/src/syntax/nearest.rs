//! The nearest of the words that would have been right: "did you mean …?".

/// The candidate nearest to `word`, if it is near enough to be a slip of the hand.
pub(super) fn nearest<'a>(
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
        .map(|candidate| (strsim::damerau_levenshtein(word, candidate), candidate))
        .filter(|(distance, candidate)| *distance <= most && *distance < candidate.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}
