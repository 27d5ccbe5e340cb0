//! The TextMate grammar: how an editor colours rules, from the same tables that read them.
//!
//! It knows no more than words: what a name stands for is the editor service's to say.

use super::keyword::{DECLARATION_WORDS, RESERVED_WORDS, keywords};
use crate::quantity::UNITS;

/// The grammar as JSON, ending with a line end.
pub fn text_mate_grammar() -> String {
    let declarations = either(DECLARATION_WORDS);
    let phrases = either(&longest_first(keywords()));
    let reserved = either(&longest_first(RESERVED_WORDS));
    let symbols: Vec<&str> = UNITS.iter().map(|unit| unit.symbol).collect();
    let units = either(&longest_first(&symbols));
    let rules = [
        rule("comment.line.number-sign", "#.*$"),
        text_rule(),
        rule("constant.numeric.date", r"\b\d{4}-\d{2}-\d{2}\b"),
        captured(
            &format!(r"^(?:(replace|drop)\s+)?({declarations})\b(?:\s+([a-z]\w*))?"),
            &["keyword.control", "keyword.control", "entity.name.function"],
        ),
        captured(
            r"^\s+(let|has)\s+([a-z]\w*)",
            &["keyword.other", "variable.other"],
        ),
        captured(
            r"(?<!\w)(:)\s+((?:list of )?[a-z]\w*)",
            &["punctuation.separator", "entity.name.type"],
        ),
        captured(
            &format!(
                r"(?<![\w.])(\d+(?:\.\d+)?(?:\s+\d+/\d+|/\d+)?)(?:\s?((?:{units})(?:[*/](?:{units}))*))?(?!\w)"
            ),
            &["constant.numeric", "support.constant.unit"],
        ),
        rule(
            "constant.language",
            r"(?<![\w.])(?:yes|no|none|unknown|any)(?!\w)",
        ),
        rule(
            "keyword.other",
            &format!(r"(?<![\w.])(?:{phrases}|{reserved})(?!\w)"),
        ),
        rule("keyword.operator", r"\s[-+*/=<]\s"),
        rule("variable.other", r"(?<!\w)[a-z]\w*"),
    ];
    format!(
        "{{\n  \"name\": \"Loftwright rules\",\n  \"scopeName\": \"source.loftwright\",\n  \
         \"fileTypes\": [\"rules\"],\n  \"patterns\": [\n{}\n  ]\n}}\n",
        rules.join(",\n")
    )
}

/// A text with its escapes and the values in its braces.
fn text_rule() -> String {
    let inside = [
        rule("constant.character.escape", r#"\\["\\]"#),
        rule("variable.other", r"\{[^}]*\}"),
    ];
    format!(
        "    {{ \"name\": \"string.quoted.double\", \"begin\": \"\\\"\", \"end\": \"\\\"|$\", \
         \"patterns\": [\n  {}\n    ] }}",
        inside.join(",\n  ")
    )
}

fn rule(scope: &str, pattern: &str) -> String {
    let (scope, pattern) = (quoted(&format!("{scope}.loftwright")), quoted(pattern));
    format!("    {{ \"name\": {scope}, \"match\": {pattern} }}")
}

/// A rule whose groups have a scope each.
fn captured(pattern: &str, scopes: &[&str]) -> String {
    let captures: Vec<String> = scopes
        .iter()
        .zip(1_usize..)
        .map(|(scope, group)| {
            let scope = quoted(&format!("{scope}.loftwright"));
            format!("\"{group}\": {{ \"name\": {scope} }}")
        })
        .collect();
    let (pattern, captures) = (quoted(pattern), captures.join(", "));
    format!("    {{ \"match\": {pattern}, \"captures\": {{ {captures} }} }}")
}

/// Words as alternatives of a pattern; blanks in a phrase may be several.
fn either(words: &[&str]) -> String {
    let words: Vec<String> = words
        .iter()
        .map(|word| word.replace('*', r"\*").replace(' ', r"\s+"))
        .collect();
    words.join("|")
}

/// A pattern takes the first alternative that fits, so the longest stand first.
fn longest_first<'a>(words: &[&'a str]) -> Vec<&'a str> {
    let mut words = words.to_vec();
    words.sort_by_key(|word| (std::cmp::Reverse(word.len()), *word));
    words
}

/// A text as JSON writes it; the patterns hold no control characters.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', r"\\").replace('"', "\\\""))
}
