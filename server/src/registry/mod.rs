//! The registry: the revisions that were published, and the workshop in force.
//!
//! Whoever answers takes one snapshot and looks at nothing else until it is done: activation puts a
//! new snapshot beside the old one, which lives on until the last request that began with it ends.
//!
//! Where there is a log, it is the only truth: what was published and what is in force is read from
//! its leaves at the start (`taken_up`), and every act is a leaf before it takes effect
//! (`publishing`, `activating`). Of revisions the [`Ledger`] knows what identifies them; sources
//! are read back where they are needed. Without a log all of it is in memory, and a restart begins
//! with the rules that the program is started with.

mod activating;
mod granting;
mod kept;
mod kept_texts;
mod ledger;
mod log;
mod not_read;
mod principals;
mod publishing;
mod revision;
mod stock;
mod taken_up;
mod workshop;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, RwLock};
use std::time::{SystemTime, UNIX_EPOCH};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Diagnostic, Severity};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_dsl::syntax::Folder;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::{CaseReport, run_cases};
use loftwright_engine::parts::Parts;

use self::log::Log;

pub use activating::{Activated, Activating, NotActivated};
pub use granting::{role_entry, setting_entry};
pub use kept::KeptRulesets;
pub use kept_texts::KeptTexts;
pub use ledger::{Activation, Ledger, Revision};
pub use log::ActNotRecorded;
pub(crate) use log::hash_of;
pub use not_read::NotRead;
pub use principals::{ApiKey, NotKnown, Principal, Principals, Role, fault_of_name, key_hash};
pub use publishing::{NotPublished, Published};
pub use revision::{CONTRACT_LAYER, Source, SourceFault, layers_of_source, source_of};
pub use stock::Stock;
pub use taken_up::{NotTakenUp, principals_of_log};
pub use workshop::{NotFound, Ruleset, StockIdentity, Unreadable, Workshop};

/// The most revisions that are kept where nothing is recorded: they stay in memory.
pub const MOST_REVISIONS: usize = 64;
/// The most revisions that stay in memory beside those in force, where they can be read again.
const MOST_REMEMBERED: usize = 16;

/// The revisions, and what is in force.
pub struct Registry {
    in_force: RwLock<Arc<Workshop>>,
    ledger: Mutex<Ledger>,
    /// The sources that the program was started with.
    started: Vec<Source>,
    /// Revisions in memory, the one used last at the end. Where nothing is recorded, all of them.
    shelf: Mutex<Vec<Arc<Revised>>>,
    /// Held by whoever changes what is in force, from the first look to the change: a change that
    /// is recorded takes its time between the two.
    acts: tokio::sync::Mutex<()>,
    /// The stocks that cases may name. They stay as they are: what is on hand comes and goes, and a
    /// case would fail for it.
    of_cases: Vec<Stock>,
    /// Where acts are recorded, once the log was taken up.
    log: OnceLock<Log>,
}

/// A revision in memory.
#[derive(Debug)]
pub struct Revised {
    /// The checked program.
    pub program: Program,
    /// Its files, which places of the program point into.
    pub folder: Folder,
    /// Its exact source.
    pub source: Source,
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

impl std::fmt::Debug for Registry {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter
            .debug_struct("Registry")
            .field("in_force", &self.workshop().names())
            .finish_non_exhaustive()
    }
}

impl Registry {
    /// A registry in which this workshop is in force, published and activated by the program
    /// itself. `of_cases` are the stocks that cases may name; of two of one name the later.
    pub fn new(workshop: Workshop, of_cases: Vec<Stock>) -> Self {
        let mut ledger = Ledger::default();
        let now = instant_ms(SystemTime::now()).unwrap_or_default();
        for ruleset in workshop.rulesets() {
            let program = &ruleset.program;
            let revision = publishing::entry_of(program, &ruleset.source, Principals::THE_PROGRAM);
            ledger.publish(Revision {
                instant_ms: now,
                ..revision
            });
            let activation = activating::entry_of_the_program(&ruleset.source.revision, now);
            ledger.activate(&program.name, activation);
        }
        let workshop_sources = workshop.rulesets().map(|one| one.source.clone()).collect();
        Registry {
            in_force: RwLock::new(Arc::new(workshop)),
            ledger: Mutex::new(ledger),
            started: workshop_sources,
            shelf: Mutex::default(),
            acts: tokio::sync::Mutex::default(),
            of_cases,
            log: OnceLock::new(),
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

    /// What was published and put in force.
    pub fn ledger(&self) -> MutexGuard<'_, Ledger> {
        self.ledger.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A published revision, from memory or read back.
    ///
    /// # Errors
    /// [`NotRead`]; why a revision cannot be read back is noted in the ledger.
    pub async fn revised(&self, ruleset: &str, revision: &str) -> Result<Arc<Revised>, NotRead> {
        let published = self.ledger().revision(ruleset, revision).cloned();
        let published = published.ok_or(NotRead::NeverPublished)?;
        if let Some(found) = self.in_memory(revision) {
            return Ok(found);
        }
        let read = match NotRead::unless_contract_is_ours(published.contract_version) {
            Ok(()) => self.read_back(revision).await,
            Err(why) => Err(why),
        };
        let fault = read.as_ref().err().map(ToString::to_string);
        self.ledger().note_fault(ruleset, revision, fault);
        let read = Arc::new(read?);
        self.remember(&read);
        Ok(read)
    }

    /// The layers of a published revision, the contract first, the ruleset's own last.
    ///
    /// # Errors
    /// [`NotRead`].
    pub async fn layers(&self, ruleset: &str, revision: &str) -> Result<Vec<LayerSource>, NotRead> {
        if self.ledger().revision(ruleset, revision).is_none() {
            return Err(NotRead::NeverPublished);
        }
        let source = match self.in_memory(revision) {
            Some(found) => Arc::clone(&found.source.bytes),
            None => self.source(revision).await?,
        };
        Ok(layers_of_source(&source)?)
    }

    async fn source(&self, revision: &str) -> Result<Arc<[u8]>, NotRead> {
        // With a log, what is kept there: a source that is gone must not come from elsewhere.
        if let Some(log) = self.log.get() {
            return log.source(revision).await;
        }
        let mut started = self.started.iter();
        let started = started.find(|one| one.revision == revision);
        let source = started.map(|one| Arc::clone(&one.bytes));
        source.ok_or_else(|| hash_of(revision).map_or(NotRead::NeverPublished, NotRead::NoSource))
    }

    async fn read_back(&self, revision: &str) -> Result<Revised, NotRead> {
        let source = self.source(revision).await?;
        tokio::task::spawn_blocking(move || Revised::of_source(&source)).await?
    }

    fn in_memory(&self, revision: &str) -> Option<Arc<Revised>> {
        let mut shelf = self.shelf();
        let place = shelf
            .iter()
            .position(|one| one.source.revision == revision)?;
        let found = shelf.remove(place);
        shelf.push(Arc::clone(&found));
        Some(found)
    }

    /// Keeps a revision in memory; where all can be read again, those used longest ago go.
    fn remember(&self, revised: &Arc<Revised>) {
        let mut shelf = self.shelf();
        shelf.push(Arc::clone(revised));
        if self.log.get().is_some() && shelf.len() > MOST_REMEMBERED {
            shelf.remove(0);
        }
    }

    fn shelf(&self) -> MutexGuard<'_, Vec<Arc<Revised>>> {
        self.shelf.lock().unwrap_or_else(PoisonError::into_inner)
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
}

impl Revised {
    /// The revision of a source.
    ///
    /// # Errors
    /// [`NotRead::Source`], [`NotRead::Refused`].
    fn of_source(bytes: &[u8]) -> Result<Self, NotRead> {
        let output = check(&layers_of_source(bytes)?, CONTRACT_VERSION);
        let Some(program) = output.program else {
            let is_error = |finding: &&Diagnostic| finding.severity == Severity::Error;
            let error = output.diagnostics.iter().find(is_error);
            let why = error.map_or_else(String::new, |error| error.message.clone());
            return Err(NotRead::Refused(why));
        };
        Ok(Revised {
            source: source_of(&output.folder),
            folder: output.folder,
            program,
        })
    }
}

/// Milliseconds since 1970; `None` for an instant before it.
pub(crate) fn instant_ms(instant: SystemTime) -> Option<i64> {
    let since = instant.duration_since(UNIX_EPOCH).ok()?;
    i64::try_from(since.as_millis()).ok()
}
