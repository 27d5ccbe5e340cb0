//! The text of rules and the tree read from it.
//!
//! A file goes through four hands. `masked` turns comments into spaces, byte for byte, and names
//! pasted characters. `reader` cuts what is left into declarations at column 1 and into lines, and
//! enforces the [`limits`]. `parse` takes each line through one rule of `rules.pest` and builds the
//! [`tree`]. `explain` says in the trade's words why a line could not be read. So a slip in one
//! line hides neither another line's nor another declaration's.

pub mod limits;
pub mod source;
pub mod tree;

mod characters;
mod explain;
mod findings;
pub(crate) mod grammar;
mod keyword;
mod masked;
pub(crate) mod nearest;
mod parse;
mod reader;
mod text_mate;

pub use keyword::{declaration_words, is_name, is_reserved, keywords};
pub(crate) use parse::lost::RULESET;
pub use parse::{ParsedFile, parse_file, parse_folder};
pub(crate) use parse::{ReadLine, ReadLines, over_the_limit, read_lines};
pub use source::{FileId, Folder, SourceFile, Span};
pub use text_mate::text_mate_grammar;

/// A comment, from its `#` to the end of its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comment {
    /// Where it stands.
    pub span: Span,
}

impl Comment {
    /// Its text with the `#`, from the text of its file.
    pub fn text(self, source: &str) -> &str {
        source.get(self.span.start..self.span.end).unwrap_or("")
    }
}
