//! The findings of one file, as many as the limit allows.

use super::{FileId, Span, limits};
use crate::diagnostic::{Code, Diagnostic};

/// Collects the findings of one file.
#[derive(Debug)]
pub(super) struct Findings {
    file: FileId,
    found: Vec<Diagnostic>,
    too_many: bool,
}

impl Findings {
    pub(super) fn new(file: FileId) -> Self {
        Findings {
            file,
            found: Vec::new(),
            too_many: false,
        }
    }

    /// The place `start..end` of the file.
    pub(super) fn span(&self, start: usize, end: usize) -> Span {
        Span {
            file: self.file,
            start,
            end,
        }
    }

    /// Adds a finding while the limit allows.
    pub(super) fn push(&mut self, diagnostic: Diagnostic) {
        if limits::FINDINGS.allows(self.found.len() + 1) {
            self.found.push(diagnostic);
        } else {
            self.too_many = true;
        }
    }

    /// How many there are.
    pub(super) fn count(&self) -> usize {
        self.found.len()
    }

    /// Whether nothing more will be taken.
    pub(super) fn are_full(&self) -> bool {
        self.too_many
    }

    /// The findings in the order of the text; a last one says so where there were more.
    ///
    /// A sign that stands for a longer pasted one is a part of it: its place becomes the whole.
    pub(super) fn in_order(mut self, source: &str) -> Vec<Diagnostic> {
        for diagnostic in &mut self.found {
            let secondary = diagnostic.secondary.iter_mut();
            for label in secondary.chain([&mut diagnostic.primary]) {
                label.span.start = source.floor_char_boundary(label.span.start);
                label.span.end = source.ceil_char_boundary(label.span.end);
            }
        }
        self.found
            .sort_by_key(|diagnostic| (diagnostic.primary.span.start, diagnostic.primary.span.end));
        if self.too_many {
            let last = self
                .found
                .last()
                .map_or_else(|| self.span(0, 0), |diagnostic| diagnostic.primary.span);
            let message = format!(
                "more than {} findings in this file; the others are not shown",
                limits::FINDINGS.most
            );
            self.found.push(
                Diagnostic::error(Code::LimitExceeded, last, message)
                    .with_help(limits::FINDINGS.to_string()),
            );
        }
        self.found
    }
}
