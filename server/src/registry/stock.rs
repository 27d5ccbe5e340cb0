//! A stock as files, and what it is once rules have read it.

use std::time::SystemTime;

use loftwright_dsl::program::Program;

use super::revision::Source;
use super::workshop::{Ruleset, StockIdentity};
use crate::files::{FileFault, PartsFiles};
use crate::parts_snapshot::parts_digest;

/// The parts and pieces as files, not yet read against rules.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stock {
    /// The name of the stock.
    pub name: String,
    /// The files.
    pub files: PartsFiles,
    /// When the stock was last brought up to date, where that is known.
    pub as_of: Option<SystemTime>,
}

impl Stock {
    /// A program of the given source with this stock read against it.
    ///
    /// # Errors
    /// Every fault of the parts.
    pub fn ruleset(&self, program: Program, source: Source) -> Result<Ruleset, Vec<FileFault>> {
        let parts = self.files.parts(&program)?;
        let stock = StockIdentity {
            name: self.name.clone(),
            digest: parts_digest(&program, &parts),
            as_of: self.as_of,
        };
        Ok(Ruleset {
            source,
            program,
            parts,
            stock,
        })
    }
}
