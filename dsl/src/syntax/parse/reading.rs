//! What every part of the parser reads with: a line through a rule, and the small nodes.

use std::collections::BTreeMap;

use pest::Parser;
use pest::iterators::Pair;

use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::explain::explain;
use crate::syntax::findings::Findings;
use crate::syntax::grammar::{Grammar, Rule};
use crate::syntax::keyword::keyword_text;
use crate::syntax::reader::Line;
use crate::syntax::tree::{Name, Text};
use crate::syntax::{Span, limits};

/// A node as pest hands it over.
pub(super) type Node<'a> = Pair<'a, Rule>;

/// Reads the lines of one declaration.
#[derive(Debug)]
pub(super) struct Reading<'a, 'f> {
    masked: &'a str,
    findings: &'f mut Findings,
    /// Where the line at hand begins in the file.
    base: usize,
    /// Values and operators of the line at hand.
    parts: usize,
    is_damaged: bool,
    /// The lines that were read, each with the rule that it is of.
    pub(super) lines: Vec<(Line, Rule)>,
    /// Where each clause stands that may stand once.
    pub(super) clauses: BTreeMap<&'static str, Span>,
}

impl<'a, 'f> Reading<'a, 'f> {
    pub(super) fn new(masked: &'a str, findings: &'f mut Findings) -> Self {
        Reading {
            masked,
            findings,
            base: 0,
            parts: 0,
            is_damaged: false,
            lines: Vec::new(),
            clauses: BTreeMap::new(),
        }
    }

    /// Whether something of the declaration could not be read.
    pub(super) fn is_damaged(&self) -> bool {
        self.is_damaged
    }

    /// Says that something could not be read, which is reported already.
    pub(super) fn damage(&mut self) {
        self.is_damaged = true;
    }

    /// Reports a finding that leaves the declaration whole.
    pub(super) fn report(&mut self, diagnostic: Diagnostic) {
        self.findings.push(diagnostic);
    }

    /// Reports a finding and marks the declaration as not whole.
    pub(super) fn fail(&mut self, code: Code, span: Span, message: impl Into<String>) {
        self.fail_with(Diagnostic::error(code, span, message));
    }

    /// Reports a finding and marks the declaration as not whole.
    pub(super) fn fail_with(&mut self, diagnostic: Diagnostic) {
        self.is_damaged = true;
        self.findings.push(diagnostic);
    }

    /// The text of a line.
    pub(super) fn text_of(&self, line: Line) -> &'a str {
        self.masked.get(line.start..line.end).unwrap_or("")
    }

    /// The place of a line.
    pub(super) fn line_span(&self, line: Line) -> Span {
        self.findings.span(line.start, line.end)
    }

    /// Takes a line through a rule. `None` where it cannot be read, which is reported.
    pub(super) fn parse(&mut self, line: Line, rule: Rule) -> Option<Node<'a>> {
        self.base = line.start;
        self.parts = 0;
        if line.is_damaged {
            self.is_damaged = true;
            return None;
        }
        match Grammar::parse(rule, self.text_of(line)) {
            Ok(mut pairs) => {
                self.lines.push((line, rule));
                pairs.next()
            }
            Err(error) => {
                let finding = explain(self.masked, line, rule, &error, self.findings);
                self.fail_with(finding);
                None
            }
        }
    }

    /// The place of a node.
    pub(super) fn span(&self, node: &Node<'_>) -> Span {
        let start = node.as_span().start();
        // A rule that ends in something optional has taken the spaces before it.
        let length = node.as_str().trim_end().len();
        self.findings
            .span(self.base + start, self.base + start + length)
    }

    /// The user's own text of a place.
    pub(super) fn written(&self, span: Span) -> &'a str {
        self.masked.get(span.start..span.end).unwrap_or("")
    }

    /// Counts one more value or operator of the line. `None` beyond the limit, which is reported.
    pub(super) fn count_part(&mut self, span: Span) -> Option<()> {
        self.parts += 1;
        if limits::EXPRESSION.allows(self.parts) {
            return Some(());
        }
        if self.parts == limits::EXPRESSION.most + 1 {
            let finding = Diagnostic::error(
                Code::LimitExceeded,
                span,
                format!(
                    "more than {} values and operators in one line",
                    limits::EXPRESSION.most
                ),
            )
            .with_help(format!(
                "{}; give a part of it a name with `let`",
                limits::EXPRESSION
            ));
            self.fail_with(finding);
        }
        None
    }

    /// A name.
    pub(super) fn name(&self, node: &Node<'_>) -> Name {
        Name {
            text: node.as_str().to_owned(),
            span: self.span(node),
        }
    }

    /// The first name among the parts of a node.
    pub(super) fn name_in(&self, node: &Node<'_>) -> Option<Name> {
        child(node, Rule::name).map(|name| self.name(&name))
    }

    /// All names among the parts of a node.
    pub(super) fn names_in(&self, node: &Node<'_>) -> Vec<Name> {
        parts(node)
            .filter(|part| part.as_rule() == Rule::name)
            .map(|part| self.name(&part))
            .collect()
    }

    /// The text among the parts of a node: one, or several that are joined.
    pub(super) fn text_in(&self, node: &Node<'_>) -> Option<Text> {
        let node = child(node, Rule::texts).or_else(|| child(node, Rule::text))?;
        let span = self.span(&node);
        let text = if node.as_rule() == Rule::texts {
            parts(&node).map(|part| unescaped(part.as_str())).collect()
        } else {
            unescaped(node.as_str())
        };
        Some(Text { text, span })
    }

    /// `because "…"` among the parts of a node.
    pub(super) fn because_in(&self, node: &Node<'_>) -> Option<Text> {
        child(node, Rule::because).and_then(|because| self.text_in(&because))
    }
}

/// The text between its quotation marks.
fn unescaped(quoted: &str) -> String {
    let inner = quoted
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .unwrap_or(quoted);
    let mut text = String::with_capacity(inner.len());
    let mut characters = inner.chars();
    while let Some(character) = characters.next() {
        match character {
            '\\' => text.extend(characters.next()),
            _ => text.push(character),
        }
    }
    text
}

/// The parts of a node that carry something: no keywords, no punctuation, no end of line.
pub(super) fn parts<'a>(node: &Node<'a>) -> impl Iterator<Item = Node<'a>> + use<'a> {
    node.clone().into_inner().filter(|part| {
        let rule = part.as_rule();
        keyword_text(rule).is_none()
            && !matches!(
                rule,
                Rule::EOI
                    | Rule::colon
                    | Rule::comma
                    | Rule::equals
                    | Rule::less
                    | Rule::opening
                    | Rule::closing
            )
    })
}

/// The first part of a node that is of the rule, keywords included.
pub(super) fn child<'a>(node: &Node<'a>, rule: Rule) -> Option<Node<'a>> {
    node.clone()
        .into_inner()
        .find(|part| part.as_rule() == rule)
}

/// Whether a node has a part of the rule, keywords included.
pub(super) fn has(node: &Node<'_>, rule: Rule) -> bool {
    child(node, rule).is_some()
}

/// The only part of a node that carries something.
pub(super) fn only<'a>(node: &Node<'a>) -> Option<Node<'a>> {
    parts(node).next()
}
