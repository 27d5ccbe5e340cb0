//! The reader before the parser: cuts a file into declarations and a declaration into lines.
//!
//! A declaration begins in column 1 and goes on until the next one: this is the error recovery. A
//! line goes on after its end where a parenthesis is open, and where the next line begins with
//! `because` or with a text. What is nested too deep is refused here, before the parser's stack
//! would feel it.

use super::findings::Findings;
use super::keyword::{CLAUSE_WORDS, DECLARATION_WORDS};
use super::masked::{Masked, PhysicalLine, mask};
use super::nearest::nearest;
use super::{Comment, limits};
use crate::diagnostic::{Code, Diagnostic};

/// A line as the parser takes it: perhaps several lines of the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub(super) start: usize,
    pub(super) end: usize,
    /// Whether a finding already says that it cannot be read.
    pub(super) is_damaged: bool,
}

/// One declaration: its first line and the indented ones.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    pub(super) lines: Vec<Line>,
    /// Whether its first line begins no declaration, which is reported.
    is_stray: bool,
    /// Places of the parentheses still open.
    open: Vec<usize>,
}

/// What the reader hands to the parser.
#[derive(Debug)]
pub(super) struct ReadFile {
    pub(super) masked: String,
    pub(super) declarations: Vec<Cut>,
    pub(super) comments: Vec<Comment>,
}

/// Reads a file; a file over the limit comes back empty, with the finding.
pub(super) fn read(source: &str, findings: &mut Findings) -> ReadFile {
    if !limits::FILE.allows(source.len()) {
        let finding = Diagnostic::error(
            Code::LimitExceeded,
            findings.span(0, 0),
            format!("a file of {} bytes", source.len()),
        )
        .with_help(limits::FILE.to_string());
        findings.push(finding);
        return ReadFile {
            masked: String::new(),
            declarations: Vec::new(),
            comments: Vec::new(),
        };
    }
    let Masked {
        text,
        lines,
        comments,
    } = mask(source, findings);
    let mut reader = Reader {
        text: &text,
        findings,
        current: None,
        done: Vec::new(),
        said_stray: false,
    };
    for line in lines {
        reader.line(line);
    }
    reader.finish_declaration();
    let declarations = reader.done;
    ReadFile {
        masked: text,
        declarations,
        comments,
    }
}

struct Reader<'a> {
    text: &'a str,
    findings: &'a mut Findings,
    current: Option<Cut>,
    done: Vec<Cut>,
    /// Whether the stray lines at hand are reported already.
    said_stray: bool,
}

impl Reader<'_> {
    fn line(&mut self, physical: PhysicalLine) {
        let content = self.text.get(physical.start..physical.end).unwrap_or("");
        let trimmed = content.trim_end();
        let indent = trimmed.len() - trimmed.trim_start().len();
        let words = trimmed.trim_start();
        if words.is_empty() {
            return;
        }
        let line = Line {
            start: physical.start + indent,
            end: physical.start + trimmed.len(),
            is_damaged: physical.is_damaged,
        };
        if indent == 0 {
            self.in_column_one(line, words);
        } else if self.is_indented_declaration(words) {
            let word = first_word(words);
            let finding = Diagnostic::error(
                Code::StrayLine,
                self.findings.span(line.start, line.start + word.len()),
                format!("`{word}` begins a declaration and is indented"),
            )
            .with_help("a declaration begins in column 1");
            self.findings.push(finding);
            self.begin(line, false);
        } else {
            self.indented(line, words);
        }
    }

    /// Whether an indented line can only be meant as a declaration: `let` begins a line of a
    /// `choose` too, and a row may begin with a value of any name.
    fn is_indented_declaration(&self, words: &str) -> bool {
        let word = first_word(words);
        let rest = words.get(word.len()..).unwrap_or("").trim_start();
        let is_named = rest.starts_with(|first: char| first.is_ascii_lowercase() || first == '"');
        let is_open = self
            .current
            .as_ref()
            .is_some_and(|cut| !cut.open.is_empty());
        let is_line_of_choose = word == "let" && self.current.is_some();
        let is_declaration = DECLARATION_WORDS.contains(&word) && !is_line_of_choose;
        is_declaration && is_named && !is_open && !looks_like_row(words)
    }

    fn in_column_one(&mut self, line: Line, words: &str) {
        let word = first_word(words);
        if DECLARATION_WORDS.contains(&word) {
            self.begin(line, false);
            return;
        }
        let place = self
            .findings
            .span(line.start, line.start + word.len().max(1));
        if let Some(written) = foreign_comment(words) {
            let span = self.findings.span(line.start, line.start + written.len());
            let finding = Diagnostic::near_miss(span, written, "#");
            self.findings.push(finding);
            return;
        }
        let belongs_above =
            word.is_empty() || CLAUSE_WORDS.contains(&word) || looks_like_row(words);
        if belongs_above && self.current.is_some() {
            let shown = if word.is_empty() { words } else { word };
            let finding = Diagnostic::error(
                Code::StrayLine,
                place,
                format!(
                    "`{}` begins no declaration, but stands in column 1",
                    short(shown)
                ),
            )
            .with_help("what belongs to the declaration above is indented");
            self.findings.push(finding);
            self.indented(line, words);
            return;
        }
        if !line.is_damaged {
            let shown = if word.is_empty() { words } else { word };
            let finding = Diagnostic::error(
                Code::StrayLine,
                place,
                format!("`{}` begins no declaration", short(shown)),
            );
            self.findings
                .push(match nearest(word, DECLARATION_WORDS.iter().copied()) {
                    Some(meant) => finding.with_help(format!("did you mean `{meant}`?")),
                    None => finding.with_help(format!(
                        "a declaration begins with one of: {}",
                        DECLARATION_WORDS.join(", ")
                    )),
                });
        }
        self.begin(line, true);
    }

    fn begin(&mut self, line: Line, is_stray: bool) {
        self.finish_declaration();
        self.said_stray = false;
        let mut cut = Cut {
            lines: vec![line],
            is_stray,
            open: Vec::new(),
        };
        self.count_parentheses(&mut cut, line);
        self.current = Some(cut);
    }

    fn indented(&mut self, line: Line, words: &str) {
        let Some(mut cut) = self.current.take() else {
            if !self.said_stray {
                self.said_stray = true;
                let finding = Diagnostic::error(
                    Code::StrayLine,
                    self.findings.span(line.start, line.end),
                    "an indented line before any declaration",
                )
                .with_help("a declaration begins in column 1");
                self.findings.push(finding);
            }
            return;
        };
        let goes_on =
            !cut.open.is_empty() || words.starts_with('"') || first_word(words) == "because";
        match cut.lines.last_mut() {
            Some(last) if goes_on => {
                last.end = line.end;
                last.is_damaged |= line.is_damaged;
            }
            _ => cut.lines.push(line),
        }
        self.count_parentheses(&mut cut, line);
        self.current = Some(cut);
    }

    fn count_parentheses(&mut self, cut: &mut Cut, line: Line) {
        for (place, token) in tokens(self.text, line.start, line.end) {
            match token {
                "(" => cut.open.push(place),
                ")" => {
                    cut.open.pop();
                }
                _ => {}
            }
        }
    }

    fn finish_declaration(&mut self) {
        let Some(mut cut) = self.current.take() else {
            return;
        };
        if cut.is_stray {
            return;
        }
        let start = cut.lines.first().map_or(0, |line| line.start);
        let end = cut.lines.last().map_or(0, |line| line.end);
        if !limits::DECLARATION.allows(end - start) {
            let first_end = cut.lines.first().map_or(0, |line| line.end);
            let finding = Diagnostic::error(
                Code::LimitExceeded,
                self.findings.span(start, first_end),
                format!("a declaration of {} bytes", end - start),
            )
            .with_help(limits::DECLARATION.to_string());
            self.findings.push(finding);
            return;
        }
        if let Some(place) = cut.open.first().copied() {
            let finding = Diagnostic::error(
                Code::Syntax,
                self.findings.span(place, place + 1),
                "`(` is never closed",
            )
            .with_help("close it with `)` before the declaration ends");
            self.findings.push(finding);
            if let Some(line) = cut.lines.iter_mut().find(|line| line.end > place) {
                line.is_damaged = true;
            }
        }
        for line in &mut cut.lines {
            if let Some((start, end)) = too_deep(self.text, *line) {
                line.is_damaged = true;
                let finding = Diagnostic::error(
                    Code::LimitExceeded,
                    self.findings.span(start, end),
                    format!(
                        "more than {} parentheses inside each other",
                        limits::NESTING.most
                    ),
                )
                .with_help(format!(
                    "{}; give the inner part a name with `let`",
                    limits::NESTING
                ));
                self.findings.push(finding);
            }
        }
        self.done.push(cut);
    }
}

/// The place where a line is nested deeper than the limit.
fn too_deep(text: &str, line: Line) -> Option<(usize, usize)> {
    const OPENING_WORDS: &[&str] = &["if", "where", "larger", "smaller", "each"];
    let mut depth = 0_usize;
    let mut openers = 0_usize;
    for (place, token) in tokens(text, line.start, line.end) {
        match token {
            "(" => depth += 1,
            ")" => depth = depth.saturating_sub(1),
            word if OPENING_WORDS.contains(&word) => openers += 1,
            _ => {}
        }
        if !limits::NESTING.allows(depth + openers) {
            return Some((place, place + token.len()));
        }
    }
    None
}

/// Words, numbers and single signs of masked text with their places; texts are left out.
pub(super) fn tokens(text: &str, start: usize, end: usize) -> impl Iterator<Item = (usize, &str)> {
    let line = text.get(start..end).unwrap_or("");
    let mut at = 0_usize;
    std::iter::from_fn(move || {
        loop {
            let rest = line.get(at..)?;
            let blank = rest.len() - rest.trim_start().len();
            let rest = rest.trim_start();
            at += blank;
            let first = rest.chars().next()?;
            if first == '"' {
                at += text_length(rest);
                continue;
            }
            let length = if is_word_character(first) {
                rest.find(|character| !is_word_character(character))
                    .unwrap_or(rest.len())
            } else {
                first.len_utf8()
            };
            let place = at;
            at += length;
            return rest.get(..length).map(|token| (start + place, token));
        }
    })
}

/// The length of the text that `rest` begins with, its quotes included.
fn text_length(rest: &str) -> usize {
    let mut is_escaped = false;
    for (place, character) in rest.char_indices().skip(1) {
        match character {
            '\\' if !is_escaped => is_escaped = true,
            '"' if !is_escaped => return place + 1,
            _ => is_escaped = false,
        }
    }
    rest.len()
}

/// The word that `text` begins with; empty where it begins with something else.
pub(super) fn first_word(text: &str) -> &str {
    let end = text
        .find(|character| !is_word_character(character))
        .unwrap_or(text.len());
    let word = text.get(..end).unwrap_or("");
    if word.starts_with(|first: char| first.is_ascii_alphabetic() || first == '_') {
        word
    } else {
        ""
    }
}

/// The sign of another language that a line begins a comment with.
pub(super) fn foreign_comment(words: &str) -> Option<&'static str> {
    ["//", "--", "/*", ";"]
        .into_iter()
        .find(|sign| words.starts_with(sign))
}

pub(super) fn is_word_character(character: char) -> bool {
    character.is_ascii_alphanumeric() || character == '_'
}

/// Whether a line has the verb of a row.
pub(super) fn looks_like_row(words: &str) -> bool {
    tokens(words, 0, words.len())
        .any(|(_, token)| matches!(token, "gives" | "moves" | "keeps" | "adds" | "cannot"))
}

/// At most the first 60 characters of the user's text, for a message.
pub(super) fn short(text: &str) -> String {
    const MOST: usize = 60;
    let mut shown: String = text.chars().take(MOST).collect();
    if shown.len() < text.len() {
        shown.push('…');
    }
    shown
}
