//! Diagnostics for a terminal: the source lines, a caret under the place, the help below.

use annotate_snippets::renderer::DEFAULT_TERM_WIDTH;
use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};

use super::located::{Locator, operand_lines};
use super::{Diagnostic, Label, Severity};
use crate::syntax::{FileId, Folder};

/// How the terminal is that they are shown on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Whether it shows ANSI colours.
    pub is_coloured: bool,
    /// Its width in columns; a source line that is wider is cut.
    pub width: usize,
}

impl Layout {
    /// No colours, and the width of what is no terminal.
    pub const PLAIN: Layout = Layout {
        is_coloured: false,
        width: DEFAULT_TERM_WIDTH,
    };
}

/// Renders diagnostics as text of the usual width, in the order given; `coloured` adds ANSI
/// colours.
pub fn render_for_terminal(folder: &Folder, diagnostics: &[Diagnostic], coloured: bool) -> String {
    let layout = Layout {
        is_coloured: coloured,
        ..Layout::PLAIN
    };
    render_in_layout(folder, diagnostics, layout)
}

/// Renders diagnostics as text for a terminal, in the order given.
pub fn render_in_layout(folder: &Folder, diagnostics: &[Diagnostic], layout: Layout) -> String {
    let renderer = if layout.is_coloured {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let renderer = renderer.term_width(layout.width);
    let mut text = String::new();
    for diagnostic in diagnostics {
        text.push_str(&render_one(&renderer, folder, diagnostic));
        text.push_str("\n\n");
    }
    text
}

/// Renders diagnostics a line each: `house/wedges.rules:3:6: error[L0301]: …`.
pub fn render_short(folder: &Folder, diagnostics: &[Diagnostic]) -> String {
    let mut locator = Locator::new(folder);
    let mut line = |diagnostic: &Diagnostic| {
        let place = locator.place(diagnostic.primary.span);
        let start = place.span.start;
        format!(
            "{}:{}:{}: {}[{}]: {}\n",
            place.file,
            start.line,
            start.column,
            diagnostic.severity.word(),
            diagnostic.code,
            diagnostic.message
        )
    };
    diagnostics.iter().map(&mut line).collect()
}

fn render_one(renderer: &Renderer, folder: &Folder, diagnostic: &Diagnostic) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let title = level
        .primary_title(diagnostic.message.as_str())
        .id(diagnostic.code.text());
    let mut group = Group::with_title(title);
    for snippet in snippets(folder, diagnostic) {
        group = group.element(snippet);
    }
    if !diagnostic.operands.is_empty() {
        let lines = operand_lines(&diagnostic.operands).join("\n");
        group = group.element(Level::NOTE.no_name().message(lines));
    }
    for help in &diagnostic.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    renderer.render(&[group])
}

/// One excerpt for each file: places that stand near each other are seen together.
fn snippets<'a>(
    folder: &'a Folder,
    diagnostic: &'a Diagnostic,
) -> Vec<Snippet<'a, Annotation<'a>>> {
    let mut files: Vec<FileId> = vec![diagnostic.primary.span.file];
    for label in &diagnostic.secondary {
        if !files.contains(&label.span.file) {
            files.push(label.span.file);
        }
    }
    let snippet = |id: FileId| {
        let file = &folder[id];
        let others = diagnostic.secondary.iter();
        let labels = std::iter::once((AnnotationKind::Primary, &diagnostic.primary))
            .chain(others.map(|label| (AnnotationKind::Context, label)))
            .filter(|(_, label)| label.span.file == id);
        Snippet::source(file.text.as_str())
            .path(file.name.as_str())
            .annotations(labels.map(|(kind, label)| annotation(kind, label)))
    };
    files.into_iter().map(snippet).collect()
}

fn annotation(kind: AnnotationKind, label: &Label) -> Annotation<'_> {
    let annotation = kind.span(label.span.start..label.span.end);
    if label.text.is_empty() {
        annotation
    } else {
        annotation.label(label.text.as_str())
    }
}
