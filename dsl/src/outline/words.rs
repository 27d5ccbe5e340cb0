//! Texts of ranges, of expressions as they are written, of the cells of rows.

use crate::program::{Program, Row, RowResult, Shown, Type, Value};
use crate::syntax::{Folder, Span};

/// `8 deg through 12 deg`.
pub(super) fn range_text(
    program: &Program,
    value_type: Type,
    shown: &Shown,
    between: Option<&(Value, Value)>,
) -> Option<String> {
    let (low, high) = between?;
    let text = |value| shown.text(program, value_type, value);
    Some(format!("{} through {}", text(low), text(high)))
}

/// What stands at a place, its comments left out and on one line.
pub(super) fn source_text(folder: &Folder, span: Span) -> String {
    let text = folder[span.file].text.get(span.start..span.end);
    let lines = text.unwrap_or_default().lines().map(without_comment);
    one_line(&lines.collect::<Vec<_>>().join(" "))
}

fn without_comment(line: &str) -> &str {
    let mut is_in_text = false;
    let mut is_escaped = false;
    for (place, character) in line.char_indices() {
        match character {
            '#' if !is_in_text => return line.get(..place).unwrap_or(line),
            '"' if !is_escaped => is_in_text = !is_in_text,
            _ => {}
        }
        is_escaped = character == '\\' && !is_escaped;
    }
    line
}

/// Runs of spaces as one.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The conditions of a row, one a column, and its result, as they are written.
pub(super) fn cells_of(row: &Row) -> (Vec<String>, String) {
    let text = one_line(&row.text);
    let (conditions, result) = cut_before_result(&text, &row.result);
    if row.is_otherwise {
        return (Vec::new(), result);
    }
    let cells = conditions.split(" and ").map(str::to_owned);
    (cells.collect(), result)
}

/// `and` is reserved, so it only ever parts two conditions; the verb is the first of its kind after
/// the first word, which belongs to a condition.
fn cut_before_result(text: &str, result: &RowResult) -> (String, String) {
    let verb = match result {
        RowResult::Gives(_) => " gives ",
        RowResult::Moves(_) => " moves ",
        RowResult::Keeps => " keeps",
        RowResult::Adds(_) => " adds ",
        RowResult::TakesOff(_) => " takes off ",
        RowResult::CannotHappen => " cannot happen",
    };
    let found = match result {
        RowResult::Moves(_) | RowResult::Keeps | RowResult::CannotHappen => text.rfind(verb),
        _ => text.find(verb),
    };
    let place = found.unwrap_or(text.len());
    let piece = |piece: Option<&str>| piece.unwrap_or_default().trim().to_owned();
    (piece(text.get(..place)), piece(text.get(place..)))
}

#[cfg(test)]
mod tests {
    use super::without_comment;

    #[test]
    fn a_comment_ends_a_line_and_a_text_may_hold_its_mark() {
        for (line, rest) in [
            ("a + b # why", "a + b "),
            ("says \"no. #1\" # why", "says \"no. #1\" "),
            (r#"says "a \" # b""#, r#"says "a \" # b""#),
            ("nothing", "nothing"),
        ] {
            assert_eq!(without_comment(line), rest);
        }
    }
}
