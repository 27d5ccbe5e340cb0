//! A line to be laid out: its columns, its reason, and where it must be broken.

use super::WIDTH;
use super::token::{Token, joined, width};
use crate::syntax::grammar::Rule;

/// Something that stands where a line is broken.
#[derive(Clone, Debug, Default)]
pub(super) struct Break {
    /// The token that begins the next line.
    pub(super) token: usize,
    /// A comment behind what stands before the break.
    pub(super) behind: Option<String>,
    /// Comments on lines of their own.
    pub(super) between: Vec<String>,
}

/// A line of a declaration.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub(super) rule: Rule,
    pub(super) is_header: bool,
    /// Spaces before it.
    pub(super) indent: usize,
    /// All tokens, in order.
    pub(super) tokens: Vec<Token>,
    /// The columns up to `because` and up to the second of adjacent texts.
    pub(super) columns: Vec<String>,
    /// The width of each column but the last; 0 for as wide as it is.
    pub(super) widths: Vec<usize>,
    /// The width to which all columns together are filled where `because` follows.
    pub(super) width_before_because: usize,
    /// Where the columns begin, as places in the file; the first is left out.
    pub(super) places: Vec<usize>,
    /// Adjacent texts after the first.
    pub(super) more_texts: Vec<String>,
    /// The texts of `because` at the end of the line.
    pub(super) because: Vec<String>,
    /// Line ends that stay: those with comments, and those inside parentheses of a wide line.
    pub(super) breaks: Vec<Break>,
    /// A comment behind the line.
    pub(super) behind: Option<String>,
}

impl Line {
    /// A line of these tokens, whose later columns begin at these places. `ends` are all its line
    /// ends in the file.
    pub(super) fn new(
        rule: Rule,
        tokens: Vec<Token>,
        places: Vec<usize>,
        ends: Vec<Break>,
    ) -> Self {
        let texts = tokens
            .iter()
            .rev()
            .take_while(|token| token.is_text)
            .count();
        let before = tokens.len() - texts;
        let (mut head, tail) = tokens.split_at(before);
        let mut tail: Vec<String> = tail.iter().map(|token| token.text.clone()).collect();
        let mut because = Vec::new();
        let mut more_texts = Vec::new();
        match head.split_last() {
            Some((last, rest)) if last.text == "because" && texts > 0 => {
                head = rest;
                because = tail;
            }
            _ if texts > 0 => {
                head = tokens.get(..=before).unwrap_or(head);
                more_texts = tail.split_off(1);
            }
            _ => {}
        }
        let mut line = Line {
            rule,
            is_header: false,
            indent: 0,
            columns: cut(head, &places),
            widths: Vec::new(),
            width_before_because: 0,
            places,
            more_texts,
            because,
            breaks: Vec::new(),
            behind: None,
            tokens: Vec::new(),
        };
        line.widths = vec![0; line.columns.len()];
        let has_comment = |end: &Break| end.behind.is_some() || !end.between.is_empty();
        let is_reason_inside = rule == Rule::rung_line
            && head
                .iter()
                .any(|token| token.text == "because" && !token.is_text);
        let inside = |end: &Break| end.token < head.len();
        let is_wide = width(&joined(head)) + 2 > WIDTH || is_reason_inside;
        if ends
            .iter()
            .any(|end| has_comment(end) || is_wide && inside(end))
        {
            line.breaks = ends;
        }
        line.tokens = tokens;
        line
    }

    /// Whether its columns can be aligned with others'.
    pub(super) fn is_whole(&self) -> bool {
        self.breaks.is_empty()
    }

    /// Whether all its columns begin on its first line, so that they can be aligned with others'.
    pub(super) fn begins_in_columns(&self) -> bool {
        let last = self.places.last().copied().unwrap_or(0);
        let first_below = self
            .breaks
            .first()
            .and_then(|end| self.tokens.get(end.token));
        first_below.is_none_or(|token| token.start > last)
    }

    /// The columns side by side, filled to their widths.
    pub(super) fn head(&self) -> String {
        let mut text = String::new();
        let mut wanted = 0;
        for (column, filled) in self.columns.iter().zip(&self.widths) {
            if !text.is_empty() {
                text.push(' ');
            }
            let missing = wanted_spaces(&text, wanted);
            text.extend(std::iter::repeat_n(' ', missing));
            let start = width(&text);
            text.push_str(column);
            wanted = if *filled == 0 { 0 } else { start + filled + 1 };
        }
        text
    }
}

/// How many spaces bring a text to a width.
fn wanted_spaces(text: &str, wanted: usize) -> usize {
    wanted.saturating_sub(width(text))
}

/// The tokens as columns that begin at the places.
fn cut(tokens: &[Token], places: &[usize]) -> Vec<String> {
    let mut columns = Vec::new();
    let mut rest = tokens;
    for place in places {
        let before = rest.iter().take_while(|token| token.start < *place).count();
        let (column, after) = rest.split_at(before);
        columns.push(joined(column));
        rest = after;
    }
    columns.push(joined(rest));
    columns
}
