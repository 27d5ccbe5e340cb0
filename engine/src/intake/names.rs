//! The nearest right name: `did you mean …?`.

use super::quote::quoted;

/// The longest name that is compared, in characters: a bound on the work.
const LONGEST_NAME_CHARACTERS: usize = 64;

/// The known name nearest to `sent` (upper and lower case are alike), if it is near enough to be a
/// slip of the hand: one edit in three characters. Of equals, the first.
pub fn nearest<'a>(sent: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let sent_length = sent.chars().count();
    if sent_length == 0 || sent_length > LONGEST_NAME_CHARACTERS {
        return None;
    }
    let lower = sent.to_lowercase();
    known
        .into_iter()
        .filter(|name| name.len() <= LONGEST_NAME_CHARACTERS)
        .filter_map(|name| {
            let edits = strsim::damerau_levenshtein(&lower, &name.to_lowercase());
            let most_edits = (sent_length.min(name.chars().count()) / 3).max(1);
            (edits <= most_edits && edits < name.chars().count()).then_some((edits, name))
        })
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, name)| name)
}

/// `; did you mean `x`?`, or nothing.
pub(super) fn did_you_mean(name: Option<&str>) -> String {
    name.map_or_else(String::new, |name| {
        format!("; did you mean {}?", quoted(name))
    })
}

/// The names as a list in backticks, at most 20 of them: `` `low`, `standard` ``.
pub(super) fn listed<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    const MOST_LISTED: usize = 20;
    let names: Vec<_> = names.into_iter().collect();
    let mut list = names
        .iter()
        .take(MOST_LISTED)
        .map(|name| quoted(name))
        .collect::<Vec<_>>()
        .join(", ");
    let rest = names.len().saturating_sub(MOST_LISTED);
    if rest > 0 {
        list.push_str(&format!(" and {rest} more"));
    }
    list
}
