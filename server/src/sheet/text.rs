//! Lines, wrapped paragraphs and tables of plain text.

/// The columns that the sheet keeps to.
const COLUMNS: usize = 100;

/// Gathers the sheet's lines.
pub(super) struct Writer {
    text: String,
    is_coloured: bool,
}

impl Writer {
    pub(super) fn new(is_coloured: bool) -> Self {
        Writer {
            text: String::new(),
            is_coloured,
        }
    }

    pub(super) fn into_text(self) -> String {
        self.text
    }

    /// One line as it is, without the spaces at its end.
    pub(super) fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// A heading of the whole sheet or of a section.
    pub(super) fn heading(&mut self, heading: &str) {
        if self.is_coloured {
            self.line(&format!("\u{1b}[1m{heading}\u{1b}[0m"));
        } else {
            self.line(heading);
        }
    }

    /// A section: an empty line and its heading.
    pub(super) fn section(&mut self, heading: &str) {
        self.line("");
        self.heading(heading);
    }

    /// A paragraph, wrapped at spaces; the first line after `first`, the others after as many spaces.
    pub(super) fn paragraph(&mut self, first: &str, text: &str) {
        let indent = " ".repeat(first.chars().count());
        let mut line = first.to_owned();
        let mut is_empty = true;
        for word in text.split_whitespace() {
            let width = line.chars().count() + usize::from(!is_empty) + word.chars().count();
            if !is_empty && width > COLUMNS {
                self.line(&line);
                line.clone_from(&indent);
                is_empty = true;
            }
            if !is_empty {
                line.push(' ');
            }
            line.push_str(word);
            is_empty = false;
        }
        self.line(&line);
    }

    /// A table: its columns as wide as their widest cell, two spaces between them; a column without
    /// any text is left out.
    pub(super) fn table(&mut self, header: &[&str], rows: &[Vec<String>]) {
        let cell = |row: &Vec<String>, column: usize| row.get(column).cloned().unwrap_or_default();
        let widths: Vec<usize> = header
            .iter()
            .enumerate()
            .map(|(column, title)| {
                let widest = rows
                    .iter()
                    .map(|row| cell(row, column).chars().count())
                    .max();
                match widest {
                    None | Some(0) => 0,
                    Some(widest) => widest.max(title.chars().count()),
                }
            })
            .collect();
        let shown = |cells: &[String]| {
            let mut line = String::from(" ");
            for (cell, width) in cells.iter().zip(&widths) {
                if *width > 0 {
                    line.push_str(&format!(" {cell:<width$} "));
                }
            }
            line
        };
        let titles: Vec<String> = header.iter().map(|title| (*title).to_owned()).collect();
        self.line(&shown(&titles));
        for row in rows {
            let cells: Vec<String> = (0..header.len()).map(|column| cell(row, column)).collect();
            self.line(&shown(&cells));
        }
    }
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(items: &[String]) -> String {
    match items.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    }
}

/// Some of the clubs of a bag in few words: a run of more than three by its ends.
pub(super) fn clubs_in_short(clubs: &[String], all: &[String]) -> String {
    let start = all.iter().position(|club| Some(club) == clubs.first());
    let is_run = start
        .and_then(|start| all.get(start..start + clubs.len()))
        .is_some_and(|run| run == clubs);
    match (clubs, is_run) {
        ([first, _, _, .., last], true) => format!("{first} to {last}"),
        _ => clubs.join(", "),
    }
}
