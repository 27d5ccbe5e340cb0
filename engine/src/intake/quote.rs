//! Texts of other people inside our sentences: short, and harmless to a terminal.

use std::fmt::Write;

/// The most characters of a sent text that a sentence repeats.
const MOST_QUOTED_CHARACTERS: usize = 80;

/// The text, shortened with `…` where it is long, control and other invisible characters written
/// out.
pub(super) fn shortened(text: &str) -> String {
    let mut short = String::new();
    for (place, character) in text.chars().enumerate() {
        if place == MOST_QUOTED_CHARACTERS {
            short.push('…');
            break;
        }
        if is_invisible(character) {
            // Writing to a string cannot fail.
            let _ = write!(short, "\\u{{{:x}}}", u32::from(character));
        } else {
            short.push(character);
        }
    }
    short
}

/// The text in backticks, shortened, invisible characters written out.
pub fn quoted(text: &str) -> String {
    format!("`{}`", shortened(text))
}

/// `an angle`, `a length`.
pub(super) fn with_article(noun: &str) -> String {
    let article = match noun.chars().next() {
        Some('a' | 'e' | 'i' | 'o' | 'u') => "an",
        _ => "a",
    };
    format!("{article} {noun}")
}

fn is_invisible(character: char) -> bool {
    let changes_direction = matches!(
        character,
        '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}'
    );
    character.is_control() || changes_direction
}
