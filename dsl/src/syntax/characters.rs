//! Characters that a rule may not hold, and the plain ones to write instead.
//!
//! Rules are pasted from mails, web pages and spreadsheets, which turn a minus into U+2212 and a
//! space into a no-break space. Such a character is reported once, by its name, and read as its
//! plain one, so that one slip is one finding.

/// What is wrong with a character.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BadCharacter {
    /// What people call it, with its article.
    pub(super) name: &'static str,
    /// What to write instead; empty where there is nothing.
    pub(super) instead: &'static str,
    /// The byte it is read as.
    pub(super) read_as: u8,
}

const fn bad(name: &'static str, instead: &'static str, read_as: u8) -> Option<BadCharacter> {
    Some(BadCharacter {
        name,
        instead,
        read_as,
    })
}

/// What is wrong with `character` wherever it stands: texts and comments too.
pub(super) fn bad_anywhere(character: char) -> Option<BadCharacter> {
    match character {
        '\t' | '\n' => None,
        '\0' => bad("a NUL", "", b' '),
        '\r' => bad("a carriage return without a line feed", "", b' '),
        '\u{1}'..='\u{1f}' | '\u{7f}'..='\u{9f}' => bad("a control character", "", b' '),
        // They make a line look other than it reads.
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' => {
            bad("an invisible change of reading direction", "", b' ')
        }
        '\u{2028}' | '\u{2029}' => bad("a line separator", "", b' '),
        _ => None,
    }
}

/// What is wrong with `character` outside of texts and comments.
pub(super) fn bad_in_rules(character: char) -> Option<BadCharacter> {
    match character {
        ' '..='~' | '\t' => None,
        '\u{2212}' => bad("a minus sign", "-", b'-'),
        '\u{2010}' | '\u{2011}' | '\u{ad}' => bad("a typographic hyphen", "-", b'-'),
        '\u{2012}'..='\u{2015}' => bad("a dash", "-", b'-'),
        '\u{a0}' | '\u{202f}' | '\u{2007}' => bad("a no-break space", "a space", b' '),
        '\u{2000}'..='\u{200a}' | '\u{205f}' | '\u{3000}' => {
            bad("a typographic space", "a space", b' ')
        }
        '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{feff}' => {
            bad("an invisible character", "", b' ')
        }
        '\u{201c}'..='\u{201f}' | '\u{ab}' | '\u{bb}' => bad("a typographic quote", "\"", b'"'),
        '\u{2018}'..='\u{201b}' => bad("a typographic apostrophe", "", b' '),
        '\u{2032}' => bad("a prime", "ft", b' '),
        '\u{2033}' => bad("a double prime", "in", b' '),
        '\u{b0}' | '\u{ba}' => bad("a degree sign", "deg", b' '),
        '\u{d7}' | '\u{22c5}' | '\u{b7}' => bad("a multiplication sign", "*", b'*'),
        '\u{f7}' | '\u{2044}' | '\u{2215}' => bad("a division sign", "/", b'/'),
        '\u{bc}' => bad("a pasted fraction", "1/4", b' '),
        '\u{bd}' => bad("a pasted fraction", "1/2", b' '),
        '\u{be}' => bad("a pasted fraction", "3/4", b' '),
        '\u{215b}'..='\u{215e}' => bad("a pasted fraction", "a fraction such as 1/8", b' '),
        '\u{2264}' => bad("a less-or-equal sign", "up to", b' '),
        '\u{2265}' => bad("a greater-or-equal sign", "or more", b' '),
        '\u{2026}' => bad("an ellipsis", "", b' '),
        // A name with it stays one word, so that what uses it still finds it.
        _ if character.is_alphanumeric() => bad("a letter", "", b'_'),
        _ => bad("a sign", "", b' '),
    }
}

/// Whether what is left of the line can be read with the plain character in place.
pub(super) fn is_harmless(bad: BadCharacter) -> bool {
    bad.read_as != b' ' || bad.instead == "a space"
}

/// `U+2212` of `−`.
pub(super) fn code_point(character: char) -> String {
    format!("U+{:04X}", u32::from(character))
}
