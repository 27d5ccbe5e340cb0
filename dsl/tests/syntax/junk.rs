//! Broken rules of every kind: no panic, and every finding is at a place of the text.

use super::corpus::CORPUS;
use super::read;

/// The linear congruential generator of Knuth's MMIX: the same numbers in every run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits") % end.max(1)
    }
}

fn holds_together(text: &str) {
    let read = read(text);
    for finding in &read.diagnostics {
        let labels = std::iter::once(&finding.primary).chain(&finding.secondary);
        for label in labels {
            let (start, end) = (label.span.start, label.span.end);
            assert!(text.get(start..end).is_some(), "{start}..{end} of\n{text}");
        }
        assert!(!finding.message.contains("kw_"), "{}", finding.message);
        assert!(
            !finding.message.starts_with("expected something else"),
            "{} in\n{text}",
            finding.message
        );
        assert!(!finding.message.contains("EOI"), "{}", finding.message);
        assert!(!finding.message.ends_with('.'), "{}", finding.message);
    }
    let is_lost = read.declarations.iter().any(|one| one.is_damaged);
    assert!(
        !is_lost || !read.diagnostics.is_empty(),
        "damage without a finding in\n{text}"
    );
    for declaration in &read.declarations {
        assert!(
            text.get(declaration.span.start..declaration.span.end)
                .is_some()
        );
    }
}

#[test]
fn rules_with_pieces_taken_out_put_in_or_swapped() {
    const PIECES: &[&str] = &[
        "(",
        ")",
        "\"",
        "\\",
        "#",
        "\n",
        "\r\n",
        "\t",
        "\0",
        "−",
        " ",
        "“",
        "é",
        ",",
        ":",
        "=",
        "-",
        "/",
        "1/2",
        "5 deg",
        "5deg",
        "2026-13-45",
        "D2",
        "under",
        "through",
        "gives",
        "because",
        "if",
        "the",
        "or",
        "and",
        "not",
        "unknown",
        "decide",
        "\nby",
        "\n  by ",
        "replace ",
        "\n  then ",
        ".",
        "..",
    ];
    let mut numbers = Numbers(2_026);
    for _ in 0..400 {
        for (_, text) in CORPUS {
            let lines: Vec<&str> = text.split_inclusive('\n').collect();
            let first = numbers.below(lines.len());
            let count = 1 + numbers.below(12);
            let some = lines.iter().skip(first).take(count);
            let mut broken: Vec<char> = some.flat_map(|line| line.chars()).collect();
            for _ in 0..=numbers.below(4) {
                let piece = PIECES[numbers.below(PIECES.len())];
                break_once(&mut broken, piece, &mut numbers);
            }
            holds_together(&broken.into_iter().collect::<String>());
        }
    }
}

/// Takes something out, puts a piece in or swaps two characters.
fn break_once(broken: &mut Vec<char>, piece: &str, numbers: &mut Numbers) {
    let place = numbers.below(broken.len());
    match numbers.below(3) {
        0 => {
            let end = (place + 1 + numbers.below(6)).min(broken.len());
            broken.drain(place.min(end)..end);
        }
        1 => {
            broken.splice(place..place, piece.chars());
        }
        _ if broken.is_empty() => {}
        _ => {
            let other = numbers.below(broken.len());
            broken.swap(place, other);
        }
    }
}

#[test]
fn words_of_the_language_in_any_order() {
    let words: Vec<&str> = CORPUS
        .iter()
        .flat_map(|(_, text)| text.split_whitespace())
        .collect();
    let mut numbers = Numbers(14);
    for _ in 0..1_500 {
        let mut text = String::new();
        for _ in 0..=numbers.below(30) {
            text.push_str(words[numbers.below(words.len())]);
            text.push_str(["\n", " ", " ", " ", "\n  ", "\n    "][numbers.below(6)]);
        }
        holds_together(&text);
    }
}

#[test]
fn every_beginning_of_a_file() {
    for (_, text) in CORPUS {
        for end in (0..text.len()).step_by(41) {
            if let Some(beginning) = text.get(..end) {
                holds_together(beginning);
            }
        }
    }
}

#[test]
fn nothing_and_odd_ends() {
    for text in [
        "",
        "\n",
        "\r\n",
        " ",
        "#",
        "\"",
        "\\",
        "(",
        ")",
        "let",
        "let a",
        "let a =",
        "replace",
        "drop",
        "drop case",
        "\u{feff}",
        "\u{feff}\u{feff}let a = 1",
        "case \"",
        "reads part",
        "é",
    ] {
        holds_together(text);
    }
}

#[test]
fn what_the_fuzzers_found() {
    // A declaration that ended inside a pasted sign of three bytes.
    holds_together("let a = 1\n\u{2212}\n\u{2212}\n");
}
