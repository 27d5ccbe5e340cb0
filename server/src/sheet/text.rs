//! Lines, wrapped paragraphs and tables of plain text.

/// The columns that the sheet keeps to.
const COLUMNS: usize = 100;

/// Gathers the sheet's lines.
pub(crate) struct Writer {
    text: String,
    is_coloured: bool,
}

impl Writer {
    pub(crate) fn new(is_coloured: bool) -> Self {
        Writer {
            text: String::new(),
            is_coloured,
        }
    }

    pub(crate) fn into_text(self) -> String {
        self.text
    }

    /// One line as it is, without the spaces at its end.
    pub(crate) fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// A heading of the whole sheet or of a section.
    pub(crate) fn heading(&mut self, heading: &str) {
        if self.is_coloured {
            self.line(&format!("\u{1b}[1m{heading}\u{1b}[0m"));
        } else {
            self.line(heading);
        }
    }

    /// A section: an empty line and its heading.
    pub(crate) fn section(&mut self, heading: &str) {
        self.line("");
        self.heading(heading);
    }

    /// A paragraph, wrapped at spaces; the first line after `first`, the others after as many
    /// spaces.
    pub(crate) fn paragraph(&mut self, first: &str, text: &str) {
        self.indented(first, first.chars().count(), text);
    }

    /// A paragraph whose first line stands after `first`, the others after `indent` spaces.
    pub(crate) fn indented(&mut self, first: &str, indent: usize, text: &str) {
        let indent = " ".repeat(indent);
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
    pub(crate) fn table(&mut self, header: &[&str], rows: &[Vec<String>]) {
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
pub(crate) fn listed(items: &[String]) -> String {
    match items.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    }
}

/// The root of an explanation: of ``blocked by `x` of the 7 iron: needs `y` `` the part after the
/// colon, which is the same for all the clubs that wait for it.
pub(crate) fn root_cause(explanation: &str) -> &str {
    match explanation.split_once(": ") {
        Some((blocked, root)) if blocked.starts_with("blocked by ") => root,
        _ => explanation,
    }
}

/// Some of the clubs of a bag in few words: runs of three or more by their ends.
pub(crate) fn clubs_in_short(clubs: &[String], all: &[String]) -> String {
    let mut runs: Vec<Vec<&String>> = Vec::new();
    let mut last_place = None;
    for club in clubs {
        let place = all.iter().position(|known| known == club);
        let follows = match (last_place, place) {
            (Some(last), Some(place)) => place == last + 1,
            _ => false,
        };
        match runs.last_mut().filter(|_| follows) {
            Some(run) => run.push(club),
            None => runs.push(vec![club]),
        }
        last_place = place;
    }
    let texts: Vec<String> = runs
        .iter()
        .flat_map(|run| match run.as_slice() {
            [first, _, .., last] => vec![format!("{first} to {last}")],
            few => few.iter().map(|club| (*club).clone()).collect(),
        })
        .collect();
    texts.join(", ")
}
