//! Which rule a line is of: found by the words it begins with.

use super::reading::{Node, Reading};
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::nearest::nearest;
use crate::syntax::reader::{Line, first_word, short, tokens};

/// A clause of a declaration.
#[derive(Clone, Copy, Debug)]
pub(super) struct Clause {
    /// The words it begins with, as people quote it.
    pub(super) words: &'static str,
    /// The rule of its line.
    pub(super) rule: Rule,
    /// Whether it may stand once only.
    pub(super) is_single: bool,
}

/// A clause that may stand once.
pub(super) const fn once(words: &'static str, rule: Rule) -> Clause {
    Clause {
        words,
        rule,
        is_single: true,
    }
}

/// A clause that may stand several times.
pub(super) const fn many(words: &'static str, rule: Rule) -> Clause {
    Clause {
        words,
        rule,
        is_single: false,
    }
}

impl<'a> Reading<'a, '_> {
    /// Reads a line of a declaration of `kind` as one of its clauses. `None` where it is none of
    /// them, cannot be read, or stands a second time: all reported.
    pub(super) fn clause(
        &mut self,
        kind: &str,
        clauses: &[Clause],
        line: Line,
    ) -> Option<Node<'a>> {
        let text = self.text_of(line);
        let found = clauses
            .iter()
            .find(|clause| begins_with(text, clause.words))
            .or_else(|| {
                let word = first_word(text);
                clauses
                    .iter()
                    .find(|clause| first_word(clause.words) == word)
            });
        match found {
            Some(clause) => self.known_clause(clause, line),
            None => {
                if line.is_damaged {
                    self.damage();
                } else {
                    self.unknown_clause(kind, clauses, line);
                }
                None
            }
        }
    }

    /// Reads a line as the clause that it is.
    pub(super) fn known_clause(&mut self, clause: &Clause, line: Line) -> Option<Node<'a>> {
        if clause.is_single && !self.first_time(clause.words, self.line_span(line)) {
            return None;
        }
        self.parse(line, clause.rule)
    }

    /// Whether a clause that may stand once stands for the first time; a second one is reported.
    pub(super) fn first_time(&mut self, words: &'static str, span: Span) -> bool {
        if let Some(first) = self.clauses.get(words).copied() {
            let finding = Diagnostic::error(
                Code::ClauseCount,
                span,
                format!("a second `{words}` in one declaration"),
            )
            .also_at(first, "the first one");
            self.fail_with(finding);
            return false;
        }
        self.clauses.insert(words, span);
        true
    }

    /// Reports a line that is none of the clauses.
    pub(super) fn unknown_clause(&mut self, kind: &str, clauses: &[Clause], line: Line) {
        let text = self.text_of(line);
        let (place, token) = tokens(text, 0, text.len()).next().unwrap_or((0, text));
        let span = Span {
            start: line.start + place,
            end: line.start + place + token.len(),
            ..self.line_span(line)
        };
        let finding = Diagnostic::error(
            Code::Syntax,
            span,
            format!("`{}` begins no line of {kind}", short(token)),
        );
        let firsts = clauses.iter().map(|clause| first_word(clause.words));
        let finding = match nearest(token, firsts) {
            Some(meant) => {
                let whole = clauses
                    .iter()
                    .find(|clause| first_word(clause.words) == meant)
                    .map_or(meant, |clause| clause.words);
                finding.with_help(format!("did you mean `{whole}`?"))
            }
            None if clauses.is_empty() => finding
                .with_help("it stands on one line; a longer expression goes on inside parentheses"),
            None => {
                let all: Vec<_> = clauses.iter().map(|clause| clause.words).collect();
                finding.with_help(format!("its lines begin with one of: {}", all.join(", ")))
            }
        };
        self.fail_with(finding);
    }

    /// Reports every line below a declaration that has none.
    pub(super) fn no_clauses(&mut self, kind: &str, body: &[Line]) {
        for line in body {
            self.clause(kind, &[], *line);
        }
    }

    /// Reports a clause that is missing, unless a line that could be it was not read.
    pub(super) fn missing(&mut self, span: Span, message: &str, help: &str) {
        if self.is_damaged() {
            return;
        }
        let finding = Diagnostic::error(Code::ClauseCount, span, message).with_help(help);
        self.fail_with(finding);
    }
}

/// Whether a line begins with the words of a phrase, however they are spaced.
pub(super) fn begins_with(text: &str, words: &str) -> bool {
    let mut line = tokens(text, 0, text.len()).map(|(_, token)| token);
    words.split(' ').all(|word| line.next() == Some(word))
}
