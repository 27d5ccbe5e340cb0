//! The cells of CSV (RFC 4180) with where each of them stands.
//!
//! The library splits and unquotes; where a cell stands is what it has read of the text so far. It
//! reads anything, so what the RFC does not allow (a quote that never ends, text behind a quote) is
//! looked for here.

use std::ops::Range;

use csv_core::{ReadFieldResult, Reader};

/// A cell.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Cell {
    /// What it says, unquoted, without spaces around it.
    pub(super) text: String,
    /// The bytes that it takes, quotes included; where it begins if it is empty.
    pub(super) span: Range<usize>,
    /// What is wrong with its quotes.
    pub(super) fault: Option<&'static str>,
}

/// A row with at least one cell that is not empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    /// Its cells.
    pub(super) cells: Vec<Cell>,
}

impl Row {
    /// From the first cell to the last.
    pub(super) fn span(&self) -> Range<usize> {
        let start = self.cells.first().map_or(0, |cell| cell.span.start);
        let end = self.cells.last().map_or(start, |cell| cell.span.end);
        start..end
    }
}

/// The rows of a text. Rows of nothing but empty cells are passed over.
pub(super) fn rows(text: &str) -> Vec<Row> {
    let mut reader = Reader::new();
    let mut rest = text.as_bytes();
    // No cell is longer than the text.
    let mut unquoted = vec![0_u8; text.len().max(1)];
    let (mut start, mut at, mut filled) = (0, 0, 0);
    let mut rows = Vec::new();
    let mut cells = Vec::new();
    loop {
        let output = unquoted.get_mut(filled..).unwrap_or_default();
        let (result, read, written) = reader.read_field(rest, output);
        rest = rest.get(read..).unwrap_or_default();
        at += read;
        filled += written;
        let ends_row = match result {
            ReadFieldResult::Field { record_end } => record_end,
            // The next call, with nothing to read, says that the last cell has come to its end.
            ReadFieldResult::InputEmpty => continue,
            ReadFieldResult::OutputFull | ReadFieldResult::End => return rows,
        };
        let said = String::from_utf8_lossy(unquoted.get(..filled).unwrap_or_default());
        cells.push(cell(text, start..at, said.trim()));
        (start, filled) = (at, 0);
        if ends_row {
            let cells = std::mem::take(&mut cells);
            if cells.iter().any(|cell: &Cell| !cell.text.is_empty()) {
                rows.push(Row { cells });
            }
        }
    }
}

/// The cell of what was read for it: empty lines that were passed over before it, the cell, and the
/// comma or end of line behind it.
fn cell(text: &str, read: Range<usize>, said: &str) -> Cell {
    let all = text.get(read.clone()).unwrap_or("");
    let before_end = all.trim_end_matches(['\r', '\n']);
    let before_comma = before_end.strip_suffix(',').unwrap_or(before_end);
    let body = before_comma.trim_start_matches(['\r', '\n']);
    let shown = body.trim_start();
    let start = read.start + (before_comma.len() - shown.len());
    let shown = shown.trim_end();
    Cell {
        text: said.to_owned(),
        span: start..start + shown.len(),
        fault: quote_fault(shown, body.starts_with(char::is_whitespace)),
    }
}

/// What RFC 4180 does not allow: quotes stand around a whole cell, and twice inside it. A quote
/// inside a cell that does not begin with one (`34 1/2"`) is a character like any other.
fn quote_fault(shown: &str, is_indented: bool) -> Option<&'static str> {
    let inside = shown.strip_prefix('"')?;
    if is_indented {
        return Some("has a space before its quote; a quoted cell begins with the quote");
    }
    let Some(inside) = inside.strip_suffix('"') else {
        let goes_on = inside.replace("\"\"", "").contains('"');
        return Some(match goes_on {
            true => "goes on behind its closing quote; a quote inside a cell is written twice",
            false => "begins with a quote that never ends",
        });
    };
    let has_single = inside.replace("\"\"", "").contains('"');
    has_single.then_some("has a single quote inside its quotes; there it is written twice")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> Vec<Vec<(String, &str)>> {
        let row = |row: Row| {
            let cells = row.cells.into_iter();
            cells
                .map(|cell| (cell.text, text.get(cell.span).unwrap_or("?")))
                .collect()
        };
        rows(text).into_iter().map(row).collect()
    }

    #[test]
    fn a_cell_knows_where_it_stands() {
        let text = "id, mass ,x\r\n\r\n\"a\"\"b, c\",  49 g,\n,,\n\nlast,1,\"two\nlines\"";
        let cell = |text: &str, raw: &'static str| (text.to_owned(), raw);
        assert_eq!(
            shown(text),
            [
                vec![cell("id", "id"), cell("mass", "mass"), cell("x", "x")],
                vec![
                    cell("a\"b, c", "\"a\"\"b, c\""),
                    cell("49 g", "49 g"),
                    cell("", "")
                ],
                vec![
                    cell("last", "last"),
                    cell("1", "1"),
                    cell("two\nlines", "\"two\nlines\"")
                ],
            ]
        );
    }

    /// The library's own reader, which has no places, comes to the same cells.
    #[test]
    fn the_cells_are_those_of_the_library() {
        let texts = [
            "a,b\n1,2\n",
            "a\r\nb\r\n",
            "a,b\n\n\n\"1\n2\",\"x,y\"\n3",
            "a,,\n,,c\n",
            "\"\"\"q\"\"\",b",
            "a,\"never ends\nb,c\n",
            "a,\"x\"y,z\n",
            "",
            "\n\n",
            "é,ü\n\"ß\",9\"\n",
        ];
        for text in texts {
            let mut library = csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .trim(csv::Trim::All)
                .from_reader(text.as_bytes());
            let of_library: Vec<Vec<String>> = library
                .records()
                .map(|row| row.expect("text").iter().map(str::to_owned).collect())
                .filter(|row: &Vec<String>| row.iter().any(|cell| !cell.is_empty()))
                .collect();
            let cells = |row: Row| row.cells.into_iter().map(|cell| cell.text).collect();
            let ours: Vec<Vec<String>> = rows(text).into_iter().map(cells).collect();
            assert_eq!(ours, of_library, "{text:?}");
        }
    }

    #[test]
    fn quotes_that_are_wrong_are_named() {
        let fault = |text: &str| {
            let all = rows(text).into_iter().flat_map(|row| row.cells);
            all.filter_map(|cell| cell.fault).collect::<Vec<_>>()
        };
        assert_eq!(fault("\"a\",b\"c,\"d\"\"e\"\n"), [""; 0]);
        assert!(fault("\"a,b\nc,d\n")[0].contains("never ends"));
        assert!(fault("\"a\"b,c\n")[0].contains("goes on"));
        assert!(fault("x, \"a\"\n")[0].contains("space before"));
    }
}
