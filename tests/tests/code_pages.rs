//! The page of each code: its form, and its examples, run.
//!
//! Codes of parts (`P…`) are run by a test of the server, `parts_pages.rs`; what all pages have in
//! common stands here.
//!
//! The rules of an example stand in a house on `corpus/base.rules`, as those of the corpus do. What
//! is fenced `rules earns` earns the page's code and nothing else; what is fenced `rules` earns
//! nothing at all, notes of other codes aside.

use std::collections::BTreeSet;

use loftwright_dsl::diagnostic::{Code, Severity, render_for_terminal};
use loftwright_tests::house::findings;
use loftwright_tests::workshop::{root, sorted_files};

/// Codes whose example is shortened on the page (`rules shortened`), each with the reason; the
/// corpus has the whole.
const SHORTENED: &[(Code, &str)] = &[(Code::TooManyCells, "a table of sixty rows is no page")];

/// The headings of every page, in their order.
const HEADINGS: [&str; 3] = ["## Rules that earn it", "## Put right", "## Why"];
/// The headings of the page of a code of parts.
const HEADINGS_OF_PARTS: [&str; 3] = ["## A file that earns it", "## Put right", "## Why"];

/// The fenced blocks of a page: what stands after the fence, and the text.
fn blocks(page: &str) -> Vec<(&str, String)> {
    let mut blocks = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if let Some(mark) = line.strip_prefix("```") {
            let inside: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            blocks.push((mark, inside.join("\n") + "\n"));
        }
    }
    blocks
}

fn is_shortened(code: Code) -> bool {
    SHORTENED.iter().any(|(shortened, _)| *shortened == code)
}

/// What is wrong with the examples of a page.
fn faults(code: Code) -> Vec<String> {
    let mut faults = Vec::new();
    let mut marks = BTreeSet::new();
    for (mark, rules) in blocks(code.page()) {
        marks.insert(mark.to_owned());
        let (folder, found) = findings("page.rules", &rules);
        // A note on something else is no fault of an example.
        let codes: BTreeSet<Code> = found
            .iter()
            .filter(|finding| finding.code == code || finding.severity != Severity::Note)
            .map(|finding| finding.code)
            .collect();
        let is_right = match mark {
            "rules earns" => codes == BTreeSet::from([code]),
            "rules" => codes.is_empty(),
            _ => mark == "rules shortened" && is_shortened(code),
        };
        if !is_right {
            let shown = render_for_terminal(&folder, &found, false);
            faults.push(format!("{code}, `{mark}` comes to {codes:?}:\n{shown}"));
        }
    }
    let wrong = if is_shortened(code) {
        "rules shortened"
    } else {
        "rules earns"
    };
    if !marks.contains(wrong) || !marks.contains("rules") {
        faults.push(format!("{code}: a page has a `{wrong}` and a `rules`"));
    }
    faults
}

#[test]
fn the_examples_of_the_pages_are_what_they_say() {
    let faults: Vec<String> = Code::ALL
        .iter()
        .filter(|code| !code.is_of_parts())
        .flat_map(|code| faults(*code))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_pages_have_one_form() {
    for code in Code::ALL {
        let page = code.page();
        assert!(
            page.starts_with(&format!("# {code}: {}\n\n", code.title())),
            "{code} begins with its code and title"
        );
        let title = code.title();
        assert!(
            !title.is_empty() && !title.ends_with('.'),
            "{code}: {title}"
        );
        let headings: Vec<&str> = page
            .lines()
            .filter(|line| line.starts_with("## "))
            .collect();
        let expected = match code.is_of_parts() {
            true => HEADINGS_OF_PARTS,
            false => HEADINGS,
        };
        assert_eq!(headings, expected, "{code}");
        let wide = page.lines().find(|line| line.chars().count() > 100);
        // A line of an example may be as long as it needs.
        assert!(
            wide.is_none() || wide.is_some_and(|line| line.starts_with("  ") || code.is_of_parts()),
            "{code}: {wide:?}"
        );
        assert!(page.ends_with(".\n"), "{code} ends with a sentence");
    }
}

#[test]
fn no_two_codes_have_one_title_or_text() {
    let titles: BTreeSet<&str> = Code::ALL.iter().map(|code| code.title()).collect();
    let texts: BTreeSet<&str> = Code::ALL.iter().map(|code| code.text()).collect();
    assert_eq!(titles.len(), Code::ALL.len());
    assert_eq!(texts.len(), Code::ALL.len());
}

#[test]
fn no_page_is_left_of_a_code_that_is_gone() {
    let pages = sorted_files(&root().join("dsl/src/diagnostic/pages"), "md");
    let names: Vec<&str> = pages
        .iter()
        .map(|path| path.file_stem().unwrap().to_str().unwrap())
        .collect();
    let mut codes: Vec<&str> = Code::ALL.iter().map(|code| code.text()).collect();
    codes.sort_unstable();
    assert_eq!(names, codes);
}

#[test]
fn a_code_is_found_as_people_write_it() {
    assert_eq!(Code::of_text("l0301"), Some(Code::UnknownName));
    assert_eq!(Code::of_text("L0301"), Some(Code::UnknownName));
    assert_eq!(Code::of_text("301"), None);
}
