//! The three hashes of the tree: of nothing, of a leaf, of a node.

use std::fmt;

use sha2::{Digest, Sha256};

/// SHA-256, 32 bytes; shown in lower-case hexadecimal.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash(pub [u8; Hash::BYTES]);

impl Hash {
    /// The length of a hash.
    pub const BYTES: usize = 32;

    /// The hash in these bytes, if they are 32.
    pub fn of_slice(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Hash)
    }

    /// The bytes.
    pub fn as_bytes(&self) -> &[u8; Hash::BYTES] {
        &self.0
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digit = |four: u8| {
            if four < 10 {
                b'0' + four
            } else {
                b'a' - 10 + four
            }
        };
        let text = self.0.map(|byte| [digit(byte >> 4), digit(byte & 0x0f)]);
        let text = str::from_utf8(text.as_flattened());
        formatter.write_str(text.map_err(|_| fmt::Error)?)
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, formatter)
    }
}

/// The root of a tree without leaves: the hash of the empty string.
pub fn empty_root() -> Hash {
    Hash(Sha256::digest([]).into())
}

/// The hash of a leaf: SHA-256 of 0x00 and the leaf's bytes.
pub fn leaf_hash(leaf: &[u8]) -> Hash {
    let mut hash = Sha256::new();
    hash.update([0x00]);
    hash.update(leaf);
    Hash(hash.finalize().into())
}

/// The hash of a node: SHA-256 of 0x01 and the hashes of the two below it.
pub fn node_hash(left: &Hash, right: &Hash) -> Hash {
    let mut hash = Sha256::new();
    hash.update([0x01]);
    hash.update(left.0);
    hash.update(right.0);
    Hash(hash.finalize().into())
}
