//! A page of the reference: its fenced blocks, each with what its info string says of it.

use std::fs;
use std::path::{Path, PathBuf};

use loftwright_tests::workshop::{root, sorted_files};

/// What is done with a fenced block; the reference's contents page says the same to readers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Declarations that join those of the page.
    Rules,
    /// A whole layer of its own.
    RulesAlone,
    /// Declarations that stand word for word in the engine's contract.
    RulesContract,
    /// Declarations that are refused, with exactly these codes, beside those of the page.
    RulesRefused(Vec<String>),
    /// Declarations that are accepted with exactly these warnings, beside those of the page.
    RulesWarned(Vec<String>),
    /// Lines of the finding that the block before it earns.
    Finding,
    /// Readings and kept clubs.
    Player,
    /// Catalogue and stock.
    Parts,
    /// What the page's rules say to the last player and parts.
    Answer,
    /// How sure the page's rules say that they are of the last player.
    Sure,
    /// A piece of grammar, which nothing runs.
    Grammar,
}

/// A fenced block.
#[derive(Clone, Debug)]
pub(crate) struct Block {
    /// The page and line, for messages.
    pub(crate) place: String,
    /// What is done with it.
    pub(crate) kind: Kind,
    /// What stands in it.
    pub(crate) text: String,
}

/// A page.
pub(crate) struct Page {
    /// The file's name.
    pub(crate) name: String,
    /// Its whole text.
    pub(crate) text: String,
    /// Its blocks in order.
    pub(crate) blocks: Vec<Block>,
}

/// Pages that tests of the server run.
const OF_THE_SERVER: [&str; 3] = ["tutorial", "parts-folders", "rosters"];

pub(crate) fn folder() -> PathBuf {
    root().join("dsl/reference")
}

/// The pages of the reference, but for the tutorial and the pages of parts folders and rosters:
/// their commands and files are run by tests of the server.
pub(crate) fn pages() -> Vec<Page> {
    let paths = sorted_files(&folder(), "md").into_iter();
    paths
        .filter(|path| !OF_THE_SERVER.contains(&path.file_stem().unwrap().to_str().unwrap()))
        .map(|path| page(&path))
        .collect()
}

fn page(path: &Path) -> Page {
    let name = path.file_name().unwrap().to_str().unwrap().to_owned();
    let text = fs::read_to_string(path).unwrap();
    let mut blocks = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((number, line)) = lines.next() {
        let Some(info) = line.trim_start().strip_prefix("```") else {
            continue;
        };
        let place = format!("{name}:{}", number + 1);
        let inside = lines.by_ref().map(|(_, line)| line);
        let inside: Vec<&str> = inside.take_while(|line| line.trim() != "```").collect();
        blocks.push(Block {
            kind: kind(info.trim())
                .unwrap_or_else(|| panic!("{place}: `{info}` is no kind of block")),
            text: inside.join("\n") + "\n",
            place,
        });
    }
    Page { name, text, blocks }
}

fn kind(info: &str) -> Option<Kind> {
    Some(match info {
        "rules" => Kind::Rules,
        "rules alone" => Kind::RulesAlone,
        "rules contract" => Kind::RulesContract,
        "finding" => Kind::Finding,
        "player" => Kind::Player,
        "parts" => Kind::Parts,
        "answer" => Kind::Answer,
        "sure" => Kind::Sure,
        "grammar" => Kind::Grammar,
        _ => {
            let codes = |text: &str| text.split(' ').map(str::to_owned).collect();
            let warned = info.strip_prefix("rules warned ");
            match info.strip_prefix("rules refused ") {
                Some(refused) => Kind::RulesRefused(codes(refused)),
                None => Kind::RulesWarned(codes(warned?)),
            }
        }
    })
}

#[test]
fn a_block_of_no_known_kind_is_none() {
    for info in ["", "rust", "rules refused", "rules alone L0402", "Rules"] {
        assert_eq!(kind(info), None, "{info}");
    }
    let two = Kind::RulesRefused(vec!["L0401".to_owned(), "L0402".to_owned()]);
    assert_eq!(kind("rules refused L0401 L0402"), Some(two));
}
