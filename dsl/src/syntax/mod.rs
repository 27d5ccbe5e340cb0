//! The text of rules and the tree read from it.

pub mod source;
pub mod tree;

pub use source::{FileId, Folder, SourceFile, Span};
