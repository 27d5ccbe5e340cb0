//! The same rules laid out otherwise: declarations in another order and other files, comments,
//! blank lines, wider gaps, other line ends.

use loftwright_dsl::check::LayerSource;

use crate::generator::Random;

/// A file cut into its declarations: what begins in column 1, with the indented lines below it.
pub fn declarations(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in text.lines() {
        let continues = line.is_empty() || line.starts_with([' ', '#']);
        match found.last_mut() {
            Some(last) if continues => {
                last.push_str(line);
                last.push('\n');
            }
            _ => found.push(format!("{line}\n")),
        }
    }
    found
}

/// The declarations of a layer in another order, in other files, with other comments.
pub fn shuffled(layer: &LayerSource, random: &mut Random) -> LayerSource {
    let mut all: Vec<String> = layer
        .files
        .iter()
        .flat_map(|(_, text)| declarations(text))
        .collect();
    for place in (1..all.len()).rev() {
        all.swap(place, random.below(place + 1));
    }
    let size = *random.one_of(&[1, 7, 40]);
    let files = all.chunks(size).enumerate().map(|(number, chunk)| {
        let name = format!("shuffled-{number:03}.rules");
        let text = chunk.join("\n# between\n\n");
        (name, format!("# Put elsewhere.\n\n{text}"))
    });
    LayerSource {
        name: layer.name.clone(),
        files: files.collect(),
    }
}

/// The lines of a layer with comments and blank lines between them, wider gaps within them, and
/// other line ends.
pub fn spaced(layer: &LayerSource, random: &mut Random) -> LayerSource {
    let ends = *random.one_of(&["\n", "\r\n"]);
    let file = |(name, text): &(String, String)| {
        let mut spaced = String::new();
        for line in text.lines() {
            spaced.push_str(&widened(line, random));
            if !line.contains('#') && !line.is_empty() && random.chance(10) {
                spaced.push_str("   # A note at the end.");
            }
            spaced.push_str(ends);
            match random.below(12) {
                0 => spaced.push_str(ends),
                1 => spaced.push_str(&format!("      # A note, indented.{ends}")),
                2 => spaced.push_str(&format!("# A note in column 1.{ends}{ends}")),
                _ => {}
            }
        }
        (name.clone(), spaced)
    };
    LayerSource {
        name: layer.name.clone(),
        files: layer.files.iter().map(file).collect(),
    }
}

/// Gaps between words made wider; what stands in quotes or behind `#` stays as it is, and so does
/// a gap beside a number: `35 1/4 in` has just one.
fn widened(line: &str, random: &mut Random) -> String {
    let mut widened = String::new();
    let mut is_quoted = false;
    let mut is_comment = false;
    let characters: Vec<char> = line.chars().collect();
    for (place, character) in characters.iter().enumerate() {
        widened.push(*character);
        is_comment |= *character == '#' && !is_quoted;
        if *character == '"' && (place == 0 || characters[place - 1] != '\\') {
            is_quoted = !is_quoted;
        }
        let is_gap = *character == ' ' && !is_quoted && !is_comment;
        let beside = [place.checked_sub(1), Some(place + 1)];
        let is_beside_a_digit = beside
            .into_iter()
            .flatten()
            .filter_map(|place| characters.get(place))
            .any(char::is_ascii_digit);
        if is_gap && !is_beside_a_digit && random.chance(20) {
            widened.push_str("  ");
        }
    }
    widened
}
