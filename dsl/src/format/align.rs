//! Indents, and the widths of columns.

use std::ops::Range;

use super::WIDTH;
use super::columns::is_padded_clause;
use super::gather::{Item, ItemKind};
use super::line::Line;
use super::token::width;
use crate::syntax::grammar::Rule;

/// Where the clauses of a declaration begin.
const CLAUSE_INDENT: usize = 2;
/// Where the rows of a table of one column begin.
const ROW_INDENT: usize = 4;
/// A wider cell does not widen its column.
const WIDEST_CELL: usize = 60;

/// Gives every line its indent and its columns their widths, every comment its indent.
pub(super) fn align(items: &mut [Item<'_>]) {
    let mut lines: Vec<&mut Line> = items
        .iter_mut()
        .filter_map(|item| match &mut item.kind {
            ItemKind::Line(line) => Some(&mut **line),
            ItemKind::Comment { .. } => None,
        })
        .collect();
    for declaration in runs(&lines, |line, _| !line.is_header) {
        if let Some(lines) = lines.get_mut(declaration) {
            declaration_lines(lines);
        }
    }
    short_declarations(items);
    indent_comments(items);
}

/// Ranges of lines, each of which goes on while `goes_on(line, the one before)`.
fn runs(lines: &[&mut Line], goes_on: impl Fn(&Line, &Line) -> bool) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    let mut before: Option<&Line> = None;
    for (number, line) in lines.iter().enumerate() {
        match (runs.last_mut(), before) {
            (Some(run), Some(before)) if goes_on(line, before) => run.end = number + 1,
            _ => runs.push(number..number + 1),
        }
        before = Some(line);
    }
    runs
}

fn declaration_lines(lines: &mut [&mut Line]) {
    let mut tables: Vec<usize> = Vec::new();
    let mut row_indent = ROW_INDENT;
    for (number, line) in lines.iter_mut().enumerate() {
        line.indent = match line.rule {
            _ if line.is_header => 0,
            Rule::row_line => row_indent,
            _ => CLAUSE_INDENT,
        };
        let word = match line.rule {
            Rule::by_line => "by ",
            Rule::then_by_line => "then by ",
            Rule::next_by_line => "next by ",
            _ => continue,
        };
        // Cells stand under the columns that they are of.
        row_indent = match line.columns.len() {
            0 | 1 => ROW_INDENT,
            _ => CLAUSE_INDENT + word.len(),
        };
        tables.push(number);
    }
    clause_words(lines);
    first_column(lines, |rule| {
        matches!(
            rule,
            Rule::kept_line | Rule::first_line | Rule::next_line | Rule::last_line
        )
    });
    first_column(lines, |rule| rule == Rule::field_line);
    for rule in [Rule::let_line, Rule::prefers_line, Rule::needs_line] {
        second_column(lines, rule);
    }
    for (number, header) in tables.iter().enumerate() {
        let end = tables.get(number + 1).copied().unwrap_or(lines.len());
        if let Some(lines) = lines.get_mut(*header..end) {
            table(lines);
        }
    }
}

/// What follows the words of the clauses begins in one column.
fn clause_words(lines: &mut [&mut Line]) {
    first_column(lines, is_padded_clause);
}

fn first_column(lines: &mut [&mut Line], is_of_block: impl Fn(Rule) -> bool) {
    let of_block = |line: &&&mut Line| is_of_block(line.rule) && line.columns.len() > 1;
    let widest = lines
        .iter()
        .filter(of_block)
        .filter_map(|line| line.columns.first());
    let widest = widest.map(|word| width(word)).max().unwrap_or(0);
    for line in lines {
        if is_of_block(line.rule) && line.columns.len() > 1 {
            set_width(line, 0, widest);
        }
    }
}

/// The second column of all lines of a rule that have a third: what follows it begins in one column
/// unless a line would become too wide by it.
fn second_column(lines: &mut [&mut Line], rule: Rule) {
    let is_of_block = |line: &Line| line.rule == rule && line.columns.len() > 2 && line.is_whole();
    let mut widest = 0;
    for line in lines.iter().filter(|line| is_of_block(line)) {
        let cell = line.columns.get(1).map_or(0, |cell| width(cell));
        // Where there are few texts behind it a wide cell may widen the column.
        widest = widest.max(cell);
    }
    let fits = |line: &Line| {
        let cell = line.columns.get(1).map_or(0, |cell| width(cell));
        let own = line.indent + width(&line.head());
        own > WIDTH || own + widest - cell.min(widest) <= WIDTH
    };
    let all_fit = lines
        .iter()
        .filter(|line| is_of_block(line))
        .all(|line| fits(line));
    if !all_fit {
        return;
    }
    for line in lines {
        if is_of_block(line) {
            set_width(line, 1, widest);
        }
    }
}

/// A header with its rows, and whatever clauses stand between them.
fn table(lines: &mut [&mut Line]) {
    let Some((header, rows)) = lines.split_first_mut() else {
        return;
    };
    let count = header.columns.len();
    let is_full = |line: &Line| {
        line.rule == Rule::row_line && line.columns.len() == count + 1 && line.begins_in_columns()
    };
    let prefix = if count > 1 {
        rows_indent(rows).saturating_sub(header.indent)
    } else {
        0
    };
    let mut widths = Vec::new();
    for number in 0..count {
        let cells = rows.iter().filter(|row| is_full(row));
        let cells = cells
            .filter_map(|row| row.columns.get(number))
            .map(|cell| width(cell));
        let mut widest = cells.filter(|cell| *cell <= WIDEST_CELL).max().unwrap_or(0);
        // The last column of a header has nothing behind it that would have to stand in a column.
        if number + 1 < count && header.is_whole() {
            let own = header.columns.get(number).map_or(0, |cell| width(cell));
            widest = widest.max(own.saturating_sub(if number == 0 { prefix } else { 0 }));
        }
        widths.push(widest);
    }
    if count > 1 && header.is_whole() {
        for (number, widest) in widths.iter().enumerate().take(count - 1) {
            set_width(
                header,
                number,
                widest + if number == 0 { prefix } else { 0 },
            );
        }
    }
    let whole = widths.iter().sum::<usize>() + count - 1;
    for row in rows.iter_mut().filter(|row| row.rule == Rule::row_line) {
        if is_full(row) {
            for (number, widest) in widths.iter().enumerate() {
                set_width(row, number, *widest);
            }
        } else if row.columns.len() == 2 && row.begins_in_columns() {
            // `otherwise` stands for all columns.
            set_width(row, 0, whole);
        }
    }
    reasons(rows);
}

fn rows_indent(rows: &[&mut Line]) -> usize {
    let row = rows.iter().find(|row| row.rule == Rule::row_line);
    row.map_or(CLAUSE_INDENT, |row| row.indent)
}

/// `because` of the rows begins in one column, as far as the lines stay within the width by it.
fn reasons(rows: &mut [&mut Line]) {
    let has_reason =
        |row: &Line| row.rule == Rule::row_line && row.is_whole() && !row.because.is_empty();
    let room = |row: &Line| {
        let texts = row
            .because
            .iter()
            .map(|text| width(text))
            .max()
            .unwrap_or(0);
        WIDTH.saturating_sub(row.indent + " because ".len() + texts)
    };
    // Lines that are broken before `because` anyhow take no part.
    let mut taking_part: Vec<(usize, usize)> = rows
        .iter()
        .filter(|row| has_reason(row))
        .map(|row| (width(&row.head()), room(row)))
        .filter(|(own, room)| own <= room)
        .collect();
    taking_part.sort_unstable();
    let column = loop {
        let Some((widest, _)) = taking_part.last().copied() else {
            return;
        };
        if taking_part.iter().all(|(_, room)| widest <= *room) {
            break widest;
        }
        taking_part.pop();
    };
    for row in rows {
        if has_reason(row) && width(&row.head()) <= column && column <= room(row) {
            row.width_before_because = column;
        }
    }
}

fn set_width(line: &mut Line, column: usize, wanted: usize) {
    if let Some(filled) = line.widths.get_mut(column) {
        *filled = wanted;
    }
}

/// Declarations of one line that stand right below each other: `choice`, `scale`, `let`, `reads`.
fn short_declarations(items: &mut [Item<'_>]) {
    let family = |items: &[Item<'_>], number: usize| -> Option<u8> {
        let Item {
            kind: ItemKind::Line(line),
            ..
        } = items.get(number)?
        else {
            return None;
        };
        let has_body = matches!(
            items.get(number + 1),
            Some(Item { kind: ItemKind::Line(next), .. }) if !next.is_header
        );
        match line.rule {
            _ if has_body || !line.is_whole() => None,
            Rule::choice | Rule::scale => Some(0),
            Rule::let_value => Some(1),
            Rule::reads | Rule::reads_part | Rule::reads_group => Some(2),
            _ => None,
        }
    };
    let mut number = 0;
    while number < items.len() {
        let kind = family(items, number);
        let mut end = number + 1;
        while kind.is_some()
            && family(items, end) == kind
            && items.get(end).is_some_and(|item| !item.has_blank_before)
        {
            end += 1;
        }
        if end > number + 1
            && let Some(run) = items.get_mut(number..end)
        {
            align_run(run);
        }
        number = end;
    }
}

fn align_run(run: &mut [Item<'_>]) {
    let mut lines: Vec<&mut Line> = run
        .iter_mut()
        .filter_map(|item| match &mut item.kind {
            ItemKind::Line(line) => Some(&mut **line),
            ItemKind::Comment { .. } => None,
        })
        .collect();
    // A let without a type has a column less.
    let most = lines
        .iter()
        .map(|line| line.columns.len())
        .max()
        .unwrap_or(0);
    for line in &mut lines {
        while line.columns.len() < most {
            line.columns.insert(1, String::new());
            line.widths.push(0);
        }
    }
    for column in 0..most.saturating_sub(1) {
        let cells = lines.iter().filter_map(|line| line.columns.get(column));
        let widths = cells.map(|cell| width(cell));
        let widest = widths
            .filter(|cell| *cell <= WIDEST_CELL)
            .max()
            .unwrap_or(0);
        for line in &mut lines {
            set_width(line, column, widest);
        }
    }
}

/// A comment inside a declaration stands as the line below it does; after the last line, as that
/// one. In column 1 behind a declaration it belongs to none.
fn indent_comments(items: &mut [Item<'_>]) {
    let mut above = None;
    for item in items.iter_mut() {
        match &mut item.kind {
            ItemKind::Line(line) => above = Some(line.indent.max(CLAUSE_INDENT)),
            ItemKind::Comment {
                indent,
                is_in_column_one,
                ..
            } => {
                *indent = match above {
                    Some(above) if !*is_in_column_one => above,
                    _ => 0,
                };
            }
        }
    }
    let mut below = None;
    for item in items.iter_mut().rev() {
        match &mut item.kind {
            ItemKind::Line(line) => below = (!line.is_header).then_some(line.indent),
            ItemKind::Comment { indent, .. } => *indent = below.unwrap_or(*indent),
        }
    }
}
