//! Files that use every form of the language are read without a finding.

use loftwright_dsl::syntax::{Folder, SourceFile, keywords, parse_folder};

use super::{read, told};

pub(crate) const CORPUS: &[(&str, &str)] = &[
    ("vocabulary", include_str!("corpus/vocabulary.rules")),
    ("decisions", include_str!("corpus/decisions.rules")),
    ("choices", include_str!("corpus/choices.rules")),
    ("contract", include_str!("corpus/contract.rules")),
];

/// How many lines begin a declaration.
fn beginnings(text: &str) -> usize {
    text.lines()
        .filter(|line| line.starts_with(|first: char| first.is_ascii_lowercase()))
        .count()
}

#[test]
fn every_file_is_read_whole() {
    for (name, text) in CORPUS {
        let read = read(text);
        assert_eq!(told(text, &read.diagnostics), [""; 0], "{name}");
        assert_eq!(read.declarations.len(), beginnings(text), "{name}");
        assert!(
            read.declarations
                .iter()
                .all(|declaration| !declaration.is_damaged)
        );
    }
}

#[test]
fn a_folder_is_read_in_its_order() {
    let mut folder = Folder::new();
    for (name, text) in CORPUS {
        folder.push(SourceFile {
            layer: "trial".to_owned(),
            name: format!("{name}.rules"),
            text: (*text).to_owned(),
        });
    }
    let (declarations, findings) = parse_folder(&folder);
    assert!(findings.is_empty());
    let all: usize = CORPUS.iter().map(|(_, text)| beginnings(text)).sum();
    assert_eq!(declarations.len(), all);
    let places: Vec<_> = declarations
        .iter()
        .map(|declaration| declaration.span)
        .collect();
    assert!(places.is_sorted());
}

#[test]
fn the_corpus_uses_every_keyword() {
    let spaced: Vec<String> = CORPUS
        .iter()
        .map(|(_, text)| text.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    for keyword in keywords() {
        assert!(
            spaced.iter().any(|text| text.contains(keyword)),
            "`{keyword}` is nowhere in the corpus"
        );
    }
}

#[test]
fn windows_line_ends_change_places_only() {
    for (name, text) in CORPUS {
        let windows = text.replace('\n', "\r\n");
        let read_windows = read(&windows);
        assert_eq!(told(&windows, &read_windows.diagnostics), [""; 0], "{name}");
        let read_unix = read(text);
        assert_eq!(
            read_windows.declarations.len(),
            read_unix.declarations.len()
        );
        for (one, other) in read_windows
            .declarations
            .iter()
            .zip(&read_unix.declarations)
        {
            let windows_text = &windows[one.span.start..one.span.end];
            let unix_text = &text[other.span.start..other.span.end];
            assert_eq!(windows_text.replace("\r\n", "\n"), unix_text);
        }
        assert_eq!(
            read_windows
                .comments
                .iter()
                .map(|comment| comment.text(&windows))
                .collect::<Vec<_>>(),
            read_unix
                .comments
                .iter()
                .map(|comment| comment.text(text))
                .collect::<Vec<_>>()
        );
    }
}
