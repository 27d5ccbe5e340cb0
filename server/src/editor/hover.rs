//! What is said of the name under the pointer: of its declaration, never of a player.

use loftwright_dsl::index::{Description, Kind};
use lsp_types::{Hover, HoverContents, MarkupContent, MarkupKind};

use super::session::Place;

/// The most lines that are quoted of a declaration that no file on disk holds.
const MOST_LINES_QUOTED: usize = 30;

/// The hover of the name at a place.
pub(super) fn hover(place: &Place<'_>) -> Option<Hover> {
    let index = &place.checked.index;
    let found = index.name_at(place.file, place.offset)?;
    let declaration = &index.declarations[found.target];
    let described = index.describe(found.target);
    let is_private = index.is_private(found.target);
    // Where an editor cannot go to the declaration, it stands here.
    let is_out_of_reach = place.checked.on_disk(declaration.span.file).is_none();
    let quoted = if is_out_of_reach && declaration.owner.is_none() {
        let whole = declaration.whole;
        let text = index.folder[whole.file].text.get(whole.start..whole.end);
        let lines = text.unwrap_or_default().lines().take(MOST_LINES_QUOTED);
        lines.collect::<Vec<_>>().join("\n")
    } else {
        described.signature.clone()
    };
    Some(Hover {
        contents: HoverContents::Markup(MarkupContent {
            kind: MarkupKind::Markdown,
            value: markdown(&described, declaration.kind, &quoted, is_private),
        }),
        range: Some(place.checked.range(found.span)),
    })
}

fn markdown(described: &Description, kind: Kind, quoted: &str, is_private: bool) -> String {
    let mut paragraphs = vec![format!("```loftwright\n{quoted}\n```")];
    let texts = [&described.about, &described.ask];
    paragraphs.extend(texts.into_iter().flatten().map(|text| escaped(text)));
    let mut facts = vec![kind.word().to_owned()];
    if let Some(type_name) = &described.type_name {
        facts.push(format!("type `{type_name}`"));
    }
    if let Some(unit) = &described.unit {
        facts.push(format!("shown in `{unit}`"));
    }
    if let Some(range) = &described.range {
        facts.push(format!("between {range}"));
    }
    if is_private {
        facts.push("private".to_owned());
    }
    paragraphs.push(facts.join(", "));
    if let Some(source) = &described.source {
        paragraphs.push(format!("Source: {}", escaped(source)));
    }
    paragraphs.push(layer(described));
    paragraphs.extend(rests_on_it(described));
    paragraphs.join("\n\n")
}

fn layer(described: &Description) -> String {
    let mut text = format!("Layer: `{}`", described.layer);
    if let Some(below) = &described.replaces {
        text.push_str(&format!(", replaces that of `{below}`"));
    }
    if let Some(above) = &described.replaced_by {
        text.push_str(&format!(", replaced by `{above}`"));
    }
    if let Some(digits) = &described.stands_on {
        text.push_str(&format!("; a replacement stands on `\"{digits}\"`"));
    }
    text
}

fn rests_on_it(described: &Description) -> Vec<String> {
    let mut texts = Vec::new();
    if !described.decides.is_empty() {
        let names: Vec<String> = described
            .decides
            .iter()
            .map(|name| format!("`{name}`"))
            .collect();
        texts.push(format!("Used by {}", names.join(", ")));
    }
    match described.cases {
        0 => {}
        1 => texts.push("In 1 case".to_owned()),
        cases => texts.push(format!("In {cases} cases")),
    }
    if described.is_read_by_the_engine {
        texts.push("The engine reads it.".to_owned());
    }
    texts
}

/// A text without what Markdown would take for its own.
fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for character in text.chars() {
        if "\\`*_{}[]<>#|".contains(character) {
            escaped.push('\\');
        }
        escaped.push(character);
    }
    escaped
}
