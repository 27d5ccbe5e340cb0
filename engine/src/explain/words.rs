//! Small words: lists, counted moves, numbers of things.

/// `a`, `a and b`, `a, b and c`; empty for no item.
pub(crate) fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `up 1`, `down 1/2`, `up 1 1/2`, or `by nothing`.
pub(crate) fn moved_by(half_steps: i32) -> String {
    let direction = match half_steps {
        0 => return "by nothing".to_owned(),
        1.. => "up",
        _ => "down",
    };
    let size = half_steps.unsigned_abs();
    match (size / 2, size % 2) {
        (0, _) => format!("{direction} 1/2"),
        (whole, 0) => format!("{direction} {whole}"),
        (whole, _) => format!("{direction} {whole} 1/2"),
    }
}

/// A name as it stands in a sentence: in backticks.
pub(crate) fn quoted(name: &str) -> String {
    format!("`{name}`")
}

/// The clause with its opening words, whether or not the text as written has them.
pub(crate) fn clause(opening: &str, text: &str) -> String {
    if text.starts_with(opening) {
        text.to_owned()
    } else {
        format!("{opening} {text}")
    }
}

#[cfg(test)]
mod tests {
    use super::{clause, listed, moved_by};

    #[test]
    fn lists_read_as_a_person_writes_them() {
        let items = |count: usize| -> Vec<String> {
            ["a", "b", "c"]
                .iter()
                .take(count)
                .map(ToString::to_string)
                .collect()
        };
        assert_eq!(listed(&items(0)), "");
        assert_eq!(listed(&items(1)), "a");
        assert_eq!(listed(&items(2)), "a and b");
        assert_eq!(listed(&items(3)), "a, b and c");
    }

    #[test]
    fn moves_are_told_in_whole_and_half_steps() {
        assert_eq!(moved_by(2), "up 1");
        assert_eq!(moved_by(-1), "down 1/2");
        assert_eq!(moved_by(3), "up 1 1/2");
        assert_eq!(moved_by(0), "by nothing");
    }

    #[test]
    fn a_clause_has_its_opening_once() {
        assert_eq!(clause("gives", "previous"), "gives previous");
        assert_eq!(clause("gives", "gives previous"), "gives previous");
    }
}
