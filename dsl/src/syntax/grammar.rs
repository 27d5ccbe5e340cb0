//! The parser that pest derives from `rules.pest`.

/// Reads one line by one rule of `rules.pest`.
#[derive(pest_derive::Parser)]
#[grammar = "syntax/rules.pest"]
pub(crate) struct Grammar;

#[cfg(test)]
mod tests {
    use pest::Parser;

    use super::{Grammar, Rule};
    use crate::quantity::UNITS;
    use crate::syntax::keyword::{RESERVED_WORDS, keyword_text, keywords};

    #[test]
    fn every_unit_is_read_after_a_number() {
        for unit in UNITS {
            for text in [
                format!("12 {}", unit.symbol),
                format!("1/4 {}", unit.symbol),
                format!("35 1/4 {}", unit.symbol),
            ] {
                let node = Grammar::parse(Rule::quantity, &text)
                    .unwrap_or_else(|error| panic!("{text}: {error}"))
                    .next()
                    .expect("one node");
                assert_eq!(node.as_str(), text);
                let read = node
                    .into_inner()
                    .find(|part| part.as_rule() == Rule::unit)
                    .unwrap_or_else(|| panic!("{text}: no unit"));
                assert_eq!(read.as_str(), unit.symbol);
            }
            let line = format!("shown in {}, to 1/4", unit.symbol);
            assert!(Grammar::parse(Rule::shown_in_line, &line).is_ok(), "{line}");
        }
    }

    #[test]
    fn units_are_free_as_names() {
        for unit in UNITS.iter().filter(|unit| !unit.symbol.contains('/')) {
            if unit
                .symbol
                .starts_with(|first: char| first.is_ascii_lowercase())
            {
                let line = format!("let {0} = {0} + 1 {0}", unit.symbol);
                assert!(Grammar::parse(Rule::let_value, &line).is_ok(), "{line}");
            }
        }
    }

    #[test]
    fn every_keyword_is_in_the_table_with_the_text_that_it_reads() {
        let mut listed = 0;
        for rule in Rule::all_rules() {
            let is_keyword = format!("{rule:?}").starts_with("kw_");
            assert_eq!(is_keyword, keyword_text(*rule).is_some(), "{rule:?}");
            if let Some(text) = keyword_text(*rule) {
                listed += 1;
                assert!(Grammar::parse(*rule, text).is_ok(), "{text}");
                assert!(
                    Grammar::parse(*rule, &format!("{text}_x")).is_err(),
                    "{text}_x"
                );
            }
        }
        assert_eq!(listed, keywords().len());
    }

    #[test]
    fn reserved_words_are_no_names_and_others_are() {
        for word in RESERVED_WORDS {
            assert!(Grammar::parse(Rule::name, word).is_err(), "{word}");
            assert!(
                Grammar::parse(Rule::name, &format!("{word}_x")).is_ok(),
                "{word}_x"
            );
        }
        let words = keywords().iter().filter(|word| !word.contains(' '));
        for word in words.filter(|word| !RESERVED_WORDS.contains(word)) {
            assert!(Grammar::parse(Rule::name, word).is_ok(), "{word}");
        }
    }
}
