//! From lines to the tree.
//!
//! One file a subject: `declaration` and `catalogue` hold what is simple, `decide`, `row`,
//! `choose`, `limit` and `case` what their names say, `expression` and `literal` the values they
//! all share, `clause` finds which rule a line is of, `reading` is what all of them read with.

mod case;
mod catalogue;
mod cell;
mod choose;
mod clause;
mod comparison;
mod decide;
mod declaration;
mod expression;
mod limit;
mod literal;
pub(crate) mod lost;
mod node;
mod reading;

use std::collections::BTreeSet;

use super::findings::Findings;
use super::grammar::Rule;
use super::reader::{Cut, Line, read};
use super::tree::Declaration;
use super::{Comment, FileId, Folder, SourceFile, limits};
use crate::diagnostic::{Code, Diagnostic};
use reading::Reading;

/// What a file holds.
#[derive(Debug)]
pub struct ParsedFile {
    /// The declarations that could be read, in order; see [`Declaration::is_damaged`].
    pub declarations: Vec<Declaration>,
    /// The comments in order.
    pub comments: Vec<Comment>,
    /// The findings in the order of the text.
    pub diagnostics: Vec<Diagnostic>,
    /// The names that are lost with the declarations that could not be read, or not wholly.
    pub lost: BTreeSet<String>,
}

/// A line as it was read, perhaps several lines of the file, for what lays it out anew.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ReadLine {
    /// First byte.
    pub(crate) start: usize,
    /// One past the last byte; a comment behind it is not part of it.
    pub(crate) end: usize,
    /// The rule of `rules.pest` that it is of.
    pub(crate) rule: Rule,
    /// Whether it is the first line of a declaration.
    pub(crate) begins_declaration: bool,
}

/// A file as lines.
#[derive(Debug)]
pub(crate) struct ReadLines {
    /// The text with comments and line ends as spaces, byte for byte.
    pub(crate) masked: String,
    /// The lines in order; those that could not be read are left out.
    pub(crate) lines: Vec<ReadLine>,
    /// The comments in order.
    pub(crate) comments: Vec<Comment>,
    /// The findings in the order of the text.
    pub(crate) diagnostics: Vec<Diagnostic>,
}

/// Reads one file as lines, without the tree.
pub(crate) fn read_lines(file: FileId, source: &SourceFile) -> ReadLines {
    let mut findings = Findings::new(file);
    let read = read(&source.text, &mut findings);
    let mut lines = Vec::new();
    for cut in &read.declarations {
        let (_, read_lines) = parse_declaration(&read.masked, cut, &mut findings);
        let header = cut.lines.first().map(|line| line.start);
        lines.extend(read_lines.iter().map(|(line, rule)| ReadLine {
            start: line.start,
            end: line.end,
            rule: *rule,
            begins_declaration: Some(line.start) == header,
        }));
    }
    // `stands on` is read before the lines above it.
    lines.sort_by_key(|line| line.start);
    ReadLines {
        masked: read.masked,
        lines,
        comments: read.comments,
        diagnostics: findings.in_order(&source.text),
    }
}

/// Reads one file; every line that cannot be read is a finding, and the rest is read.
pub fn parse_file(file: FileId, source: &SourceFile) -> ParsedFile {
    let mut findings = Findings::new(file);
    let read = read(&source.text, &mut findings);
    let mut declarations = Vec::new();
    let mut lost = BTreeSet::new();
    for cut in &read.declarations {
        if findings.are_full() {
            break;
        }
        let (declaration, _) = parse_declaration(&read.masked, cut, &mut findings);
        lost::note_lost(&read.masked, cut, declaration.as_ref(), &mut lost);
        // A pasted sign at its end is one byte of the masked text and several of the source.
        declarations.extend(declaration.map(|mut declaration| {
            declaration.span.end = source.text.ceil_char_boundary(declaration.span.end);
            declaration
        }));
    }
    ParsedFile {
        declarations,
        comments: read.comments,
        diagnostics: findings.in_order(&source.text),
        lost,
    }
}

/// Reads every file of a folder, in the folder's order.
///
/// A folder over the limit is not read at all: the one finding stands on the file that passed it.
pub fn parse_folder(folder: &Folder) -> (Vec<Declaration>, Vec<Diagnostic>) {
    if let Some(finding) = over_the_limit(folder) {
        return (Vec::new(), vec![finding]);
    }
    let mut declarations = Vec::new();
    let mut diagnostics = Vec::new();
    for (id, source) in folder.entries() {
        let parsed = parse_file(id, source);
        declarations.extend(parsed.declarations);
        diagnostics.extend(parsed.diagnostics);
    }
    (declarations, diagnostics)
}

/// The finding where all files of a folder together are over the limit, on the file that passed it.
pub(crate) fn over_the_limit(folder: &Folder) -> Option<Diagnostic> {
    let mut total = 0_usize;
    for (id, source) in folder.entries() {
        total = total.saturating_add(source.text.len());
        if !limits::FOLDER.allows(total) {
            let finding = Diagnostic::error(
                Code::LimitExceeded,
                Findings::new(id).span(0, 0),
                format!("the files of this folder up to here are {total} bytes"),
            );
            return Some(finding.with_help(limits::FOLDER.to_string()));
        }
    }
    None
}

/// The declaration, and its lines with the rules that they are of.
fn parse_declaration(
    masked: &str,
    cut: &Cut,
    findings: &mut Findings,
) -> (Option<Declaration>, Vec<(Line, Rule)>) {
    let Some((header, body)) = cut.lines.split_first() else {
        return (None, Vec::new());
    };
    let findings_before = findings.count();
    let knows_of_damage = cut.lines.iter().any(|line| line.is_damaged);
    let mut reading = Reading::new(masked, findings);
    let declaration = reading.declaration(*header, body);
    let is_damaged = reading.is_damaged();
    let lines = std::mem::take(&mut reading.lines);
    // What is lost is always said: a rule that the tree cannot take would be our own slip.
    let is_lost = declaration.is_none() || is_damaged;
    if is_lost && !knows_of_damage && findings.count() == findings_before {
        let place = findings.span(header.start, header.end);
        let finding = Diagnostic::error(Code::Syntax, place, "this declaration cannot be read");
        findings.push(finding);
    }
    (declaration, lines)
}
