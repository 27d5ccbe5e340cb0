//! The words and signs of a line, and which of them stand close together.

use pest::Parser;
use pest::iterators::Pair;

use crate::syntax::ReadLine;
use crate::syntax::grammar::{Grammar, Rule};

/// A word, a sign, a text or a part of a literal.
#[derive(Clone, Debug)]
pub(super) struct Token {
    /// As it is written.
    pub(super) text: String,
    /// Where it stands in the file.
    pub(super) start: usize,
    /// One past its last byte.
    pub(super) end: usize,
    /// Whether no space stands before it.
    pub(super) is_close: bool,
    /// Whether it is a text in quotation marks.
    pub(super) is_text: bool,
}

/// A line through its rule. `None` where it cannot be read, which a file without findings excludes.
pub(super) fn parsed<'a>(masked: &'a str, line: &ReadLine) -> Option<Pair<'a, Rule>> {
    let text = masked.get(line.start..line.end)?;
    Grammar::parse(line.rule, text).ok()?.next()
}

/// The tokens of a line; `None` as [`parsed`].
pub(super) fn tokens(masked: &str, line: &ReadLine) -> Option<Vec<Token>> {
    let mut walk = Walk {
        base: line.start,
        tokens: Vec::new(),
        opens: false,
    };
    let node = parsed(masked, line)?;
    walk.walk(&node, line.rule);
    Some(walk.tokens)
}

struct Walk {
    base: usize,
    tokens: Vec<Token>,
    /// Whether the last token holds what comes next close to it.
    opens: bool,
}

impl Walk {
    fn walk(&mut self, node: &Pair<'_, Rule>, parent: Rule) {
        let rule = node.as_rule();
        // A dotted name is one word.
        let is_whole = matches!(rule, Rule::dotted | Rule::member | Rule::EOI);
        let mut inner = node.clone().into_inner().peekable();
        if !is_whole && inner.peek().is_some() {
            for part in inner {
                self.walk(&part, rule);
            }
            return;
        }
        self.leaf(node, rule, parent);
    }

    fn leaf(&mut self, node: &Pair<'_, Rule>, rule: Rule, parent: Rule) {
        let is_close = self.opens
            || matches!(rule, Rule::comma | Rule::closing | Rule::member)
            || rule == Rule::opening && matches!(parent, Rule::call | Rule::model);
        let start = self.base + node.as_span().start();
        let before = self.tokens.len();
        if rule == Rule::text {
            self.push(node.as_str(), start, is_close, true);
        } else {
            // Phrases, and literals such as `35 1/4`, are words with one space between them.
            let mut at = 0_usize;
            for word in node.as_str().split([' ', '\t']) {
                if !word.is_empty() {
                    let is_first = self.tokens.len() == before;
                    self.push(word, start + at, is_close && is_first, false);
                }
                at += word.len() + 1;
            }
        }
        if self.tokens.len() > before {
            let is_sign = rule == Rule::minus && matches!(parent, Rule::operand | Rule::signed);
            self.opens = rule == Rule::opening || is_sign;
        }
    }

    fn push(&mut self, text: &str, start: usize, is_close: bool, is_text: bool) {
        self.tokens.push(Token {
            text: text.to_owned(),
            start,
            end: start + text.len(),
            is_close,
            is_text,
        });
    }
}

/// The tokens side by side.
pub(super) fn joined(tokens: &[Token]) -> String {
    let mut text = String::new();
    for token in tokens {
        if !token.is_close && !text.is_empty() {
            text.push(' ');
        }
        text.push_str(&token.text);
    }
    text
}

/// The width of a text as a reader sees it: its characters.
pub(super) fn width(text: &str) -> usize {
    text.chars().count()
}
