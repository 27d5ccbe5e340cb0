//! The registry: the revisions that were published, and the workshop in force.
//!
//! Whoever answers takes one snapshot and looks at nothing else until it is done: activation puts a
//! new snapshot beside the old one, which lives on until the last request that began with it ends.
//! Revisions are kept in memory only, so that a restart begins with the rules it is started with.

mod kept;
mod revision;
mod stock;
mod workshop;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::{CaseReport, run_cases};
use loftwright_engine::parts::Parts;

use crate::files::FileFault;

pub use kept::{KeptRulesets, NotKept};
pub use revision::{CONTRACT_LAYER, Source, SourceFault, layers_of_source, source_of};
pub use stock::Stock;
pub use workshop::{NotFound, Ruleset, StockIdentity, Workshop};

/// The most revisions that are kept: they stay in memory.
pub const MOST_REVISIONS: usize = 64;

/// The revisions, and what is in force.
#[derive(Debug)]
pub struct Registry {
    in_force: RwLock<Arc<Workshop>>,
    /// By ruleset and revision.
    published: Mutex<BTreeMap<(String, String), Arc<Ruleset>>>,
    /// Held by whoever changes what is in force, from the first look to the change: a change that
    /// is recorded takes its time between the two.
    acts: tokio::sync::Mutex<()>,
    /// The stocks that cases may name. They stay as they are: what is on hand comes and goes, and a
    /// case would fail for it.
    of_cases: Vec<Stock>,
}

/// Rules that were looked at.
#[derive(Debug)]
pub struct Judged {
    /// What the checker says.
    pub output: CheckOutput,
    /// What the cases came to; absent where the check found an error.
    pub cases: Option<CaseReport>,
    /// The exact source, with its revision.
    pub source: Source,
}

/// What was published.
#[derive(Debug)]
pub struct Published {
    /// The ruleset.
    pub ruleset: Arc<Ruleset>,
    /// Whether the same source was there before.
    pub was_known: bool,
}

/// Why rules are not published.
#[derive(Debug)]
pub enum NotPublished {
    /// The check finds an error, or a case fails.
    Refused,
    /// The parts on hand cannot be read by them.
    Parts(Vec<FileFault>),
    /// So many revisions are kept already.
    TooMany,
}

/// Why a revision is not put in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotActivated {
    /// It was never published here.
    UnknownRevision {
        /// The revisions of the ruleset that were.
        known: Vec<String>,
    },
    /// Another revision is in force than the caller knows.
    OtherInForce {
        /// The revision in force; `None` where there is none.
        in_force: Option<String>,
    },
    /// The parts on hand cannot be read by it.
    Parts(Vec<FileFault>),
}

impl Registry {
    /// A registry in which this workshop is in force. `of_cases` are the stocks that cases
    /// may name; of two of one name the later.
    pub fn new(workshop: Workshop, of_cases: Vec<Stock>) -> Self {
        let published = workshop
            .rulesets()
            .map(|ruleset| (key(ruleset), Arc::clone(ruleset)))
            .collect();
        Registry {
            in_force: RwLock::new(Arc::new(workshop)),
            published: Mutex::new(published),
            acts: tokio::sync::Mutex::default(),
            of_cases,
        }
    }

    /// What is in force now.
    pub fn workshop(&self) -> Arc<Workshop> {
        let in_force = self.in_force.read();
        Arc::clone(&in_force.unwrap_or_else(PoisonError::into_inner))
    }

    /// The right to change what is in force; one act has it at a time.
    pub async fn act(&self) -> tokio::sync::MutexGuard<'_, ()> {
        self.acts.lock().await
    }

    /// Puts a workshop with another stock in force, for all requests at once. `_act` is the right
    /// under which it was made of the one in force.
    pub fn put_in_force(&self, _act: &tokio::sync::MutexGuard<'_, ()>, workshop: Workshop) {
        let mut in_force = self
            .in_force
            .write()
            .unwrap_or_else(PoisonError::into_inner);
        *in_force = Arc::new(workshop);
    }

    /// A revision that is kept. Its parts are those that were on hand when it was published.
    pub fn revision(&self, ruleset: &str, revision: &str) -> Option<Arc<Ruleset>> {
        let place = (ruleset.to_owned(), revision.to_owned());
        self.published().get(&place).map(Arc::clone)
    }

    /// Checks layers, the contract among them, and runs their cases as of `today`.
    pub fn judge(&self, layers: &[LayerSource], today: Date) -> Judged {
        let output = check(layers, CONTRACT_VERSION);
        let source = source_of(&output.folder);
        let cases = output.program.as_ref().map(|program| {
            let stocks = self.stocks_of_cases(program);
            run_cases(program, &stocks, today)
        });
        Judged {
            output,
            cases,
            source,
        }
    }

    /// The stocks that a case may name. One that these rules cannot read is left out, and the case
    /// that names it says so.
    fn stocks_of_cases(&self, program: &Program) -> BTreeMap<String, Parts> {
        self.of_cases
            .iter()
            .filter_map(|stock| Some((stock.name.clone(), stock.files.parts(program).ok()?)))
            .collect()
    }

    /// Keeps judged rules as a revision, or only says whether it would.
    ///
    /// # Errors
    /// [`NotPublished`].
    pub fn publish(&self, judged: &Judged, validate_only: bool) -> Result<Published, NotPublished> {
        let is_passed = judged.cases.as_ref().is_some_and(CaseReport::is_passed);
        let program = match &judged.output.program {
            Some(program) if is_passed => program,
            _ => return Err(NotPublished::Refused),
        };
        let place = (program.name.clone(), judged.source.revision.clone());
        if let Some(ruleset) = self.published().get(&place) {
            return Ok(Published {
                ruleset: Arc::clone(ruleset),
                was_known: true,
            });
        }
        let workshop = self.workshop();
        let ruleset = workshop
            .stock()
            .ruleset(program.clone(), judged.source.clone())
            .map_err(NotPublished::Parts)?;
        let ruleset = Arc::new(ruleset);
        let mut published = self.published();
        if published.len() >= MOST_REVISIONS {
            return Err(NotPublished::TooMany);
        }
        if !validate_only {
            published.insert(place, Arc::clone(&ruleset));
        }
        Ok(Published {
            ruleset,
            was_known: false,
        })
    }

    /// Puts a published revision in force. `expected` is the revision in force as the caller knows
    /// it; the answer is the one that was, and the one that is.
    ///
    /// # Errors
    /// [`NotActivated`]; then nothing has changed.
    pub fn activate(
        &self,
        ruleset: &str,
        revision: &str,
        expected: Option<&str>,
    ) -> Result<(Option<String>, Arc<Ruleset>), NotActivated> {
        let place = (ruleset.to_owned(), revision.to_owned());
        let published = self.published();
        let Some(chosen) = published.get(&place).map(Arc::clone) else {
            let known = published
                .keys()
                .filter(|(name, _)| name == ruleset)
                .map(|(_, revision)| revision.clone())
                .collect();
            return Err(NotActivated::UnknownRevision { known });
        };
        drop(published);
        // Looked at and changed under one lock: of two activations at once one finds the other.
        let mut in_force = self
            .in_force
            .write()
            .unwrap_or_else(PoisonError::into_inner);
        let current = in_force
            .ruleset(ruleset)
            .ok()
            .map(|current| current.source.revision.clone());
        if current.as_deref() != expected {
            return Err(NotActivated::OtherInForce { in_force: current });
        }
        // It was read with what was on hand when it was published.
        let stock = Arc::clone(in_force.stock());
        let chosen = stock
            .ruleset(chosen.program.clone(), chosen.source.clone())
            .map_err(NotActivated::Parts)?;
        let chosen = Arc::new(chosen);
        *in_force = Arc::new(in_force.with(Arc::clone(&chosen)));
        Ok((current, chosen))
    }

    fn published(&self) -> MutexGuard<'_, BTreeMap<(String, String), Arc<Ruleset>>> {
        self.published
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}

fn key(ruleset: &Ruleset) -> (String, String) {
    (
        ruleset.program.name.clone(),
        ruleset.source.revision.clone(),
    )
}
