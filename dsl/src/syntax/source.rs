//! Source files and places in them.

use crate::arena::{Arena, Id};

/// One `*.rules` file: its name for people and its whole text.
#[derive(Clone, Debug)]
pub struct SourceFile {
    /// The layer it belongs to: `contract`, `common`, a house.
    pub layer: String,
    /// The name it is shown by, such as `common/wedges.rules`.
    pub name: String,
    /// The text as it was read, byte for byte.
    pub text: String,
}

/// The id of a source file.
pub type FileId = Id<SourceFile>;

/// All files that a check reads, of all layers.
pub type Folder = Arena<SourceFile>;

/// A place in a file: a range of bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The smallest span that holds both; `other` is of the same file.
    pub fn to(self, other: Span) -> Span {
        Span {
            file: self.file,
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }
}
