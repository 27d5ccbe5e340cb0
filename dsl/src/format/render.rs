//! The lines written down.

use super::WIDTH;
use super::gather::{Item, ItemKind};
use super::line::Line;
use super::token::width;
use crate::syntax::grammar::Rule;

/// How much further in a line goes on.
const CONTINUED: usize = 4;
/// What stands before a comment behind a line.
const BEFORE_COMMENT: usize = 2;

/// A line of the file to be.
#[derive(Debug, Default)]
struct Written {
    text: String,
    behind: Option<String>,
}

/// The file to be; only lines whose comments may have to stand in one column are kept apart.
#[derive(Debug, Default)]
struct Page {
    text: String,
    with_comments: Vec<Written>,
}

impl Page {
    fn push(&mut self, line: Written) {
        if line.behind.is_some() {
            self.with_comments.push(line);
        } else {
            self.write_comments();
            self.write(&line.text);
        }
    }

    fn write_comments(&mut self) {
        let mut run = std::mem::take(&mut self.with_comments);
        align_comments(&mut run);
        for line in run {
            self.write(&line.text);
        }
    }

    fn write(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }
}

/// The text of the items.
pub(super) fn render(items: &[Item<'_>]) -> String {
    let mut page = Page::default();
    for (number, item) in items.iter().enumerate() {
        if number > 0 && (item.has_blank_before || is_apart(items, number)) {
            page.push(Written::default());
        }
        match &item.kind {
            ItemKind::Comment { text, indent, .. } => page.push(Written {
                text: format!("{}{text}", spaces(*indent)),
                behind: None,
            }),
            ItemKind::Line(line) if line.is_whole() => whole(line, &mut page),
            ItemKind::Line(line) => broken(line, &mut page),
        }
    }
    page.write_comments();
    page.text
}

/// Whether a blank line parts an item from the one before: where a declaration of several lines
/// begins or has ended.
fn is_apart(items: &[Item<'_>], number: usize) -> bool {
    let is_in_body = |item: &Item<'_>| match &item.kind {
        ItemKind::Line(line) => !line.is_header,
        ItemKind::Comment { indent, .. } => *indent > 0,
    };
    let begins = items.get(number).is_some_and(|item| !is_in_body(item));
    let ended = number
        .checked_sub(1)
        .and_then(|before| items.get(before))
        .is_some_and(is_in_body);
    let is_header = |item: &Item<'_>| matches!(&item.kind, ItemKind::Line(line) if line.is_header);
    let before_is_header = number
        .checked_sub(1)
        .and_then(|before| items.get(before))
        .is_some_and(is_header);
    let has_body =
        items.get(number).is_some_and(is_header) && items.get(number + 1).is_some_and(is_in_body);
    begins && (ended || before_is_header && has_body)
}

fn whole(line: &Line, page: &mut Page) {
    let mut head = format!("{}{}", spaces(line.indent), line.head());
    let mut rest = Vec::new();
    if let Some((last, more)) = line.more_texts.split_last() {
        let column = line.tokens.iter().rev().nth(line.more_texts.len());
        let column = width(&head) - column.map_or(0, |text| width(&text.text)).min(width(&head));
        for text in more.iter().chain([last]) {
            rest.push(format!("{}{text}", spaces(column)));
        }
    }
    if let Some((first, more)) = line.because.split_first() {
        let filled = width(&head).max(line.indent + line.width_before_because);
        let widest = line
            .because
            .iter()
            .map(|text| width(text))
            .max()
            .unwrap_or(0);
        let fits = filled + " because ".len() + widest <= WIDTH;
        let column = if fits && !always_breaks(line) {
            head.push_str(&spaces(filled - width(&head)));
            head.push_str(" because ");
            let column = width(&head);
            head.push_str(first);
            column
        } else {
            let start = reason_column(line, widest);
            rest.push(format!("{}because {first}", spaces(start)));
            start + "because ".len()
        };
        rest.extend(more.iter().map(|text| format!("{}{text}", spaces(column))));
    }
    let last = rest.len();
    for (number, text) in std::iter::once(head).chain(rest).enumerate() {
        let behind = line.behind.clone().filter(|_| number == last);
        page.push(Written { text, behind });
    }
}

fn always_breaks(line: &Line) -> bool {
    line.rule == Rule::drop_case
}

/// Where `because` stands on a line of its own: under the verb of its row or what follows the word
/// of its clause, or less far in where it would be too wide there.
fn reason_column(line: &Line, widest: usize) -> usize {
    if line.is_header {
        return 2;
    }
    let columns = match line.rule {
        Rule::row_line => line.columns.len().saturating_sub(1),
        _ => 1,
    };
    let widths = line.columns.iter().zip(&line.widths).take(columns);
    let before: usize = widths
        .map(|(cell, filled)| width(cell).max(*filled) + 1)
        .sum();
    let under = line.indent + before;
    if line.columns.len() > 1 && under + "because ".len() + widest <= WIDTH {
        under
    } else {
        line.indent + CONTINUED
    }
}

/// A line that keeps its line ends.
fn broken(line: &Line, page: &mut Page) {
    let mut text = spaces(line.indent);
    let mut is_first = true;
    let mut places = line.places.iter().zip(&line.widths).peekable();
    let mut column_start = line.indent;
    let mut breaks = line.breaks.iter().peekable();
    let mut text_column = 0;
    for (number, token) in line.tokens.iter().enumerate() {
        if let Some(end) = breaks.next_if(|end| end.token == number) {
            let column = if token.is_text && text_column > 0 {
                text_column
            } else {
                line.indent + CONTINUED
            };
            page.push(Written {
                text: std::mem::take(&mut text),
                behind: end.behind.clone(),
            });
            for comment in &end.between {
                page.push(Written {
                    text: format!("{}{comment}", spaces(column)),
                    behind: None,
                });
            }
            text = spaces(column);
            is_first = true;
        }
        if !is_first && !token.is_close {
            text.push(' ');
        }
        if let Some((_, filled)) = places.next_if(|(place, _)| **place <= token.start) {
            let wanted = column_start + filled + 1;
            if !is_first && *filled > 0 {
                text.push_str(&spaces(wanted.saturating_sub(width(&text))));
            }
            column_start = width(&text);
        }
        text_column = if token.is_text { width(&text) } else { 0 };
        text.push_str(&token.text);
        is_first = false;
    }
    page.push(Written {
        text,
        behind: line.behind.clone(),
    });
}

/// Comments behind lines below each other begin in one column, where they fit.
fn align_comments(run: &mut [Written]) {
    let widest = run.iter().map(|line| width(&line.text)).max().unwrap_or(0);
    let comment = |line: &Written| line.behind.as_ref().map_or(0, |text| width(text));
    let fits = run
        .iter()
        .all(|line| widest + BEFORE_COMMENT + comment(line) <= WIDTH);
    for line in run {
        let Some(behind) = line.behind.take() else {
            continue;
        };
        let column = if fits { widest } else { width(&line.text) };
        let missing = column - width(&line.text) + BEFORE_COMMENT;
        line.text.push_str(&spaces(missing));
        line.text.push_str(&behind);
    }
}

fn spaces(count: usize) -> String {
    " ".repeat(count)
}
