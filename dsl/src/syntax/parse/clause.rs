//! Which rule a line is of: found by the words it begins with.

use super::reading::{Node, Reading};
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::keyword::is_name;
use crate::syntax::nearest::nearest;
use crate::syntax::reader::{Line, first_word, foreign_comment, short, tokens};

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
        if let Some(help) = foreign_beginning(kind, text, token) {
            self.fail_with(finding.with_help(help));
            return;
        }
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

/// Words that other people begin a line with: the kind of declaration, the word, what is written.
const FOREIGN_BEGINNINGS: &[(&str, &str, &str)] = &[
    (
        "a `decide`",
        "when",
        "write `only when …`, or rows below `by …`",
    ),
    (
        "a `decide`",
        "if",
        "write rows below `by …`, or `gives if … then … otherwise …`",
    ),
    ("a `decide`", "otherwise", "rows stand below `by …`"),
    (
        "a `decide`",
        "default",
        "rows stand below `by …`; the last one may be `otherwise gives …`",
    ),
    ("a `decide`", "returns", "write `gives …`"),
    ("a `decide`", "return", "write `gives …`"),
    ("a `decide`", "note", "write `about \"…\"`"),
    ("a `choose`", "where", "write `needs …`"),
    ("a `choose`", "requires", "write `needs …`"),
    ("a `choose`", "must", "write `needs …`"),
    ("a `choose`", "wants", "write `prefers …`"),
    ("a `choose`", "else", "write `if none on hand, …`"),
    ("a `choose`", "otherwise", "write `if none on hand, …`"),
    ("a `choose`", "sort", "write `ties by …`"),
    ("a `choose`", "order", "write `ties by …`"),
    ("a `case`", "when", "write `given …`"),
    ("a `case`", "if", "write `given …`"),
    ("a `case`", "with", "write `given …`, or `with stock \"…\"`"),
    ("a `case`", "then", "write `expect …`"),
    ("a `case`", "expects", "write `expect …`"),
    ("a `case`", "gives", "write `expect …`"),
    (
        "a `case`",
        "and",
        "each line says `given` or `expect` again",
    ),
    ("an `input`", "range", "write `between … and …`"),
    ("an `input`", "min", "write `between … and …`"),
    ("an `input`", "max", "write `between … and …`"),
    ("an `input`", "from", "write `between … and …`"),
    ("an `input`", "question", "write `ask \"…\"`"),
    ("an `input`", "unit", "write `shown in …`"),
    ("an `input`", "units", "write `shown in …`"),
    ("a `limit`", "message", "write `says \"…\"`"),
    ("a `caution`", "message", "write `says \"…\"`"),
    ("a `limit`", "when", "write `only when …`"),
    ("a `caution`", "when", "write `only when …`"),
    ("a `limit`", "if", "write `only when …`"),
    ("a `caution`", "if", "write `only when …`"),
    ("a `caution`", "during", "write `at …`"),
    ("a `caution`", "while", "write `at …`"),
];

/// What is written instead of a line that begins as in another language.
fn foreign_beginning(kind: &str, text: &str, token: &str) -> Option<String> {
    if foreign_comment(text).is_some() {
        return Some("a comment begins with `#`".to_owned());
    }
    let mut table = FOREIGN_BEGINNINGS.iter();
    if let Some((_, _, help)) = table.find(|(of, word, _)| *of == kind && *word == token) {
        return Some((*help).to_owned());
    }
    let is_reading = kind == "a `case`" && is_name(token) && text.contains('=');
    is_reading
        .then(|| "write `given` before what is measured, `expect` before what comes out".to_owned())
}
