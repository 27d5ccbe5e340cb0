//! Diagnostics for a terminal: the source line, a caret under the place, the help below.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use super::{Diagnostic, Label, Severity};
use crate::syntax::Folder;

/// Renders diagnostics as text, in the order given; `coloured` adds ANSI colours.
pub fn render_for_terminal(folder: &Folder, diagnostics: &[Diagnostic], coloured: bool) -> String {
    let renderer = if coloured {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let mut text = String::new();
    for diagnostic in diagnostics {
        text.push_str(&render_one(&renderer, folder, diagnostic));
        text.push_str("\n\n");
    }
    text
}

fn render_one(renderer: &Renderer, folder: &Folder, diagnostic: &Diagnostic) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group = level
        .primary_title(diagnostic.message.as_str())
        .id(diagnostic.code.text())
        .element(snippet(
            folder,
            &diagnostic.primary,
            AnnotationKind::Primary,
        ));
    for label in &diagnostic.secondary {
        group = group.element(snippet(folder, label, AnnotationKind::Context));
    }
    for help in &diagnostic.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    renderer.render(&[group])
}

fn snippet<'a>(
    folder: &'a Folder,
    label: &'a Label,
    kind: AnnotationKind,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let file = &folder[label.span.file];
    let annotation = kind.span(label.span.start..label.span.end);
    let annotation = if label.text.is_empty() {
        annotation
    } else {
        annotation.label(label.text.as_str())
    };
    Snippet::source(file.text.as_str())
        .path(file.name.as_str())
        .annotation(annotation)
}
