//! Rows of cells as lines, each column as wide as its widest cell.

/// The lines of rows, two spaces between columns; the last column is as long as it is.
pub(super) fn lines<const COLUMNS: usize>(indent: &str, rows: &[[String; COLUMNS]]) -> String {
    let mut widths = [0; COLUMNS];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.chars().count().max(*width);
        }
    }
    let mut text = String::new();
    for row in rows {
        let cells = row.iter().zip(widths);
        let cells: Vec<String> = cells
            .map(|(cell, width)| format!("{cell:width$}"))
            .collect();
        let line = cells.join("  ");
        text.push_str(indent);
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}
