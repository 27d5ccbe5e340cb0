//! Seeds for the fuzzers, and a small deterministic mutator of them.
//!
//! The seeds are what the repository holds of rules: the shipped rulesets, the corpora, and rules
//! made up from a seed. A mutation puts in, takes out, doubles, swaps or mixes pieces of them.

use std::fs;
use std::path::Path;

use crate::generator::Random;
use crate::workshop::{root, sorted_files};

/// Folders with rules, from the root of the repository.
const FOLDERS: [&str; 4] = [
    "rulesets/common",
    "rulesets/skerry",
    "tests/corpus",
    "tests/corpus/diagnostics",
];

/// What is put in: signs and words that turn a line into another, and what nobody types.
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
    ",",
    ":",
    "=",
    "<",
    "/",
    "-",
    "1/2",
    "1/0",
    "0",
    "99999999999999999999",
    "1e5",
    " deg",
    " in",
    " mph",
    "D2",
    "2026-02-30",
    "\u{2212}",
    "\u{a0}",
    "\u{feff}",
    "é",
    "\u{1d11e}",
    " and ",
    " or ",
    " not ",
    " unknown",
    " any ",
    " otherwise",
    " through ",
    " under ",
    " gives ",
    " keeps",
    " because \"x\"",
    ", if unknown keeps",
    ", first",
    "previous",
    "its ",
    "club.",
    " where ",
    " of the first ",
    "\n  then by ",
    "\n  needs ",
    "\nlet ",
    "\ndecide ",
    "\ncase \"x\"\n  expect ",
    ", for each club",
    "replace ",
    " + ",
    " * ",
    " / ",
    ", rounded to 1",
    ", kept within 1 and 2",
    "{club}",
    "{",
    "}",
];

/// Every rules file of the repository, sorted by folder and name.
pub fn rules_seeds() -> Vec<Vec<u8>> {
    let folders = FOLDERS.iter().map(|folder| root().join(folder));
    folders.flat_map(|folder| texts_of(&folder)).collect()
}

fn texts_of(folder: &Path) -> Vec<Vec<u8>> {
    let files = sorted_files(folder, "rules");
    files.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// One declaration or a few of each seed: small inputs are mutated to more purpose.
pub fn declarations(seeds: &[Vec<u8>]) -> Vec<Vec<u8>> {
    let mut pieces = Vec::new();
    for seed in seeds {
        let text = String::from_utf8_lossy(seed);
        pieces.extend(
            text.split("\n\n")
                .map(|piece| format!("{piece}\n").into_bytes()),
        );
    }
    pieces.sort();
    pieces.dedup();
    pieces
}

/// A mutation of one of the seeds; the same number, the same bytes.
pub fn mutated(seeds: &[Vec<u8>], random: &mut Random) -> Vec<u8> {
    let mut bytes = random.one_of(seeds).clone();
    for _ in 0..=random.below(4) {
        mutate(&mut bytes, seeds, random);
    }
    bytes
}

fn mutate(bytes: &mut Vec<u8>, seeds: &[Vec<u8>], random: &mut Random) {
    let (start, end) = range(bytes.len(), random);
    match random.below(9) {
        0 => {
            bytes.drain(start..end);
        }
        1 => {
            let piece = bytes[start..end].to_vec();
            let at = random.below(bytes.len() + 1);
            bytes.splice(at..at, piece);
        }
        2 if !bytes.is_empty() => {
            let at = random.below(bytes.len());
            bytes[at] ^= 1 << random.below(8);
        }
        3 => {
            let other = random.one_of(seeds);
            let (from, to) = range(other.len(), random);
            bytes.splice(start..start, other[from..to].iter().copied());
        }
        4 => bytes.truncate(start),
        5 => swap_words(bytes, random),
        6 => swap_lines(bytes, random),
        _ => {
            let piece = random.one_of(PIECES).as_bytes().iter().copied();
            let at = random.below(bytes.len() + 1);
            bytes.splice(at..at, piece);
        }
    }
}

/// A piece of up to 40 bytes.
fn range(length: usize, random: &mut Random) -> (usize, usize) {
    let start = random.below(length + 1);
    (start, (start + random.below(40)).min(length))
}

fn swap_words(bytes: &mut Vec<u8>, random: &mut Random) {
    let mut words: Vec<Vec<u8>> = bytes
        .split(|byte| *byte == b' ')
        .map(<[u8]>::to_vec)
        .collect();
    let (one, other) = (random.below(words.len()), random.below(words.len()));
    words.swap(one, other);
    *bytes = words.join(&b' ');
}

fn swap_lines(bytes: &mut Vec<u8>, random: &mut Random) {
    let mut lines: Vec<Vec<u8>> = bytes
        .split(|byte| *byte == b'\n')
        .map(<[u8]>::to_vec)
        .collect();
    let (one, other) = (random.below(lines.len()), random.below(lines.len()));
    if random.chance(50) {
        lines.swap(one, other);
    } else {
        let line = lines[other].clone();
        lines.insert(one, line);
    }
    *bytes = lines.join(&b'\n');
}
