//! The limits of the reader, each with its name.
//!
//! They are ours, far below what the parser's stack and memory would take, so that the same file
//! passes or fails on every machine.

use std::fmt;

/// A limit of the reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    /// What people call it.
    pub name: &'static str,
    /// The largest that passes.
    pub most: usize,
    /// What it counts.
    pub unit: &'static str,
}

const fn limit(name: &'static str, most: usize, unit: &'static str) -> Limit {
    Limit { name, most, unit }
}

/// One file: 1 MiB.
pub const FILE: Limit = limit("file size", 1024 * 1024, "bytes");
/// All files of a folder and its layers together: 10 MiB.
pub const FOLDER: Limit = limit("folder size", 10 * 1024 * 1024, "bytes");
/// One line, its line end not counted: 4 KiB.
pub const LINE: Limit = limit("line length", 4 * 1024, "bytes");
/// One declaration with all its lines: 64 KiB.
pub const DECLARATION: Limit = limit("declaration size", 64 * 1024, "bytes");
/// Parentheses inside each other, each word before them that opens an expression of its own (`if`,
/// `where`, `the larger of`, `for each`) counted as one.
pub const NESTING: Limit = limit("nesting", 64, "parentheses");
/// Values and operators in the expressions of one line: what walks the tree walks at most so deep.
pub const EXPRESSION: Limit = limit("expression size", 256, "values and operators");
/// Findings reported for one file.
pub const FINDINGS: Limit = limit("findings in a file", 100, "findings");

impl Limit {
    /// Whether `count` passes.
    pub fn allows(self, count: usize) -> bool {
        count <= self.most
    }
}

impl fmt::Display for Limit {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            formatter,
            "the limit `{}` is {} {}",
            self.name, self.most, self.unit
        )
    }
}
