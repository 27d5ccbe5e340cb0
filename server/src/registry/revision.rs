//! Revisions: what identifies the exact source of a ruleset.

use std::fmt::{self, Debug, Formatter, Write};
use std::sync::Arc;

use loftwright_dsl::syntax::Folder;
use sha2::{Digest, Sha256};

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
    let mut bytes = b"loftwright revision 1\n".to_vec();
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

/// The file's name without its folder: where a person keeps the folder is no part of its source.
fn base_name(shown: &str) -> &str {
    shown.rsplit(['/', '\\']).next().unwrap_or(shown)
}
