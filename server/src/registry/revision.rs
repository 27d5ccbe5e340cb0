//! Revisions: what identifies the exact source of a ruleset, and the source read back.

use std::fmt::{self, Debug, Formatter, Write};
use std::sync::Arc;

use loftwright_dsl::check::{LayerSource, builds_on};
use loftwright_dsl::syntax::Folder;
use sha2::{Digest, Sha256};

/// The name of the layer that lies under all others.
pub const CONTRACT_LAYER: &str = "contract";

/// What the bytes of a source begin with.
const HEAD: &[u8] = b"loftwright revision 1\n";

/// The exact source of a ruleset.
#[derive(Clone, PartialEq, Eq)]
pub struct Source {
    /// What identifies it: SHA-256 of the bytes, in lower-case hexadecimal.
    pub revision: String,
    /// The files of all layers, byte for byte, in the order of layer and name, each text with its
    /// length before it, so that no two folders share a source.
    pub bytes: Arc<[u8]>,
}

impl Debug for Source {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
        let mut shown = formatter.debug_struct("Source");
        shown
            .field("revision", &self.revision)
            .finish_non_exhaustive()
    }
}

/// The source of a ruleset of these layers.
///
/// Unlike the digests of meaning and text its revision moves with a comment: it names what was
/// published, not what it means.
pub fn source_of(folder: &Folder) -> Source {
    let mut files: Vec<_> = folder
        .iter()
        .map(|file| (file.layer.as_str(), base_name(&file.name), &file.text))
        .collect();
    files.sort_unstable();
    let mut bytes = HEAD.to_vec();
    for (layer, name, text) in files {
        for part in [layer, name, text] {
            bytes.extend(part.len().to_string().as_bytes());
            bytes.push(b'\n');
            bytes.extend(part.as_bytes());
        }
    }
    let revision = Sha256::digest(&bytes)
        .iter()
        .fold(String::new(), |mut hexadecimal, byte| {
            // Writing to a string cannot fail.
            let _ = write!(hexadecimal, "{byte:02x}");
            hexadecimal
        });
    Source {
        revision,
        bytes: bytes.into(),
    }
}

/// Why bytes are no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SourceFault {
    /// They do not begin as a source does.
    #[error("it does not begin as the source of a revision does")]
    Head,
    /// They end within a file, or a length is none.
    #[error("it is cut, or a length in it is wrong, at byte {0}")]
    Cut(usize),
    /// The layers do not build on each other in one line.
    #[error("its layers do not build on each other in one line")]
    Layers,
}

/// The layers of a source, the contract first, the ruleset's own last.
///
/// # Errors
/// [`SourceFault`].
pub fn layers_of_source(bytes: &[u8]) -> Result<Vec<LayerSource>, SourceFault> {
    let mut rest = bytes.strip_prefix(HEAD).ok_or(SourceFault::Head)?;
    let mut layers: Vec<LayerSource> = Vec::new();
    while !rest.is_empty() {
        let cut = SourceFault::Cut(bytes.len().saturating_sub(rest.len()));
        let mut next = || {
            let (text, after) = sized_text(rest)?;
            rest = after;
            Some(text.to_owned())
        };
        let (layer, name, text) = (next().ok_or(cut)?, next().ok_or(cut)?, next().ok_or(cut)?);
        match layers.last_mut() {
            Some(last) if last.name == layer => last.files.push((name, text)),
            _ => layers.push(LayerSource {
                name: layer,
                files: vec![(name, text)],
            }),
        }
    }
    in_order(layers).ok_or(SourceFault::Layers)
}

/// A text with its length before it, and what comes after.
fn sized_text(bytes: &[u8]) -> Option<(&str, &[u8])> {
    let end = bytes.iter().position(|byte| *byte == b'\n')?;
    let (length, after) = bytes.split_at_checked(end)?;
    let length = std::str::from_utf8(length).ok()?.parse().ok()?;
    let (text, after) = after.get(1..)?.split_at_checked(length)?;
    Some((std::str::from_utf8(text).ok()?, after))
}

/// The layers from the lowest up: the contract, then each above the one it builds on.
fn in_order(mut layers: Vec<LayerSource>) -> Option<Vec<LayerSource>> {
    let below: Vec<Option<String>> = layers.iter().map(builds_on).collect();
    let is_built_on = |name: &str| below.iter().flatten().any(|below| below == name);
    let contract = layers
        .iter()
        .position(|layer| layer.name == CONTRACT_LAYER)?;
    let contract = layers.remove(contract);
    let mut top = layers.iter().position(|layer| !is_built_on(&layer.name));
    let mut downwards = Vec::new();
    while let Some(place) = top {
        let layer = layers.swap_remove(place);
        let below = builds_on(&layer);
        top = below.and_then(|below| layers.iter().position(|layer| layer.name == below));
        downwards.push(layer);
    }
    downwards.push(contract);
    downwards.reverse();
    layers.is_empty().then_some(downwards)
}

/// The file's name without its folder: where a person keeps the folder is no part of its source.
fn base_name(shown: &str) -> &str {
    shown.rsplit(['/', '\\']).next().unwrap_or(shown)
}

#[cfg(test)]
mod tests {
    use loftwright_dsl::check::check;
    use loftwright_engine::CONTRACT_VERSION;

    use super::*;
    use crate::files::built_in;
    use crate::files::rules_folder::layers_of_built_in;

    #[test]
    fn a_source_read_back_is_the_same_revision() {
        for name in built_in::ruleset_names() {
            let layers = layers_of_built_in(name).expect("layers");
            let before = check(&layers, CONTRACT_VERSION);
            let source = source_of(&before.folder);
            let again = check(
                &layers_of_source(&source.bytes).expect("a source"),
                CONTRACT_VERSION,
            );
            assert_eq!(source_of(&again.folder), source, "{name}");
            let digests = |program: Option<loftwright_dsl::program::Program>| {
                let digests = program.expect("a program").digests;
                (digests.meaning, digests.text)
            };
            assert_eq!(digests(again.program), digests(before.program), "{name}");
        }
    }

    #[test]
    fn a_source_that_is_cut_says_where() {
        let layers = layers_of_built_in("common").expect("layers");
        let source = source_of(&check(&layers, CONTRACT_VERSION).folder);
        let cut = source.bytes.split_last().expect("bytes").1;
        assert!(matches!(layers_of_source(cut), Err(SourceFault::Cut(place)) if place > 20));
        let other = layers_of_source(b"loftwright parts 1\n");
        assert_eq!(other.err(), Some(SourceFault::Head));
        assert_eq!(layers_of_source(HEAD).err(), Some(SourceFault::Layers));
    }
}
