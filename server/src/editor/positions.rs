//! Places in a text as editors count them: lines and columns, in UTF-16 unless UTF-8 is agreed on.

use std::borrow::Cow;

use lsp_types::{Position, PositionEncodingKind, Range};

/// How columns are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(super) enum Encoding {
    /// In bytes.
    Utf8,
    /// In units of UTF-16, which every client knows.
    #[default]
    Utf16,
}

impl Encoding {
    /// UTF-8 where the client offers it.
    pub(super) fn agreed(offered: Option<&[PositionEncodingKind]>) -> Self {
        let offers_utf8 = offered
            .unwrap_or_default()
            .contains(&PositionEncodingKind::UTF8);
        if offers_utf8 {
            Encoding::Utf8
        } else {
            Encoding::Utf16
        }
    }

    /// As the protocol names it.
    pub(super) fn kind(self) -> PositionEncodingKind {
        match self {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
        }
    }

    fn width(self, character: char) -> usize {
        match self {
            Encoding::Utf8 => character.len_utf8(),
            Encoding::Utf16 => character.len_utf16(),
        }
    }
}

/// The lines of a text; a line ends with `\n`, `\r\n` or `\r`, as the protocol has it.
#[derive(Clone, Debug)]
pub(super) struct Lines<'a> {
    text: &'a str,
    starts: Cow<'a, [usize]>,
    encoding: Encoding,
}

/// The byte with which each line of a text begins.
pub(super) fn line_starts(text: &str) -> Vec<usize> {
    let mut starts = vec![0];
    let bytes = text.as_bytes();
    for (place, byte) in bytes.iter().enumerate() {
        let is_end = match byte {
            b'\n' => true,
            b'\r' => bytes.get(place + 1) != Some(&b'\n'),
            _ => false,
        };
        if is_end {
            starts.push(place + 1);
        }
    }
    starts
}

impl<'a> Lines<'a> {
    /// The lines of a text.
    pub(super) fn new(text: &'a str, encoding: Encoding) -> Self {
        Lines {
            text,
            starts: Cow::Owned(line_starts(text)),
            encoding,
        }
    }

    /// The lines of a text whose [`line_starts`] are known.
    pub(super) fn known(text: &'a str, starts: &'a [usize], encoding: Encoding) -> Self {
        Lines {
            text,
            starts: Cow::Borrowed(starts),
            encoding,
        }
    }

    /// The line and column of a byte. One past the end is the end.
    pub(super) fn position(&self, offset: usize) -> Position {
        let line = self.starts.partition_point(|start| *start <= offset);
        let line = line.saturating_sub(1);
        let start = self.starts.get(line).copied().unwrap_or_default();
        let before = self.text.get(start..offset);
        let before = before.unwrap_or_else(|| self.text.get(start..).unwrap_or_default());
        let column: usize = before
            .chars()
            .map(|character| self.encoding.width(character))
            .sum();
        Position::new(number(line), number(column))
    }

    /// The range of bytes as lines and columns.
    pub(super) fn range(&self, start: usize, end: usize) -> Range {
        Range::new(self.position(start), self.position(end))
    }

    /// The byte of a line and column. A column past the line's end is its end, a line past the last
    /// is the text's end; a column inside a character is its start.
    pub(super) fn offset(&self, position: Position) -> usize {
        let line = usize::try_from(position.line).unwrap_or(usize::MAX);
        let Some(start) = self.starts.get(line).copied() else {
            return self.text.len();
        };
        let mut left = usize::try_from(position.character).unwrap_or(usize::MAX);
        let rest = self.text.get(start..).unwrap_or_default();
        for (place, character) in rest.char_indices() {
            let width = self.encoding.width(character);
            if matches!(character, '\n' | '\r') || left < width {
                return start + place;
            }
            left -= width;
        }
        self.text.len()
    }
}

fn number(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::{Encoding, Lines};
    use lsp_types::Position;

    // `ö` is two bytes and one unit of UTF-16; the golfer (U+1F3CC) four bytes and two units.
    const TEXT: &str = "one\r\nö🏌x\rlast";

    #[test]
    fn columns_are_counted_in_what_is_agreed_on() {
        let place = TEXT.find('x').unwrap();
        let utf16 = Lines::new(TEXT, Encoding::Utf16);
        let utf8 = Lines::new(TEXT, Encoding::Utf8);
        assert_eq!(utf16.position(place), Position::new(1, 3));
        assert_eq!(utf8.position(place), Position::new(1, 6));
        assert_eq!(utf16.offset(Position::new(1, 3)), place);
        assert_eq!(utf8.offset(Position::new(1, 6)), place);
    }

    #[test]
    fn every_place_comes_back_to_itself() {
        for encoding in [Encoding::Utf8, Encoding::Utf16] {
            let lines = Lines::new(TEXT, encoding);
            for (place, _) in TEXT.char_indices() {
                // Between `\r` and `\n` there is no place of its own.
                if place != 4 {
                    assert_eq!(lines.offset(lines.position(place)), place);
                }
            }
        }
    }

    #[test]
    fn what_lies_outside_is_brought_in() {
        let lines = Lines::new(TEXT, Encoding::Utf16);
        assert_eq!(lines.offset(Position::new(0, 99)), 3);
        assert_eq!(lines.offset(Position::new(99, 0)), TEXT.len());
        // The second unit of the golfer is the golfer.
        assert_eq!(lines.offset(Position::new(1, 2)), TEXT.find('🏌').unwrap());
        assert_eq!(lines.position(1_000), Position::new(2, 4));
    }
}
