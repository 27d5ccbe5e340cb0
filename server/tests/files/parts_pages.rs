//! The pages about parts folders, run: those of the codes of findings, and the reference's page.
//!
//! A block is fenced `csv PATH` or `toml PATH`: a file of a parts folder that is read without a
//! finding. On the page of a code `earns` before the path says that the file earns the page's code
//! and no other, and `with …` that it stands beside those that follow. In the reference files join
//! those before them, and `refused P0201 …` names exactly the codes that a file earns; a block
//! `finding` is what is said of it. The rules are those of `tests/corpus/base.rules`.
//!
//! What a terminal shows of the files that earn their code stands in `tests/corpus/parts`. To write
//! it anew, and then read it: `UPDATE=1 cargo test -p loftwright-server --test files pages`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::diagnostic::{Code, render_for_terminal};
use loftwright_dsl::program::Program;
use loftwright_engine::{CONTRACT_RULES, CONTRACT_VERSION};
use loftwright_server::files::{PartsFiles, TextFile, findings};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn base_program() -> Program {
    let base = fs::read_to_string(root().join("tests/corpus/base.rules")).expect("the base");
    let layer = |name: &str, text: &str| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    };
    let layers = [layer("contract", CONTRACT_RULES), layer("base", &base)];
    check(&layers, CONTRACT_VERSION).program.expect("a program")
}

/// Files by path and text.
type Files = Vec<(String, String)>;

/// The files with another one, or with another text of one.
fn with(files: &Files, path: &str, text: &str) -> Files {
    let mut files = files.clone();
    files.retain(|(known, _)| known != path);
    files.push((path.to_owned(), text.to_owned()));
    files.sort();
    files
}

/// The codes that files earn, and what a terminal shows of them.
fn found(program: &Program, files: &Files) -> (BTreeSet<String>, String) {
    let files = files.iter().map(|(path, text)| TextFile {
        path: path.clone(),
        shown: path.clone(),
        text: text.clone(),
    });
    let files = PartsFiles::of(files.collect());
    let faults = files.parts(program).err().unwrap_or_default();
    let (folder, found) = findings("parts", files.files(), &faults);
    let codes = found
        .iter()
        .map(|finding| finding.code.text().to_owned())
        .collect();
    (codes, render_for_terminal(&folder, &found, false))
}

/// The fenced blocks of a page: the words after the fence, and the text.
fn blocks(page: &str) -> Vec<(Vec<&str>, String)> {
    let mut blocks = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if let Some(mark) = line.strip_prefix("```") {
            let inside: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            blocks.push((mark.split(' ').collect(), inside.join("\n") + "\n"));
        }
    }
    blocks
}

fn codes_of_parts() -> impl Iterator<Item = Code> {
    let codes = Code::ALL.iter().copied();
    codes.filter(|code| code.is_of_parts())
}

/// What is wrong with the examples of a code's page.
fn faults_of(program: &Program, code: Code, is_update: bool) -> Vec<String> {
    let mut faults = Vec::new();
    let mut beside = Files::new();
    let (mut is_earned, mut is_put_right) = (false, false);
    for (mark, text) in blocks(code.page()) {
        let (path, earns) = match mark.as_slice() {
            [_, "with", path] => {
                beside = with(&beside, path, &text);
                (*path, false)
            }
            [_, "earns", path] => (*path, true),
            [_, path] => (*path, false),
            _ => panic!("{code}: {mark:?} is no kind of block"),
        };
        let (codes, shown) = found(program, &with(&beside, path, &text));
        let expected = earns.then(|| code.text().to_owned());
        if codes != expected.into_iter().collect() {
            faults.push(format!("{code}, {mark:?} comes to {codes:?}:\n{shown}"));
        }
        is_earned |= earns;
        is_put_right |= mark.len() == 2;
        let known = root().join(format!("tests/corpus/parts/{code}.txt"));
        if earns && is_update {
            fs::write(&known, &shown).expect("it is written");
        }
        if earns && fs::read_to_string(&known).unwrap_or_default() != shown {
            faults.push(format!("{code} now reads:\n{shown}"));
        }
    }
    if !is_earned || !is_put_right {
        faults.push(format!(
            "{code}: a page has a file that earns it and one put right"
        ));
    }
    faults
}

#[test]
fn the_examples_of_the_codes_pages_are_what_they_say() {
    let is_update = std::env::var_os("UPDATE").is_some();
    let program = base_program();
    let faults: Vec<String> = codes_of_parts()
        .flat_map(|code| faults_of(&program, code, is_update))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_text_is_left_of_a_codes_page_that_is_gone() {
    let folder = fs::read_dir(root().join("tests/corpus/parts")).expect("the corpus");
    let names: BTreeSet<String> = folder
        .map(|entry| entry.expect("an entry").file_name())
        .map(|name| name.to_string_lossy().replace(".txt", ""))
        .collect();
    let codes: BTreeSet<String> = codes_of_parts()
        .map(|code| code.text().to_owned())
        .collect();
    assert_eq!(names, codes);
}

#[test]
fn the_references_page_of_parts_folders_does_what_it_says() {
    let program = base_program();
    let page = root().join("dsl/reference/parts-folders.md");
    let page = fs::read_to_string(page).expect("the page");
    let mut files = Files::new();
    let mut said = String::new();
    let mut count = 0;
    for (mark, text) in blocks(&page) {
        let (path, codes): (&str, &[&str]) = match mark.as_slice() {
            ["grammar"] => continue,
            ["finding"] => {
                for line in text.lines() {
                    assert!(said.contains(line), "`{line}` is not said:\n{said}");
                }
                continue;
            }
            [_, "refused", codes @ .., path] => (path, codes),
            [_, path] => (path, &[]),
            _ => panic!("{mark:?} is no kind of block"),
        };
        let now = with(&files, path, &text);
        let (earned, shown) = found(&program, &now);
        said = shown;
        assert!(earned.iter().eq(codes), "{mark:?} earns {earned:?}\n{said}");
        if codes.is_empty() {
            files = now;
        }
        count += 1;
    }
    assert!(count > 8, "{count}");
}
