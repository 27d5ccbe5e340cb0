//! The outline as a page of Markdown.
//!
//! Texts of the ruleset are escaped, so that none of them can become a heading, a link or markup.

use std::fmt::Write as _;

use super::sections::{case_section, choices_section, decision_sections, lists};
use super::{NodeKind, Outline};

/// The outline as a page: contents, readings, vocabularies, decisions in the order of evaluation
/// with their rows, choices of parts, limits, cautions, cases.
pub fn markdown(outline: &Outline) -> String {
    let mut page = String::new();
    page.line(&format!("# {}", escaped(&outline.title)));
    page.line("");
    page.line(&format!("Ruleset `{}`, on these layers:", outline.name));
    page.line("");
    for layer in outline.layers.iter().rev() {
        page.line(&format!("- `{}`: {}", layer.name, escaped(&layer.title)));
    }
    page.line("");
    page.line(&format!("Meaning `{}`  ", outline.meaning_digest));
    page.line(&format!("Text `{}`", outline.text_digest));
    page.line("");
    contents(&mut page, outline);
    lists(&mut page, outline);
    decision_sections(&mut page, outline);
    choices_section(&mut page, outline);
    super::sections::conditions(&mut page, outline);
    case_section(&mut page, outline);
    while page.ends_with("\n\n") {
        page.pop();
    }
    page
}

/// The sections with how much is in each; what is empty is left out here and below.
fn contents(page: &mut String, outline: &Outline) {
    let count = |kind| {
        outline
            .nodes
            .iter()
            .filter(|node| node.kind == kind)
            .count()
    };
    let sections = [
        ("Inputs", count(NodeKind::Input)),
        ("Vocabularies", outline.vocabularies.len()),
        ("Parts", outline.parts.len()),
        ("Groups", count(NodeKind::Group)),
        ("Lets", count(NodeKind::Let)),
        ("Decisions", count(NodeKind::Decision)),
        ("Choices of parts", count(NodeKind::Choice)),
        ("Limits", count(NodeKind::Limit)),
        ("Cautions", count(NodeKind::Caution)),
        ("Cases", outline.cases.len()),
    ];
    page.line("## Contents");
    page.line("");
    for (name, count) in sections.iter().filter(|(_, count)| *count > 0) {
        let anchor = name.to_lowercase().replace(' ', "-");
        page.line(&format!("- [{name}](#{anchor}): {count}"));
    }
    page.line("");
}

/// Lines written one after the other.
pub(super) trait Lines {
    /// Writes a line.
    fn line(&mut self, text: &str);
}

impl Lines for String {
    fn line(&mut self, text: &str) {
        // Writing to a string cannot fail.
        let _ = writeln!(self, "{text}");
    }
}

/// A text of the ruleset as plain words: what Markdown or HTML would read into it is escaped.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '&' => safe.push_str("&amp;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' | '~' => {
                safe.push('\\');
                safe.push(character);
            }
            '\n' | '\r' => safe.push(' '),
            _ => safe.push(character),
        }
    }
    safe
}

/// Words of the rules as code; a bar is escaped for the tables.
pub(super) fn code(text: &str) -> String {
    if text.is_empty() {
        return String::new();
    }
    let text = text.replace('|', "\\|");
    // A text inside an expression may hold a backtick: then two of them stand around it.
    if text.contains('`') {
        format!("`` {text} ``")
    } else {
        format!("`{text}`")
    }
}

/// A name as a link to where it is described.
pub(super) fn link(name: &str) -> String {
    format!("[`{name}`](#{name})")
}
