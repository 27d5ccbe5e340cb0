//! The first pass over a file: comments and line ends become spaces, byte for byte.
//!
//! What comes out has the length of what went in, so every place in it is the place in the file.
//! Texts keep their bytes. Characters that a rule may not hold are reported here, and read as their
//! plain ones.

use std::collections::BTreeSet;

use super::characters::{BadCharacter, bad_anywhere, bad_in_rules, code_point, is_harmless};
use super::findings::Findings;
use super::{Comment, limits};
use crate::diagnostic::{Code, Diagnostic};

/// One line of the file, as it stands.
#[derive(Clone, Copy, Debug)]
pub(super) struct PhysicalLine {
    pub(super) start: usize,
    /// The line end is not part of it.
    pub(super) end: usize,
    /// Whether a finding already says that it cannot be read.
    pub(super) is_damaged: bool,
}

/// The masked text with its lines, and the comments that were taken out.
#[derive(Debug)]
pub(super) struct Masked {
    pub(super) text: String,
    pub(super) lines: Vec<PhysicalLine>,
    pub(super) comments: Vec<Comment>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Rules,
    /// Since this place; whether a typographic quote opened it, which only such a one or a plain
    /// one closes.
    Text {
        start: usize,
        is_typographic: bool,
    },
    Comment {
        start: usize,
    },
}

struct Masker<'a> {
    source: &'a str,
    findings: &'a mut Findings,
    bytes: Vec<u8>,
    lines: Vec<PhysicalLine>,
    comments: Vec<Comment>,
    state: State,
    line_start: usize,
    is_damaged: bool,
    /// A character is reported once a line.
    reported: BTreeSet<char>,
}

/// Masks a whole file.
pub(super) fn mask(source: &str, findings: &mut Findings) -> Masked {
    // A file may be all line ends and comments: as much memory as they need, and no more.
    let lines = 1 + source.matches('\n').count();
    let comments = source.matches('#').count().min(lines);
    let mut masker = Masker {
        source,
        findings,
        bytes: Vec::with_capacity(source.len()),
        lines: Vec::with_capacity(lines),
        comments: Vec::with_capacity(comments),
        state: State::Rules,
        line_start: 0,
        is_damaged: false,
        reported: BTreeSet::new(),
    };
    masker.run();
    Masked {
        // Only whole characters were replaced, and by ASCII.
        text: String::from_utf8(masker.bytes).unwrap_or_default(),
        lines: masker.lines,
        comments: masker.comments,
    }
}

impl Masker<'_> {
    fn run(&mut self) {
        let mut characters = self.source.char_indices().peekable();
        // A byte order mark before the first line is an editor's habit, not a slip.
        if let Some((_, mark)) = characters.next_if(|(_, character)| *character == '\u{feff}') {
            self.put_spaces(mark);
            self.line_start = mark.len_utf8();
        }
        while let Some((offset, character)) = characters.next() {
            let next = characters.peek().map(|(_, next)| *next);
            match (self.state, character) {
                (_, '\n') => {
                    self.end_line(offset);
                    self.bytes.push(b' ');
                    self.line_start = offset + 1;
                }
                (_, '\r') if next == Some('\n') => self.bytes.push(b' '),
                (State::Comment { .. }, _) => {
                    self.check(offset, character, bad_anywhere(character));
                    self.put_spaces(character);
                }
                (State::Text { .. }, '\\') => {
                    self.put(character);
                    match next {
                        Some('"' | '\\') => {
                            characters.next();
                            self.bytes
                                .extend(next.and_then(|next| u8::try_from(next).ok()));
                        }
                        _ => self.report_escape(offset, next),
                    }
                }
                (State::Text { is_typographic, .. }, _) => {
                    self.in_text(offset, character, is_typographic);
                }
                (State::Rules, '#') => {
                    self.state = State::Comment { start: offset };
                    self.put_spaces(character);
                }
                (State::Rules, '"') if self.follows_a_digit() => self.report_inches(offset),
                (State::Rules, _) => self.in_rules(offset, character),
            }
        }
        self.end_line(self.source.len());
    }

    fn in_text(&mut self, offset: usize, character: char, is_typographic: bool) {
        let closes = is_quote(character) && (character == '"' || is_typographic);
        if closes {
            self.state = State::Rules;
            // The mark comes last, so that the text ends where the character ends.
            self.bytes
                .extend(std::iter::repeat_n(b' ', character.len_utf8() - 1));
            self.bytes.push(b'"');
            return;
        }
        match bad_anywhere(character) {
            Some(bad) => {
                self.check(offset, character, Some(bad));
                self.put_spaces(character);
            }
            None => self.put(character),
        }
    }

    fn in_rules(&mut self, offset: usize, character: char) {
        let bad = bad_anywhere(character).or_else(|| bad_in_rules(character));
        self.check(offset, character, bad);
        if is_quote(character) {
            self.state = State::Text {
                start: offset,
                is_typographic: character != '"',
            };
        }
        match bad {
            None => self.put(character),
            Some(bad) if bad.read_as == b'_' => self
                .bytes
                .extend(std::iter::repeat_n(b'_', character.len_utf8())),
            Some(bad) => {
                self.bytes.push(bad.read_as);
                self.bytes
                    .extend(std::iter::repeat_n(b' ', character.len_utf8() - 1));
            }
        }
    }

    fn end_line(&mut self, newline: usize) {
        let before = self.source.get(self.line_start..newline).unwrap_or("");
        let line = before.strip_suffix('\r').unwrap_or(before);
        let end = self.line_start + line.len();
        match self.state {
            State::Rules => {}
            State::Comment { start } => {
                let span = self.findings.span(start, end);
                self.comments.push(Comment { span });
            }
            State::Text { start, .. } => {
                self.is_damaged = true;
                let finding = Diagnostic::error(
                    Code::Syntax,
                    self.findings.span(start, end),
                    "a text that is not closed on its line",
                )
                .labelled("it begins here")
                .with_help(
                    "close it with `\"`; a long text goes on in another one on the next line",
                );
                self.findings.push(finding);
            }
        }
        self.state = State::Rules;
        if !limits::LINE.allows(line.len()) {
            self.is_damaged = true;
            let message = format!("a line of {} bytes", line.len());
            let finding = Diagnostic::error(
                Code::LimitExceeded,
                self.findings.span(self.line_start, self.line_start),
                message,
            )
            .with_help(limits::LINE.to_string());
            self.findings.push(finding);
        }
        self.lines.push(PhysicalLine {
            start: self.line_start,
            end,
            is_damaged: self.is_damaged,
        });
        self.is_damaged = false;
        self.reported.clear();
    }

    fn check(&mut self, offset: usize, character: char, bad: Option<BadCharacter>) {
        let Some(bad) = bad else { return };
        if !is_harmless(bad) && !matches!(self.state, State::Comment { .. }) {
            self.is_damaged = true;
        }
        if !self.reported.insert(character) {
            return;
        }
        let code_point = code_point(character);
        let message = if bad_anywhere(character).is_some() {
            format!("{} ({code_point})", bad.name)
        } else {
            format!(
                "`{character}` is {} ({code_point}), which stands in texts and comments only",
                bad.name
            )
        };
        let span = self.findings.span(offset, offset + character.len_utf8());
        let finding = Diagnostic::error(Code::BadCharacter, span, message);
        self.findings.push(match bad.instead {
            "" if bad.read_as == b'_' => {
                finding.with_help("names are of `a` to `z`, digits and `_`")
            }
            "" => finding.with_help("delete it"),
            "a space" => finding.with_help("write a space"),
            // Right behind a figure it would be read as a part of it.
            instead if bad.read_as == b' ' && self.follows_a_digit() => {
                finding.with_help(format!("write a space and `{instead}`"))
            }
            instead => finding.with_help(format!("write `{instead}`")),
        });
    }

    /// Whether a mark stands right behind a figure: `5"`, where no text can begin.
    fn follows_a_digit(&self) -> bool {
        self.bytes.len() > self.line_start && self.bytes.last().is_some_and(u8::is_ascii_digit)
    }

    /// `5"` and `5'10"`: the marks of a tape measure.
    fn report_inches(&mut self, offset: usize) {
        let before = self.source.get(self.line_start..offset).unwrap_or("");
        let is_of_number =
            |character: char| character.is_ascii_digit() || matches!(character, '.' | '/' | '\'');
        let start = before
            .rfind(|character| !is_of_number(character))
            .map_or(0, |place| place + 1);
        let written = before.get(start..).unwrap_or("");
        let right = match written.split_once('\'') {
            Some((feet, inches)) => format!("{feet} ft {inches} in"),
            None => format!("{written} in"),
        };
        let span = self.findings.span(self.line_start + start, offset + 1);
        let finding = Diagnostic::near_miss(span, &format!("{written}\""), &right);
        self.findings.push(finding);
        self.is_damaged = true;
        self.put(' ');
    }

    fn report_escape(&mut self, offset: usize, next: Option<char>) {
        self.is_damaged = true;
        let next = next.filter(|next| !next.is_control());
        let shown = next.map_or_else(String::new, String::from);
        let end = offset + 1 + shown.len();
        let finding = Diagnostic::error(
            Code::Syntax,
            self.findings.span(offset, end),
            format!("`\\{shown}` in a text"),
        )
        .with_help("a backslash stands before `\"` or another backslash only");
        self.findings.push(finding);
    }

    fn put(&mut self, character: char) {
        let mut buffer = [0; 4];
        self.bytes
            .extend_from_slice(character.encode_utf8(&mut buffer).as_bytes());
    }

    fn put_spaces(&mut self, character: char) {
        self.bytes
            .extend(std::iter::repeat_n(b' ', character.len_utf8()));
    }
}

/// Whether the character opens a text: the plain quote, or one of the typographic ones, which are
/// reported and read as plain.
fn is_quote(character: char) -> bool {
    character == '"' || bad_in_rules(character).is_some_and(|bad| bad.read_as == b'"')
}
