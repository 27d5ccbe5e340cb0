//! Diagnostics with their places resolved: what JSON, the API and the editor are made from.
//!
//! A [`Diagnostic`] knows files by id and places by bytes. Here a place has its file's name, its
//! layer, and lines and columns as people count them: from 1, a column a character. The field names
//! of the JSON are those of these types, and are stable.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Diagnostic, Label, Operand, Severity, Witness};
use crate::syntax::{FileId, Folder, Span};

/// A finding with all its places resolved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Located {
    /// The stable code, such as `L0301`.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// One sentence, the user's own text in backticks.
    pub message: String,
    /// The place it speaks of first.
    #[serde(flatten)]
    pub place: Place,
    /// What is said at that place; may be empty.
    pub label: String,
    /// Other places that belong to it.
    pub labels: Vec<LocatedLabel>,
    /// The values that do not go together, each with what it measures.
    pub operands: Vec<Operand>,
    /// What to do, or what else is known.
    pub help: Vec<String>,
    /// A player who shows it, where one was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub witness: Option<Witness>,
}

impl Located {
    /// The operands under each other, what they measure in a column of its own.
    pub fn operand_lines(&self) -> Vec<String> {
        operand_lines(&self.operands)
    }
}

/// The operands under each other, what they measure in a column of its own.
pub(super) fn operand_lines(operands: &[Operand]) -> Vec<String> {
    let widths = operands.iter().map(|operand| operand.text.chars().count());
    let width = widths.max().unwrap_or(0);
    let line = |operand: &Operand| format!("{:width$}  {}", operand.text, operand.measures);
    operands.iter().map(line).collect()
}

/// Another place of a finding, with what is said there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LocatedLabel {
    /// The place.
    #[serde(flatten)]
    pub place: Place,
    /// What is said there.
    pub text: String,
}

/// A place in a file of a layer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The file by the name it is shown by.
    pub file: String,
    /// The layer that the file belongs to.
    pub layer: String,
    /// From where to where.
    pub span: LocatedSpan,
}

/// A range of a file's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct LocatedSpan {
    /// The first character.
    pub start: Position,
    /// One past the last character.
    pub end: Position,
}

/// One position in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Position {
    /// In bytes, from 0.
    pub byte: usize,
    /// The line, from 1.
    pub line: usize,
    /// The column, from 1, in characters.
    pub column: usize,
}

/// Where the lines of a text begin; made once for many positions.
#[derive(Clone, Debug)]
pub struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    /// The lines of a text.
    pub fn of(text: &'a str) -> Self {
        let after_ends = text.match_indices('\n').map(|(place, _)| place + 1);
        let starts = std::iter::once(0).chain(after_ends).collect();
        Lines { text, starts }
    }

    /// The position of a byte. A byte inside a character is that character; one past the end of the
    /// text is its end.
    pub fn position(&self, byte: usize) -> Position {
        let byte = self.text.floor_char_boundary(byte);
        let line = self.starts.partition_point(|start| *start <= byte);
        let start = self.starts.get(line.saturating_sub(1)).copied();
        let before = self.text.get(start.unwrap_or(0)..byte).unwrap_or("");
        Position {
            byte,
            line,
            column: before.chars().count() + 1,
        }
    }
}

/// Resolves the places of findings, in the order given.
pub fn locate(folder: &Folder, diagnostics: &[Diagnostic]) -> Vec<Located> {
    let mut locator = Locator::new(folder);
    let located = |diagnostic| locator.locate(diagnostic);
    diagnostics.iter().map(located).collect()
}

/// Resolves places of a folder; the lines of a file are counted once.
#[derive(Debug)]
pub struct Locator<'a> {
    folder: &'a Folder,
    lines: BTreeMap<FileId, Lines<'a>>,
}

impl<'a> Locator<'a> {
    /// For the files of a folder.
    pub fn new(folder: &'a Folder) -> Self {
        Locator {
            folder,
            lines: BTreeMap::new(),
        }
    }

    /// A finding with its places resolved.
    pub fn locate(&mut self, diagnostic: &Diagnostic) -> Located {
        let labels = diagnostic.secondary.iter();
        Located {
            code: diagnostic.code.text(),
            severity: diagnostic.severity,
            message: diagnostic.message.clone(),
            place: self.place(diagnostic.primary.span),
            label: diagnostic.primary.text.clone(),
            labels: labels.map(|label| self.label(label)).collect(),
            operands: diagnostic.operands.clone(),
            help: diagnostic.help.clone(),
            witness: diagnostic.witness.clone(),
        }
    }

    /// A place with its file, layer, lines and columns.
    pub fn place(&mut self, span: Span) -> Place {
        let folder = self.folder;
        let file = &folder[span.file];
        let lines = self.lines.entry(span.file);
        let lines = lines.or_insert_with(|| Lines::of(&file.text));
        Place {
            file: file.name.clone(),
            layer: file.layer.clone(),
            span: LocatedSpan {
                start: lines.position(span.start),
                end: lines.position(span.end),
            },
        }
    }

    fn label(&mut self, label: &Label) -> LocatedLabel {
        LocatedLabel {
            place: self.place(label.span),
            text: label.text.clone(),
        }
    }
}
