//! The workshop: the rulesets that are served, each with the parts and stock it chooses from.
//!
//! One immutable snapshot: a request looks at one of them from its first line to its last.

use std::collections::BTreeMap;
use std::time::SystemTime;

use loftwright_dsl::program::Program;
use loftwright_engine::parts::Parts;

/// Everything that requests are answered from.
#[derive(Debug, Default)]
pub struct Workshop {
    rulesets: BTreeMap<String, Ruleset>,
    usual: Option<String>,
}

/// A checked ruleset with the parts that were read against it.
#[derive(Debug)]
pub struct Ruleset {
    /// The checked program.
    pub program: Program,
    /// The parts and pieces.
    pub parts: Parts,
    /// What identifies them.
    pub stock: StockIdentity,
}

/// What identifies a snapshot of parts and stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockIdentity {
    /// The name of the stock.
    pub name: String,
    /// SHA-256 over the parts and pieces, in lower-case hexadecimal.
    pub digest: String,
    /// When the stock was last brought up to date, where that is known.
    pub as_of: Option<SystemTime>,
}

/// Why a request's ruleset is not found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotFound {
    /// There is none of the name.
    Unknown,
    /// None was named, and there is no usual one.
    NotNamed,
}

impl Workshop {
    /// A workshop of these rulesets. `usual` is the one taken where a request names none; where
    /// there is only one ruleset, it is that.
    pub fn new(rulesets: Vec<Ruleset>, usual: Option<String>) -> Self {
        let rulesets: BTreeMap<String, Ruleset> = rulesets
            .into_iter()
            .map(|ruleset| (ruleset.program.name.clone(), ruleset))
            .collect();
        let only = (rulesets.len() == 1)
            .then(|| rulesets.keys().next().cloned())
            .flatten();
        Workshop {
            rulesets,
            usual: usual.or(only),
        }
    }

    /// The ruleset of the name; of an empty name, the usual one.
    ///
    /// # Errors
    /// [`NotFound`] where there is none of the name, or none is usual.
    pub fn ruleset(&self, name: &str) -> Result<&Ruleset, NotFound> {
        if !name.is_empty() {
            return self.rulesets.get(name).ok_or(NotFound::Unknown);
        }
        let usual = self.usual.as_ref().ok_or(NotFound::NotNamed)?;
        self.rulesets.get(usual).ok_or(NotFound::Unknown)
    }

    /// The names of the rulesets, sorted.
    pub fn names(&self) -> Vec<String> {
        self.rulesets.keys().cloned().collect()
    }

    /// The rulesets, sorted by name.
    pub fn rulesets(&self) -> impl Iterator<Item = &Ruleset> {
        self.rulesets.values()
    }
}
