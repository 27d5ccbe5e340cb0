//! The keywords and phrases of the language: one table for messages, suggestions and editors.

use super::grammar::Rule;

macro_rules! keywords {
    ($($rule:ident = $text:literal,)+) => {
        /// The text of a keyword's rule; `None` where the rule is not a keyword.
        pub(super) fn keyword_text(rule: Rule) -> Option<&'static str> {
            match rule {
                $(Rule::$rule => Some($text),)+
                _ => None,
            }
        }

        const KEYWORDS: &[&str] = &[$($text,)+];
    };
}

/// Every keyword and phrase of the language: the words first, then the phrases.
pub fn keywords() -> &'static [&'static str] {
    KEYWORDS
}

/// The words that begin a declaration in column 1.
pub fn declaration_words() -> &'static [&'static str] {
    DECLARATION_WORDS
}

/// Whether a word stands between expressions and can be no name.
pub fn is_reserved(word: &str) -> bool {
    RESERVED_WORDS.contains(&word)
}

/// Whether a text is a name, reserved words aside: a small letter, then letters, digits and `_`.
pub fn is_name(text: &str) -> bool {
    text.starts_with(|first: char| first.is_ascii_lowercase())
        && text
            .chars()
            .all(|character| character.is_ascii_alphanumeric() || character == '_')
}

/// The words that begin a declaration in column 1.
pub(super) const DECLARATION_WORDS: &[&str] = &[
    "case", "caution", "choice", "choose", "decide", "drop", "group", "input", "let", "limit",
    "model", "part", "reads", "replace", "ruleset", "scale",
];

/// The words that begin an indented line.
pub(super) const CLAUSE_WORDS: &[&str] = &[
    "about",
    "agrees",
    "answers",
    "ask",
    "at",
    "because",
    "between",
    "builds",
    "by",
    "default",
    "expect",
    "first",
    "formerly",
    "given",
    "gives",
    "has",
    "if",
    "in",
    "is",
    "kept",
    "language",
    "last",
    "needs",
    "never",
    "next",
    "only",
    "otherwise",
    "prefers",
    "private",
    "says",
    "shown",
    "source",
    "spread",
    "stands",
    "takes",
    "tested",
    "then",
    "ties",
    "title",
    "with",
];

/// The words that stand between expressions and can be no name: the rule `reserved` of the grammar.
pub(super) const RESERVED_WORDS: &[&str] = &[
    "and",
    "any",
    "at",
    "because",
    "by",
    "for",
    "gives",
    "if",
    "includes",
    "is",
    "its",
    "known",
    "moved",
    "near",
    "no",
    "none",
    "not",
    "of",
    "or",
    "otherwise",
    "over",
    "plus",
    "previous",
    "the",
    "then",
    "through",
    "to",
    "under",
    "unknown",
    "when",
    "where",
    "within",
    "yes",
];

keywords! {
    kw_about = "about",
    kw_adds = "adds",
    kw_after = "after",
    kw_and = "and",
    kw_any = "any",
    kw_as = "as",
    kw_ask = "ask",
    kw_at = "at",
    kw_because = "because",
    kw_between = "between",
    kw_by = "by",
    kw_case = "case",
    kw_caution = "caution",
    kw_choice = "choice",
    kw_choose = "choose",
    kw_decide = "decide",
    kw_default = "default",
    kw_down = "down",
    kw_every = "every",
    kw_expect = "expect",
    kw_falls = "falls",
    kw_first = "first",
    kw_formerly = "formerly",
    kw_from = "from",
    kw_given = "given",
    kw_gives = "gives",
    kw_group = "group",
    kw_has = "has",
    kw_if = "if",
    kw_includes = "includes",
    kw_input = "input",
    kw_is = "is",
    kw_its = "its",
    kw_keeps = "keeps",
    kw_language = "language",
    kw_largest = "largest",
    kw_last = "last",
    kw_let = "let",
    kw_limit = "limit",
    kw_model = "model",
    kw_moved = "moved",
    kw_moves = "moves",
    kw_near = "near",
    kw_needs = "needs",
    kw_never = "never",
    kw_next = "next",
    kw_no = "no",
    kw_none = "none",
    kw_not = "not",
    kw_of = "of",
    kw_or = "or",
    kw_orders = "orders",
    kw_otherwise = "otherwise",
    kw_over = "over",
    kw_part = "part",
    kw_plural = "plural",
    kw_plus = "plus",
    kw_prefers = "prefers",
    kw_previous = "previous",
    kw_private = "private",
    kw_reads = "reads",
    kw_replace = "replace",
    kw_rises = "rises",
    kw_rounded = "rounded",
    kw_ruleset = "ruleset",
    kw_says = "says",
    kw_scale = "scale",
    kw_smallest = "smallest",
    kw_source = "source",
    kw_spread = "spread",
    kw_takes = "takes",
    kw_tested = "tested",
    kw_then = "then",
    kw_through = "through",
    kw_title = "title",
    kw_to = "to",
    kw_together = "together",
    kw_under = "under",
    kw_unknown = "unknown",
    kw_until = "until",
    kw_up = "up",
    kw_weight = "weight",
    kw_when = "when",
    kw_where = "where",
    kw_within = "within",
    kw_yes = "yes",
    kw_agrees_on = "agrees on",
    kw_along_the_bag = "along the bag",
    kw_answers_to = "answers to",
    kw_as_many_as = "as many as",
    kw_at_least = "at least",
    kw_at_most = "at most",
    kw_builds_on = "builds on",
    kw_cannot_happen = "cannot happen",
    kw_common_practice = "common practice",
    kw_drop_case = "drop case",
    kw_filled_by_the_engine = "filled by the engine",
    kw_for_each = "for each",
    kw_given_with_the_player = "given with the player",
    kw_if_none_on_hand = "if none on hand",
    kw_if_unknown = "if unknown",
    kw_in_each_of_its = "in each of its",
    kw_in_force_from = "in force from",
    kw_in_halves = "in halves",
    kw_in_order_of = "in order of",
    kw_is_known = "is known",
    kw_is_not = "is not",
    kw_is_not_known = "is not known",
    kw_is_not_one_of = "is not one of",
    kw_is_one_of = "is one of",
    kw_kept_gives = "kept gives",
    kw_kept_within = "kept within",
    kw_leaves_open = "leaves open",
    kw_list_of = "list of",
    kw_made_by = "made by",
    kw_may_be_unknown = "may be unknown",
    kw_number_of = "number of",
    kw_of_each_piece = "of each piece",
    kw_of_strike = "of strike",
    kw_of_the = "of the",
    kw_only_when = "only when",
    kw_or_if_unknown = "or if unknown",
    kw_or_more = "or more",
    kw_or_none = "or none",
    kw_stands_on = "stands on",
    kw_shown_in = "shown in",
    kw_takes_off = "takes off",
    kw_the_larger_of = "the larger of",
    kw_the_largest = "the largest",
    kw_the_size_of = "the size of",
    kw_the_smaller_of = "the smaller of",
    kw_the_smallest = "the smallest",
    kw_the_total = "the total",
    kw_ties_by = "ties by",
    kw_to_under = "to under",
    kw_up_to = "up to",
    kw_with_stock = "with stock",
}
