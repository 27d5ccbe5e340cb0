//! The findings of the checker, each beside the rules that earn it.
//!
//! `corpus/diagnostics/CODE_what.rules` holds a few lines of a house that builds on
//! `corpus/base.rules`, `CODE_what.txt` what a terminal shows of them. To write the texts anew, and
//! then read them: `UPDATE=1 cargo test --test diagnostics`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use loftwright_dsl::diagnostic::{Code, Diagnostic, render_for_terminal};
use loftwright_dsl::syntax::Folder;
use loftwright_tests::house;
use loftwright_tests::workshop::{root, sorted_files};

/// Codes without a file in the corpus, each with the reason.
const WITHOUT_A_FILE: &[(Code, &str)] = &[];

fn corpus() -> PathBuf {
    root().join("tests/corpus")
}

fn findings(path: &Path) -> (Folder, Vec<Diagnostic>) {
    let name = path.file_name().unwrap().to_str().unwrap();
    house::findings(name, &fs::read_to_string(path).unwrap())
}

#[test]
fn the_base_of_the_corpus_has_no_findings() {
    let folder = root().join("tests/corpus/empty");
    let (folder, findings) = findings(&folder.join("nothing.rules"));
    assert!(
        findings.is_empty(),
        "{}",
        render_for_terminal(&folder, &findings, false)
    );
}

#[test]
fn findings_read_as_they_were_reviewed() {
    let is_update = std::env::var_os("UPDATE").is_some();
    let mut faults = Vec::new();
    for path in sorted_files(&corpus().join("diagnostics"), "rules") {
        let (folder, findings) = findings(&path);
        let rendered = render_for_terminal(&folder, &findings, false);
        let expected = path.with_extension("txt");
        if is_update {
            fs::write(&expected, &rendered).unwrap();
        }
        let name = path.file_stem().unwrap().to_str().unwrap();
        if fs::read_to_string(&expected).unwrap_or_default() != rendered {
            faults.push(format!("{name} now reads:\n{rendered}"));
        }
        let code = name.split('_').next().unwrap();
        if !findings.iter().any(|finding| finding.code.text() == code) {
            faults.push(format!("{name} does not earn {code}:\n{rendered}"));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_code_has_a_file() {
    let files = sorted_files(&corpus().join("diagnostics"), "rules");
    let covered: BTreeSet<String> = files
        .iter()
        .map(|path| path.file_stem().unwrap().to_str().unwrap()[..5].to_owned())
        .collect();
    let excused: BTreeSet<&str> = WITHOUT_A_FILE.iter().map(|(code, _)| code.text()).collect();
    // Those of parts are shown by a test of the server, `parts_pages.rs`.
    for code in Code::ALL.iter().filter(|code| !code.is_of_parts()) {
        let is_covered = covered.contains(code.text());
        let is_excused = excused.contains(code.text());
        assert!(
            is_covered || is_excused,
            "{code} ({code:?}) has no file in the corpus"
        );
        assert!(
            !(is_covered && is_excused),
            "{code} is excused and has a file"
        );
    }
}

/// The sentences keep the house's form: lower case, no full stop, no code of ours inside.
#[test]
fn messages_are_sentences_of_the_house() {
    let mut faults = Vec::new();
    for path in sorted_files(&corpus().join("diagnostics"), "rules") {
        for finding in findings(&path).1 {
            let text = &finding.message;
            let first = text.chars().next().unwrap_or(' ');
            let begins_well = !first.is_uppercase();
            let ends_well = !text.ends_with(['.', '!', ' ']);
            if !begins_well || !ends_well || text.contains('\n') || text.contains("Some(") {
                faults.push(format!("{}: {text}", path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
