//! The index of names: where each is declared and used, what is said of it, and renaming.

#![expect(
    clippy::expect_used,
    clippy::panic,
    clippy::string_slice,
    reason = "a panic is how a test fails"
)]

mod names;
mod rename;

use loftwright_dsl::check::LayerSource;
use loftwright_dsl::index::{DeclarationId, Index, index};
use loftwright_dsl::syntax::FileId;

/// Layers put on top of each other, lowest first, the first being the contract.
fn layers(texts: &[&str]) -> Vec<LayerSource> {
    let names = ["contract", "common", "house"];
    let layer = |(name, text): (&str, &&str)| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), format!("ruleset {name}\n{text}"))],
    };
    names.into_iter().zip(texts).map(layer).collect()
}

/// The index of one layer of rules on top of an empty contract.
fn index_of(rules: &str) -> Index {
    index(&layers(&["", rules]), 1)
}

/// The place of the mark `^` in the rules, which is taken out of them.
fn marked(rules: &str) -> (Index, FileId, usize) {
    let (before, after) = rules.split_once('^').expect("a mark");
    let index = index_of(&format!("{before}{after}"));
    let file = last_file(&index);
    (index, file, "ruleset common\n".len() + before.len())
}

/// The file of the highest layer.
fn last_file(index: &Index) -> FileId {
    index.folder.ids().next_back().expect("a file")
}

/// The declaration that a plain name stands for.
#[track_caller]
fn named(index: &Index, name: &str) -> DeclarationId {
    index
        .named(name)
        .unwrap_or_else(|| panic!("{name} is declared"))
}
