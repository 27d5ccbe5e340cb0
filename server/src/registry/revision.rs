//! Revisions: what identifies the exact source of a ruleset.

use std::fmt::Write;

use loftwright_dsl::syntax::Folder;
use sha2::{Digest, Sha256};

/// The revision of a ruleset: SHA-256, in lower-case hexadecimal, over the files of all its layers,
/// byte for byte.
///
/// Unlike the digests of meaning and text it moves with a comment: it names what was published, not
/// what it means. Files are taken in the order of layer and name, each text with its length before
/// it, so that no two folders share a text.
pub fn revision_of(folder: &Folder) -> String {
    let mut files: Vec<_> = folder
        .iter()
        .map(|file| (file.layer.as_str(), base_name(&file.name), &file.text))
        .collect();
    files.sort_unstable();
    let mut hash = Sha256::new();
    hash.update(b"loftwright revision 1\n");
    for (layer, name, text) in files {
        for part in [layer, name, text] {
            hash.update(part.len().to_string());
            hash.update(b"\n");
            hash.update(part);
        }
    }
    hash.finalize()
        .iter()
        .fold(String::new(), |mut hexadecimal, byte| {
            // Writing to a string cannot fail.
            let _ = write!(hexadecimal, "{byte:02x}");
            hexadecimal
        })
}

/// The file's name without its folder: where a person keeps the folder is no part of its source.
fn base_name(shown: &str) -> &str {
    shown.rsplit(['/', '\\']).next().unwrap_or(shown)
}
