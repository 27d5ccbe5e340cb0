//! A log is taken up: what was published, what is in force and who may do what is what its leaves
//! say.
//!
//! What the program is started with and the log does not know yet is published now, and put in
//! force where nothing of its name is: both are acts of the program itself, with leaves of their
//! own. What is in force by the log and cannot be read back is served by nothing else: whoever asks
//! for that ruleset is told why, and the others are served.

use std::sync::Arc;
use std::time::SystemTime;

use super::activating;
use super::ledger::{Activation, Ledger, Revision};
use super::log::{ActNotRecorded, Log, read_act};
use super::not_read::NotRead;
use super::principals::Principals;
use super::publishing;
use super::stock::Stock;
use super::workshop::{Ruleset, Workshop};
use super::{Registry, instant_ms, layers_of_source};
use crate::audit::act::{self, ActFault, RoleGiven, SettingChanged};
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::audit::merkle::Hash;
use crate::stock::kept::NotInLog;
use crate::store::{Recorder, Store, StoreError};

/// The most places that are asked for at once.
const PLACES_AT_ONCE: usize = 1000;

/// Why a log is not taken up.
#[derive(Debug, thiserror::Error)]
pub enum NotTakenUp {
    /// It cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An act cannot be read: what holds now cannot be said.
    #[error(
        "record {position} ({kind}) cannot be read: {why}; use the release that wrote it, or put \
         the data directory back from a backup"
    )]
    Act {
        /// Its place.
        position: u64,
        /// Its kind.
        kind: LeafKind,
        /// Why.
        why: ActFault,
    },
    /// An act about rules does not name them.
    #[error("record {0} is about rules and names no revision; put the data directory back")]
    NoRevision(u64),
    /// The stock cannot be read.
    #[error(transparent)]
    Stock(#[from] NotInLog),
    /// The acts of the start cannot be recorded.
    #[error("what the program is started with cannot be recorded: {0}")]
    NotRecorded(#[from] ActNotRecorded),
    /// The machine's clock stands before 1970.
    #[error("this machine's clock stands before 1970")]
    Clock,
}

/// Who may do what, by the leaves of a log.
///
/// # Errors
/// [`NotTakenUp`].
pub async fn principals_of_log(store: &dyn Store) -> Result<Principals, NotTakenUp> {
    let mut principals = Principals::default();
    for position in places(store, &[LeafKind::Role, LeafKind::Setting]).await? {
        let (header, body) = read_act(store, position).await?;
        let kind = header.kind;
        let fault = |why| NotTakenUp::Act {
            position,
            kind,
            why,
        };
        match kind {
            LeafKind::Role => principals.give(&RoleGiven::of_bytes(&body).map_err(fault)?),
            _ => principals.set(&SettingChanged::of_bytes(&body).map_err(fault)?),
        }
    }
    Ok(principals)
}

/// What was published and put in force, by the leaves of a log.
async fn ledger_of_log(store: &dyn Store) -> Result<Ledger, NotTakenUp> {
    let mut ledger = Ledger::default();
    for position in places(store, &[LeafKind::Published, LeafKind::Activated]).await? {
        let (header, body) = read_act(store, position).await?;
        let kind = header.kind;
        let fault = |why| NotTakenUp::Act {
            position,
            kind,
            why,
        };
        let rules = header.rules_digest;
        let revision = rules.ok_or(NotTakenUp::NoRevision(position))?.to_string();
        match kind {
            LeafKind::Published => {
                let act = act::Published::of_bytes(&body).map_err(fault)?;
                ledger.publish(published(&header, revision, act, position));
            }
            _ => {
                let act = act::Activated::of_bytes(&body).map_err(fault)?;
                let activation = Activation {
                    revision,
                    previous: act.previous.map(|previous| previous.to_string()),
                    by: header.principal,
                    instant_ms: header.instant_ms,
                    reason: act.reason,
                    position: Some(position),
                };
                ledger.activate(&act.ruleset, activation);
            }
        }
    }
    Ok(ledger)
}

fn published(header: &LeafHeader, revision: String, act: act::Published, at: u64) -> Revision {
    let text = |hash: Option<Hash>| hash.map_or_else(String::new, |hash| hash.to_string());
    Revision {
        ruleset: act.ruleset,
        revision,
        title: act.title,
        meaning_digest: text(header.meaning_digest),
        text_digest: text(header.text_digest),
        contract_version: header.contract_version.unwrap_or_default(),
        warnings: act.warnings,
        cases: act.cases,
        by: header.principal.clone(),
        instant_ms: header.instant_ms,
        position: Some(at),
        fault: None,
    }
}

async fn places(store: &dyn Store, kinds: &[LeafKind]) -> Result<Vec<u64>, StoreError> {
    let mut all: Vec<u64> = Vec::new();
    loop {
        let from = all.last().map_or(0, |last| last + 1);
        let more = store.places_of_kinds(kinds, from, PLACES_AT_ONCE).await?;
        let is_last = more.len() < PLACES_AT_ONCE;
        all.extend(more);
        if is_last {
            return Ok(all);
        }
    }
}

impl Registry {
    /// Whether a log was taken up.
    pub fn is_taken_up(&self) -> bool {
        self.log.get().is_some()
    }

    /// Begins with the stock that a log says is in force, before the log is taken up. Rulesets that
    /// cannot read it are not served.
    pub async fn begin_with_stock(&self, stock: &Stock) {
        let act = self.act().await;
        let workshop = self.workshop().begun_with(stock);
        self.put_in_force(&act, workshop);
    }

    /// Goes on from a log: what it says holds, and every act is recorded there from now on. Once it
    /// was taken up, nothing more happens.
    ///
    /// # Errors
    /// [`NotTakenUp`].
    pub async fn take_up(
        &self,
        store: &Arc<dyn Store>,
        recorder: &Recorder,
    ) -> Result<(), NotTakenUp> {
        let act = self.act().await;
        if self.log.get().is_some() {
            return Ok(());
        }
        let log = Log {
            store: Arc::clone(store),
            recorder: recorder.clone(),
        };
        let mut ledger = ledger_of_log(store.as_ref()).await?;
        let workshop = self.workshop();
        record_the_start(&log, &mut ledger, &workshop).await?;
        *self.ledger() = ledger;
        // Whoever was first has the act.
        let _ = self.log.set(log);
        let workshop = self.workshop_of_ledger(&workshop).await;
        self.put_in_force(&act, workshop);
        self.look_at_sources().await;
        Ok(())
    }

    /// The workshop that the ledger says is in force.
    async fn workshop_of_ledger(&self, started: &Workshop) -> Workshop {
        let wanted: Vec<(String, String)> = {
            let ledger = self.ledger();
            let names = ledger.names();
            names
                .filter_map(|name| Some((name.to_owned(), ledger.in_force(name)?.revision.clone())))
                .collect()
        };
        let mut workshop = started.clone();
        for (name, revision) in wanted {
            let has = started
                .ruleset(&name)
                .map(|one| one.source.revision.clone());
            if has.as_ref() == Ok(&revision) {
                if let Some(why) = self.damage_of(&revision).await {
                    tracing::error!(ruleset = name, revision, why, "a revision is damaged");
                    workshop = workshop.with_unreadable(&name, &revision, &why);
                }
                continue;
            }
            if has.is_ok() {
                tracing::warn!(
                    ruleset = name,
                    in_force = revision,
                    "the revision that the program was started with is published, and another one \
                     is in force"
                );
            }
            workshop = match self.ruleset_of_ledger(&name, &revision, &workshop).await {
                Ok(ruleset) => workshop.with(Arc::new(ruleset)),
                Err(why) => {
                    tracing::error!(
                        ruleset = name,
                        revision,
                        why,
                        "the revision in force cannot be read; the ruleset is not served"
                    );
                    workshop.with_unreadable(&name, &revision, &why)
                }
            };
        }
        workshop
    }

    /// Why what is kept of a revision that the program was started with is another: records that it
    /// decides refer to it, and could not be read.
    async fn damage_of(&self, revision: &str) -> Option<String> {
        match self.log.get()?.source(revision).await {
            Err(why @ NotRead::Store(_)) => Some(why.to_string()),
            _ => None,
        }
    }

    async fn ruleset_of_ledger(
        &self,
        name: &str,
        revision: &str,
        workshop: &Workshop,
    ) -> Result<Ruleset, String> {
        let revised = self.revised(name, revision).await;
        let revised = revised.map_err(|why| why.to_string())?;
        let read = workshop
            .stock()
            .ruleset(revised.program.clone(), revised.source.clone());
        read.map_err(|faults| {
            let first = faults.first().map_or_else(String::new, ToString::to_string);
            format!("the parts on hand cannot be read by it: {first}")
        })
    }

    /// Names every revision whose source is gone or lacks a layer, or that is of another contract.
    /// Whether this release still accepts the others is looked at when they are needed.
    async fn look_at_sources(&self) {
        let all: Vec<Revision> = {
            let ledger = self.ledger();
            let all = ledger.all().filter(|one| one.fault.is_none());
            all.cloned().collect()
        };
        let Some(log) = self.log.get() else {
            return;
        };
        for Revision {
            ruleset,
            revision,
            contract_version,
            ..
        } in all
        {
            let fault = match log.source(&revision).await {
                Ok(source) => layers_of_source(&source)
                    .map_err(NotRead::from)
                    .and_then(|_| NotRead::unless_contract_is_ours(contract_version))
                    .err(),
                Err(why) => Some(why),
            };
            let fault = fault.map(|why| why.to_string());
            if let Some(why) = fault {
                tracing::error!(ruleset, revision, why, "a revision cannot be read back");
                self.ledger().note_fault(&ruleset, &revision, Some(why));
            }
        }
    }
}

/// Publishes what the program is started with, and puts in force what nothing else is in the place
/// of: one group of leaves.
async fn record_the_start(
    log: &Log,
    ledger: &mut Ledger,
    workshop: &Workshop,
) -> Result<(), NotTakenUp> {
    let now = instant_ms(SystemTime::now()).ok_or(NotTakenUp::Clock)?;
    let mut entries = Vec::new();
    let mut publications = Vec::new();
    let mut activations = Vec::new();
    for ruleset in workshop.rulesets() {
        let (program, source) = (&ruleset.program, &ruleset.source);
        let revision = Revision {
            instant_ms: now,
            ..publishing::entry_of(program, source, Principals::THE_PROGRAM)
        };
        if ledger
            .revision(&revision.ruleset, &revision.revision)
            .is_none()
        {
            publications.push((entries.len(), revision.clone()));
            entries.push(publishing::leaf_of(&revision, source).entry()?);
        }
        if ledger.in_force(&revision.ruleset).is_none() {
            let activation = activating::entry_of_the_program(&revision.revision, now);
            let entry = activating::leaf_of(&revision, &activation).entry()?;
            activations.push((entries.len(), revision.ruleset, activation));
            entries.push(entry);
        }
    }
    if entries.is_empty() {
        return Ok(());
    }
    let places = log.keep(entries).await?;
    for (index, mut revision) in publications {
        revision.position = places.get(index).copied();
        ledger.publish(revision);
    }
    for (index, ruleset, mut activation) in activations {
        activation.position = places.get(index).copied();
        ledger.activate(&ruleset, activation);
    }
    Ok(())
}
