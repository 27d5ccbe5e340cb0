//! The lines of a file with the comments that stand between them.

use super::columns::columns;
use super::line::{Break, Line};
use super::token::{parsed, tokens};
use crate::syntax::{Comment, ReadLine, ReadLines};

/// A line, or a comment on a line of its own.
#[derive(Clone, Debug)]
pub(super) struct Item<'a> {
    /// Whether a blank line stands before it.
    pub(super) has_blank_before: bool,
    pub(super) kind: ItemKind<'a>,
}

#[derive(Clone, Debug)]
pub(super) enum ItemKind<'a> {
    Line(Box<Line>),
    Comment {
        text: &'a str,
        /// Spaces before it.
        indent: usize,
        /// Whether it stands in column 1.
        is_in_column_one: bool,
    },
}

/// The items of a file in order. `None` where a line cannot be read, which a file without findings
/// excludes.
pub(super) fn gather<'a>(source: &'a str, read: &ReadLines) -> Option<Vec<Item<'a>>> {
    let mut comments = read.comments.iter().peekable();
    // A file may be all comments: as much memory as they need, and no more.
    let mut items: Vec<Item<'a>> = Vec::with_capacity(read.lines.len() + read.comments.len());
    let mut end_before = 0;
    for read_line in &read.lines {
        while let Some(comment) = comments.next_if(|one| one.span.start < read_line.start) {
            push_comment(&mut items, source, end_before, comment);
            end_before = comment.span.end;
        }
        let mut inside = Vec::new();
        while let Some(comment) = comments.next_if(|one| one.span.start < read_line.end) {
            inside.push(comment);
        }
        items.push(Item {
            has_blank_before: is_blank_between(source, end_before, read_line.start),
            kind: ItemKind::Line(Box::new(line(source, &read.masked, read_line, &inside)?)),
        });
        end_before = read_line.end;
    }
    for comment in comments {
        push_comment(&mut items, source, end_before, comment);
        end_before = comment.span.end;
    }
    if let Some(first) = items.first_mut() {
        first.has_blank_before = false;
    }
    Some(items)
}

fn push_comment<'a>(
    items: &mut Vec<Item<'a>>,
    source: &'a str,
    end_before: usize,
    comment: &Comment,
) {
    let text = comment.text(source).trim_end();
    let start = comment.span.start;
    if let Some(Item {
        kind: ItemKind::Line(line),
        ..
    }) = items.last_mut()
        && line_ends(source, end_before, start) == 0
    {
        line.behind = Some(text.to_owned());
        return;
    }
    let before = source.get(..start).unwrap_or("");
    items.push(Item {
        has_blank_before: is_blank_between(source, end_before, start),
        kind: ItemKind::Comment {
            text,
            indent: 0,
            is_in_column_one: before.is_empty() || before.ends_with(['\n', '\u{feff}']),
        },
    });
}

fn line(source: &str, masked: &str, read: &ReadLine, inside: &[&Comment]) -> Option<Line> {
    let tokens = tokens(masked, read)?;
    let places = columns(&parsed(masked, read)?, read.start, &tokens);
    let mut breaks = Vec::new();
    let mut inside = inside.iter().peekable();
    for (number, (before, after)) in tokens.iter().zip(tokens.iter().skip(1)).enumerate() {
        if line_ends(source, before.end, after.start) == 0 {
            continue;
        }
        let mut end = Break {
            token: number + 1,
            ..Break::default()
        };
        while let Some(comment) = inside.next_if(|one| one.span.start < after.start) {
            let text = comment.text(source).trim_end().to_owned();
            if line_ends(source, before.end, comment.span.start) == 0 {
                end.behind = Some(text);
            } else {
                end.between.push(text);
            }
        }
        breaks.push(end);
    }
    let mut line = Line::new(read.rule, tokens, places, breaks);
    line.is_header = read.begins_declaration;
    Some(line)
}

/// Line ends between two places.
fn line_ends(source: &str, start: usize, end: usize) -> usize {
    let between = source.get(start..end).unwrap_or("");
    between.bytes().filter(|byte| *byte == b'\n').count()
}

fn is_blank_between(source: &str, start: usize, end: usize) -> bool {
    line_ends(source, start, end) > 1
}
