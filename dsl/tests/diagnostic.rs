//! Findings with their places resolved, and what a terminal shows of them.

use loftwright_dsl::diagnostic::{
    Code, Diagnostic, Layout, Lines, locate, render_for_terminal, render_in_layout, render_short,
};
use loftwright_dsl::syntax::{Folder, SourceFile, Span};

const TEXT: &str = "# Für Linkshänder\nlet tilt = 1 deg\nlet turn = \"größer\" deg\n";

/// A folder of one file, and a finding on `deg` of its last line and on `tilt` of the one before.
fn finding() -> (Folder, Diagnostic) {
    let mut folder = Folder::new();
    let file = folder.push(SourceFile {
        layer: "house".to_owned(),
        name: "house/turns.rules".to_owned(),
        text: TEXT.to_owned(),
    });
    let place = |start: Option<usize>, length: usize| {
        let start = start.unwrap_or_default();
        let end = start + length;
        Span { file, start, end }
    };
    let finding = Diagnostic::error(Code::TypeMismatch, place(TEXT.rfind("deg"), 3), "no number")
        .labelled("here")
        .also_at(place(TEXT.find("tilt"), 4), "and here")
        .with_operand("`x`", "angle")
        .with_operand("`turn`", "text")
        .with_help("write a number");
    (folder, finding)
}

#[test]
fn columns_count_characters_and_bytes_count_bytes() {
    let lines = Lines::of(TEXT);
    let position = |byte| {
        let found = lines.position(byte);
        (found.byte, found.line, found.column)
    };
    assert_eq!(position(0), (0, 1, 1));
    // `ü` has two bytes; a place inside it is the letter's.
    assert_eq!(position(3), (3, 1, 4));
    assert_eq!(position(4), (3, 1, 4));
    assert_eq!(position(5), (5, 1, 5));
    let second_line = "# Für Linkshänder\n".len();
    assert_eq!(position(second_line - 1), (second_line - 1, 1, 18));
    assert_eq!(position(second_line), (second_line, 2, 1));
    assert_eq!(position(TEXT.len()), (TEXT.len(), 4, 1));
    assert_eq!(position(TEXT.len() + 9), (TEXT.len(), 4, 1));
    assert_eq!(Lines::of("").position(0).line, 1);
}

#[test]
fn every_place_of_a_finding_is_resolved() {
    let (folder, finding) = finding();
    let located = &locate(&folder, std::slice::from_ref(&finding))[0];
    assert_eq!(located.code, "L0303");
    assert_eq!(
        (located.place.file.as_str(), located.place.layer.as_str()),
        ("house/turns.rules", "house")
    );
    let start = located.place.span.start;
    assert_eq!((start.line, start.column), (3, 21));
    assert_eq!(
        TEXT.get(start.byte..located.place.span.end.byte),
        Some("deg")
    );
    let other = &located.labels[0];
    assert_eq!(
        (other.place.span.start.line, other.place.span.end.column),
        (2, 9)
    );
    assert_eq!(
        (located.label.as_str(), other.text.as_str()),
        ("here", "and here")
    );
}

#[test]
fn places_of_one_file_are_one_excerpt_and_operands_are_lined_up() {
    let (folder, finding) = finding();
    let expected = "\
error[L0303]: no number
 --> house/turns.rules:3:21
  |
2 | let tilt = 1 deg
  |     ---- and here
3 | let turn = \"größer\" deg
  |                     ^^^ here
  |
  = `x`     angle
    `turn`  text
  = help: write a number

";
    assert_eq!(render_for_terminal(&folder, &[finding], false), expected);
}

#[test]
fn the_short_form_is_a_line_for_each_finding() {
    let (folder, finding) = finding();
    let expected = "house/turns.rules:3:21: error[L0303]: no number\n";
    assert_eq!(
        render_short(&folder, &[finding.clone(), finding]),
        expected.repeat(2)
    );
}

#[test]
fn colours_are_there_only_where_they_are_asked_for() {
    let (folder, finding) = finding();
    let findings = [finding];
    assert!(render_for_terminal(&folder, &findings, true).contains('\u{1b}'));
    assert!(!render_for_terminal(&folder, &findings, false).contains('\u{1b}'));
}

#[test]
fn a_source_line_is_cut_to_the_width() {
    let mut folder = Folder::new();
    let text = format!("let x = 1 # {}\n", "long ".repeat(60));
    let file = folder.push(SourceFile {
        layer: "house".to_owned(),
        name: "a.rules".to_owned(),
        text,
    });
    let span = Span {
        file,
        start: 4,
        end: 5,
    };
    let findings = [Diagnostic::note(
        Code::Unused,
        span,
        "nothing uses the let `x`",
    )];
    let widest = |width| {
        let layout = Layout {
            width,
            ..Layout::PLAIN
        };
        let text = render_in_layout(&folder, &findings, layout);
        text.lines().map(|line| line.chars().count()).max()
    };
    assert!(widest(60) <= Some(60), "{:?}", widest(60));
    assert!(widest(200) > Some(150), "{:?}", widest(200));
}
