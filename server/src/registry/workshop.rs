//! The workshop: the stock, and the rulesets that are served, each with the parts it reads from it.
//!
//! One immutable snapshot: a request looks at one of them from its first line to its last.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::SystemTime;

use loftwright_dsl::program::Program;
use loftwright_engine::parts::Parts;

use super::revision::Source;
use super::stock::Stock;
use crate::files::FileFault;

/// Everything that requests are answered from.
#[derive(Clone, Debug)]
pub struct Workshop {
    rulesets: BTreeMap<String, Arc<Ruleset>>,
    usual: Option<String>,
    stock: Arc<Stock>,
    /// Rulesets whose revision in force cannot be read.
    unreadable: BTreeMap<String, Unreadable>,
}

/// A revision in force that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// The revision.
    pub revision: String,
    /// Why.
    pub why: String,
}

/// A checked ruleset with the parts that were read against it.
#[derive(Debug)]
pub struct Ruleset {
    /// Its exact source, with the revision that identifies it.
    pub source: Source,
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
    /// Its revision in force cannot be read.
    Unreadable(Unreadable),
}

impl Workshop {
    /// A workshop of these rulesets, which have read `stock`. `usual` is the one taken where a
    /// request names none; where there is only one ruleset, it is that.
    pub fn new(rulesets: Vec<Ruleset>, usual: Option<String>, stock: Stock) -> Self {
        let rulesets: BTreeMap<String, Arc<Ruleset>> = rulesets
            .into_iter()
            .map(|ruleset| (ruleset.program.name.clone(), Arc::new(ruleset)))
            .collect();
        let only = (rulesets.len() == 1)
            .then(|| rulesets.keys().next().cloned())
            .flatten();
        Workshop {
            rulesets,
            usual: usual.or(only),
            stock: Arc::new(stock),
            unreadable: BTreeMap::new(),
        }
    }

    /// The same rulesets with another stock, each read against it again.
    ///
    /// # Errors
    /// Every fault of the parts by any of the rulesets, each once.
    pub fn with_stock(&self, stock: Stock) -> Result<Self, Vec<FileFault>> {
        let mut rulesets = BTreeMap::new();
        let mut faults: Vec<FileFault> = Vec::new();
        for (name, ruleset) in &self.rulesets {
            match stock.ruleset(ruleset.program.clone(), ruleset.source.clone()) {
                Ok(read) => {
                    rulesets.insert(name.clone(), Arc::new(read));
                }
                Err(more) => {
                    for fault in more {
                        if !faults.contains(&fault) {
                            faults.push(fault);
                        }
                    }
                }
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(Workshop {
            rulesets,
            usual: self.usual.clone(),
            stock: Arc::new(stock),
            unreadable: self.unreadable.clone(),
        })
    }

    /// The same rulesets with the stock that a log says is in force. Those that cannot read it are
    /// not served.
    #[must_use]
    pub(super) fn begun_with(&self, stock: &Stock) -> Self {
        let mut workshop = self.clone();
        workshop.stock = Arc::new(stock.clone());
        for (name, ruleset) in &self.rulesets {
            let read = stock.ruleset(ruleset.program.clone(), ruleset.source.clone());
            workshop = match read {
                Ok(read) => workshop.with(Arc::new(read)),
                Err(faults) => {
                    let first = faults.first().map_or_else(String::new, ToString::to_string);
                    let why = format!("the parts on hand cannot be read by it: {first}");
                    workshop.with_unreadable(name, &ruleset.source.revision, &why)
                }
            };
        }
        workshop
    }

    /// The ruleset by whose reading a snapshot of the stock is called: the usual one, or the first.
    pub fn reader(&self) -> Option<&Arc<Ruleset>> {
        let usual = self
            .usual
            .as_ref()
            .and_then(|usual| self.rulesets.get(usual));
        usual.or_else(|| self.rulesets.values().next())
    }

    /// The digests of the snapshot, as each ruleset reads it.
    pub fn digests(&self) -> impl Iterator<Item = &str> {
        let rulesets = self.rulesets.values();
        rulesets.map(|ruleset| ruleset.stock.digest.as_str())
    }

    /// The stock that all of them choose from.
    pub fn stock(&self) -> &Arc<Stock> {
        &self.stock
    }

    /// The same workshop with this ruleset in the place of the one of its name.
    #[must_use]
    pub(super) fn with(&self, ruleset: Arc<Ruleset>) -> Self {
        let mut workshop = self.clone();
        workshop.unreadable.remove(&ruleset.program.name);
        let name = ruleset.program.name.clone();
        workshop.rulesets.insert(name, ruleset);
        workshop
    }

    /// The same workshop without a ruleset whose revision in force cannot be read.
    #[must_use]
    pub(super) fn with_unreadable(&self, name: &str, revision: &str, why: &str) -> Self {
        let mut workshop = self.clone();
        workshop.rulesets.remove(name);
        let unreadable = Unreadable {
            revision: revision.to_owned(),
            why: why.to_owned(),
        };
        workshop.unreadable.insert(name.to_owned(), unreadable);
        workshop
    }

    /// The ruleset of the name; of an empty name, the usual one.
    ///
    /// # Errors
    /// [`NotFound`] where there is none of the name, or none is usual.
    pub fn ruleset(&self, name: &str) -> Result<&Arc<Ruleset>, NotFound> {
        let name = match (name, &self.usual) {
            ("", None) => return Err(NotFound::NotNamed),
            ("", Some(usual)) => usual,
            (name, _) => name,
        };
        let unreadable = |found: &Unreadable| NotFound::Unreadable(found.clone());
        self.rulesets.get(name).ok_or_else(|| {
            let found = self.unreadable.get(name);
            found.map_or(NotFound::Unknown, unreadable)
        })
    }

    /// The rulesets, sorted by name.
    pub(super) fn rulesets(&self) -> impl Iterator<Item = &Arc<Ruleset>> {
        self.rulesets.values()
    }

    /// The names of the rulesets, sorted.
    pub fn names(&self) -> Vec<String> {
        self.rulesets.keys().cloned().collect()
    }
}
