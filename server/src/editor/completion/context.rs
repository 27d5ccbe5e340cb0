//! What is wanted at the cursor, from the words before it.

/// What may stand at the cursor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    /// Nothing is known that may.
    Nothing,
    /// The word that begins a declaration.
    Declaration,
    /// A name of a layer below, after `replace KIND`.
    Replaced(String),
    /// The word that begins an indented line, or the first condition of a row.
    Clause,
    /// A type after `:`.
    Type,
    /// A unit after a number.
    Unit,
    /// A group.
    Group,
    /// The plural of a part.
    Plural,
    /// A ruleset to build on.
    Ruleset,
    /// A reading after `given`.
    Given,
    /// What follows `expect`.
    Expected,
    /// A value of a name: after `given NAME =`, `expect NAME =`.
    ValueOf(String),
    /// A work of the bench: after `at`.
    Work,
    /// A field after `NAME.`.
    Member(String),
    /// A value of the type of a subject: after `X is`.
    Compared(String),
    /// What a decision gives.
    Result,
    /// A condition on a column, whose text is known where there is a `by` line.
    Cell(Option<String>),
    /// The candidate's side of a `needs` or `prefers` line.
    Subject,
    /// Any value.
    Expression,
}

/// The cursor's surroundings.
#[derive(Clone, Debug)]
pub(super) struct Context<'a> {
    /// The lines of the declaration before the cursor's line, its header first.
    pub(super) lines_above: Vec<&'a str>,
    /// What stands on the line before the word at the cursor.
    pub(super) before: &'a str,
    /// What is wanted.
    pub(super) wanted: Wanted,
}

impl<'a> Context<'a> {
    /// What the text before the cursor comes to.
    pub(super) fn of(text: &'a str) -> Self {
        let line_start = text.rfind('\n').map_or(0, |end| end + 1);
        let (above, line) = text.split_at_checked(line_start).unwrap_or(("", text));
        let is_in_word = |character: char| character.is_ascii_alphanumeric() || character == '_';
        let before = line.trim_end_matches(is_in_word);
        let is_indented = line.starts_with([' ', '\t']);
        let lines_above = if is_indented {
            lines_of_declaration(above)
        } else {
            Vec::new()
        };
        let mut context = Context {
            lines_above,
            before,
            wanted: Wanted::Nothing,
        };
        context.wanted = context.wanted(is_indented);
        context
    }

    /// The word that the declaration begins with, `replace` aside.
    pub(super) fn kind(&self) -> &'a str {
        let header = self.lines_above.first().copied();
        words(header.unwrap_or(self.before))
            .find(|word| *word != "replace")
            .unwrap_or_default()
    }

    fn wanted(&self, is_indented: bool) -> Wanted {
        if is_in_comment(self.before) {
            return Wanted::Nothing;
        }
        if is_in_text(self.before) {
            let mark = self
                .before
                .chars()
                .rev()
                .find(|mark| "{}\"".contains(*mark));
            return match mark {
                Some('{') => Wanted::Expression,
                _ => Wanted::Nothing,
            };
        }
        if let Some(owner) = self.before.strip_suffix('.') {
            return Wanted::Member(last_name(owner).to_owned());
        }
        if is_indented {
            self.wanted_in_clause()
        } else {
            self.wanted_in_header()
        }
    }

    fn wanted_in_header(&self) -> Wanted {
        let before = self.before.trim_end();
        let mut words = words(before);
        match (words.next(), words.next(), words.next()) {
            (None, ..) | (Some("replace"), None, _) => return Wanted::Declaration,
            (Some("replace"), Some(kind), None) => return Wanted::Replaced(kind.to_owned()),
            // A new name follows.
            (Some(_), None, _) => return Wanted::Nothing,
            _ => {}
        }
        match (self.kind(), ends_with(before, ":")) {
            ("limit" | "caution", true) => Wanted::Expression,
            (_, true) => Wanted::Type,
            _ => self.value(),
        }
    }

    fn wanted_in_clause(&self) -> Wanted {
        let before = self.before.trim();
        let mut words = words(before);
        let first = words.next().unwrap_or_default();
        match (first, words.next()) {
            ("", _) => return Wanted::Clause,
            ("given", None) => return Wanted::Given,
            ("expect", None) => return Wanted::Expected,
            ("given" | "expect", Some(name)) if before.contains('=') => {
                return self.unit_or(Wanted::ValueOf(name.to_owned()));
            }
            ("needs" | "prefers" | "ties" | "agrees", rest) => {
                let is_first = rest.is_none_or(|word| matches!(word, "by" | "on"))
                    || ends_with_word(before, &["and", "or", "not", "then"]);
                if is_first && words.next().is_none() {
                    return Wanted::Subject;
                }
            }
            ("between" | "spread" | "default" | "answers", _) => {
                return self.unit_or(Wanted::ValueOf(self.declared_name()));
            }
            ("at", _) if self.kind() == "caution" => return Wanted::Work,
            ("has", Some(_)) if ends_with(before, ":") => return Wanted::Type,
            ("builds", Some("on")) => return Wanted::Ruleset,
            ("shown", Some("in")) => return Wanted::Unit,
            ("about" | "ask" | "says" | "source" | "title" | "because", _) => {
                return Wanted::Nothing;
            }
            _ => {}
        }
        if self.kind() == "decide" && !has_word(before, "gives") && self.table().is_some() {
            let is_header = matches!(first, "by" | "then" | "next" | "first" | "last" | "kept");
            if !is_header && first != "only" && first != "never" {
                let column = self.column(before);
                return self.unit_or(Wanted::Cell(column));
            }
        }
        self.value()
    }

    /// A value, as far as the words before it tell which.
    fn value(&self) -> Wanted {
        let before = self.before.trim();
        if ends_with_word(before, &["each"]) {
            return Wanted::Group;
        }
        if ends_with_word(before, &["from"]) && self.kind() == "choose" {
            return Wanted::Plural;
        }
        if ends_with_word(before, &["gives", "adds"]) {
            return Wanted::Result;
        }
        if let Some(subject) = subject_of_is(before) {
            return Wanted::Compared(subject.to_owned());
        }
        self.unit_or(Wanted::Expression)
    }

    /// A unit where a number stands before the cursor.
    fn unit_or(&self, otherwise: Wanted) -> Wanted {
        let last = words(self.before).last().unwrap_or_default();
        let is_number = last.ends_with(|last: char| last.is_ascii_digit())
            && last.starts_with(|first: char| first.is_ascii_digit() || first == '-');
        if is_number && self.before.ends_with([' ', '\t']) {
            Wanted::Unit
        } else {
            otherwise
        }
    }

    /// The name in the header.
    pub(super) fn declared_name(&self) -> String {
        let header = self.lines_above.first().copied().unwrap_or(self.before);
        let mut words = words(header).skip_while(|word| *word == "replace");
        words.nth(1).unwrap_or_default().to_owned()
    }

    /// The columns of the table that the line is a row of.
    fn table(&self) -> Option<Vec<&'a str>> {
        let lines = self.lines_above.iter().rev();
        let by = lines.copied().find_map(|line| {
            let line = line.trim();
            let starts = ["by ", "then by ", "next by "];
            starts
                .into_iter()
                .find_map(|start| line.strip_prefix(start))
        })?;
        let columns = by.split(',').next().unwrap_or(by);
        Some(columns.split(" and ").map(str::trim).collect())
    }

    /// The first column of the table above.
    pub(super) fn first_column(&self) -> Option<String> {
        self.column("")
    }

    /// The column that the condition at the cursor asks of, where the line is a row.
    pub(super) fn column_at_hand(&self) -> Option<String> {
        let before = self.before.trim();
        (self.kind() == "decide" && !has_word(before, "gives"))
            .then(|| self.column(before))
            .flatten()
    }

    fn column(&self, before: &str) -> Option<String> {
        let place = words(before).filter(|word| *word == "and").count();
        let columns = self.table()?;
        columns.get(place).map(|column| (*column).to_owned())
    }
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split([' ', '\t', ',', '(', ')'])
        .filter(|word| !word.is_empty())
}

fn has_word(text: &str, word: &str) -> bool {
    words(text).any(|found| found == word)
}

fn ends_with_word(text: &str, wanted: &[&str]) -> bool {
    words(text)
        .last()
        .is_some_and(|last| wanted.contains(&last))
}

fn ends_with(text: &str, end: &str) -> bool {
    text.trim_end().ends_with(end)
}

/// The last name of a text that ends with one.
fn last_name(text: &str) -> &str {
    let is_in_name = |character: char| character.is_ascii_alphanumeric() || character == '_';
    let before = text.trim_end_matches(is_in_name);
    text.get(before.len()..).unwrap_or_default()
}

/// What stands before `is`, `is not`, `is one of a,`: the subject's last word.
fn subject_of_is(before: &str) -> Option<&str> {
    let words: Vec<&str> = words(before).collect();
    let is = words.iter().rposition(|word| *word == "is")?;
    let after = words.get(is + 1..)?;
    let is_list = matches!(after, ["one", "of", ..] | ["not", "one", "of", ..]);
    let is_open = matches!(after, [] | ["not"]) || is_list && before.ends_with([',', 'f']);
    if !is_open {
        return None;
    }
    words.get(is.checked_sub(1)?).copied()
}

fn is_in_text(line: &str) -> bool {
    line.matches('"').count() % 2 == 1
}

fn is_in_comment(line: &str) -> bool {
    line.match_indices('#')
        .any(|(place, _)| !is_in_text(line.get(..place).unwrap_or_default()))
}

/// The lines from the last one that begins in column 1.
fn lines_of_declaration(above: &str) -> Vec<&str> {
    let mut lines: Vec<&str> = Vec::new();
    for line in above.lines().rev() {
        lines.push(line);
        let is_header = line.starts_with(|first: char| first.is_ascii_lowercase());
        if is_header {
            break;
        }
    }
    lines.reverse();
    lines
}

#[cfg(test)]
mod tests {
    use super::{Context, Wanted};

    #[track_caller]
    fn expect(text: &str, wanted: Wanted) {
        assert_eq!(Context::of(text).wanted, wanted, "{text:?}");
    }

    #[test]
    fn a_line_begins_with_a_word_of_the_language() {
        expect("", Wanted::Declaration);
        expect("inp", Wanted::Declaration);
        expect("input a : angle\n  ", Wanted::Clause);
        expect("input a : angle\n  sp", Wanted::Clause);
        expect("replace decide ", Wanted::Replaced("decide".to_owned()));
        expect("input ", Wanted::Nothing);
    }

    #[test]
    fn types_and_units_stand_where_they_stand() {
        expect("input a : ", Wanted::Type);
        expect("part a\n  has loft : an", Wanted::Type);
        expect("input a : angle\n  between -20 ", Wanted::Unit);
        expect("input a : angle\n  between -20 deg and 10 d", Wanted::Unit);
        expect("limit a : ", Wanted::Expression);
    }

    #[test]
    fn a_row_asks_of_its_column() {
        let table = "decide a : b\n  by turf and steepness\n    ";
        let cell = |column: &str| Wanted::Cell(Some(column.to_owned()));
        expect(&format!("{table}soft or "), cell("turf"));
        expect(&format!("{table}soft and under "), cell("steepness"));
        expect(&format!("{table}soft and under 5 "), Wanted::Unit);
        expect(&format!("{table}soft and any gives "), Wanted::Result);
    }

    #[test]
    fn values_follow_what_they_are_values_of() {
        expect(
            "case \"a\"\n  given turf = ",
            Wanted::ValueOf("turf".to_owned()),
        );
        expect("case \"a\"\n  given ", Wanted::Given);
        expect("let a = turf is ", Wanted::Compared("turf".to_owned()));
        expect(
            "let a = turf is one of firm, ",
            Wanted::Compared("turf".to_owned()),
        );
        expect("let a = turf is firm and ", Wanted::Expression);
        expect("let a = iron.", Wanted::Member("iron".to_owned()));
    }

    #[test]
    fn nothing_is_offered_inside_texts_and_comments() {
        expect("input a : angle\n  ask \"How ", Wanted::Nothing);
        expect("let a = 1 # and ", Wanted::Nothing);
        expect("caution a : b\n  says \"{", Wanted::Expression);
    }

    #[test]
    fn a_caution_stands_at_a_work() {
        expect("caution a : b\n  at ", Wanted::Work);
        expect("caution a : b\n  at cutting, ", Wanted::Work);
    }
}
