//! Limits that stand above the single file.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::diagnostic::Code;
use loftwright_dsl::syntax::limits::{FILE, FOLDER};

use super::codes;

/// A contract and a layer whose files together have so many bytes.
fn layers(bytes: usize) -> Vec<LayerSource> {
    let contract = "ruleset contract\n";
    let house = "ruleset house\n";
    let layer = |name: &str, files: Vec<(String, String)>| LayerSource {
        name: name.to_owned(),
        files,
    };
    let mut files = vec![("house.rules".to_owned(), house.to_owned())];
    let mut left = bytes - contract.len() - house.len();
    while left > 0 {
        let length = left.min(FILE.most);
        // Lines short enough, and nothing but blanks.
        let text = format!("{}\n", " ".repeat(1_023)).repeat(length / 1_024);
        let rest = " ".repeat(length - text.len());
        files.push((format!("{}.rules", files.len()), text + &rest));
        left -= length;
    }
    let contract_files = vec![("contract.rules".to_owned(), contract.to_owned())];
    vec![layer("contract", contract_files), layer("house", files)]
}

#[test]
fn a_folder_with_its_layers_has_ten_mebibytes() {
    let output = check(&layers(FOLDER.most), 1);
    assert_eq!(codes(&output), []);
    assert!(output.program.is_some());
    let output = check(&layers(FOLDER.most + 1), 1);
    assert_eq!(codes(&output), [Code::LimitExceeded]);
    assert!(output.diagnostics[0].help[0].contains(FOLDER.name));
    assert!(output.program.is_none());
}
