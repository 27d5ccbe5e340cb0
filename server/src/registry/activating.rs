//! A revision is put in force: looked at, recorded, and only then in effect, all under one right.

use std::sync::Arc;

use super::Registry;
use super::ledger::{Activation, Revision};
use super::log::{Act, ActNotRecorded, hash_of};
use super::not_read::NotRead;
use super::principals::{Principal, Principals};
use super::publishing::rules_of;
use super::workshop::Ruleset;
use crate::audit::act;
use crate::audit::leaf::LeafKind;
use crate::files::FileFault;

/// Why the program puts in force what it is started with.
const REASON_OF_THE_PROGRAM: &str = "nothing was in force: the program was started with it";

/// What is wanted.
#[derive(Clone, Copy, Debug)]
pub struct Activating<'a> {
    /// The ruleset.
    pub ruleset: &'a str,
    /// The revision that is to decide.
    pub revision: &'a str,
    /// The one in force as the caller knows it.
    pub expected: Option<&'a str>,
    /// Why.
    pub reason: &'a str,
    /// Whether whoever published it may put it in force himself.
    pub own_is_allowed: bool,
    /// Whether everything is looked at and nothing changes.
    pub validate_only: bool,
}

/// What was done.
#[derive(Clone, Debug)]
pub struct Activated {
    /// The ruleset, read with the stock on hand.
    pub ruleset: Arc<Ruleset>,
    /// The revision that decided until then.
    pub previous: Option<String>,
    /// The place of the act; absent where nothing is recorded.
    pub position: Option<u64>,
}

/// Why a revision is not put in force.
#[derive(Debug)]
pub enum NotActivated {
    /// It was never published here.
    UnknownRevision {
        /// The revisions of the ruleset that were, the newest first.
        known: Vec<String>,
    },
    /// Another revision is in force than the caller knows.
    OtherInForce {
        /// The revision in force; `None` where there is none.
        in_force: Option<String>,
    },
    /// The caller published it himself.
    OwnRevision,
    /// It cannot be read back.
    NotRead(NotRead),
    /// The parts on hand cannot be read by it.
    Parts(Vec<FileFault>),
    /// It cannot be recorded.
    NotRecorded(ActNotRecorded),
}

impl Registry {
    /// Puts a published revision in force, or only says whether it would.
    ///
    /// # Errors
    /// [`NotActivated`]; then nothing has changed.
    pub async fn activate(
        &self,
        wanted: Activating<'_>,
        by: &Principal,
        instant_ms: i64,
    ) -> Result<Activated, NotActivated> {
        // Held until it is in effect: of two activations at once one finds the other.
        let act = self.act().await;
        let (revision, current) = self.looked_at(&wanted, by)?;
        let revised = self.revised(wanted.ruleset, wanted.revision).await;
        let revised = revised.map_err(NotActivated::NotRead)?;
        let workshop = self.workshop();
        let ruleset = workshop
            .stock()
            .ruleset(revised.program.clone(), revised.source.clone())
            .map_err(NotActivated::Parts)?;
        let ruleset = Arc::new(ruleset);
        let mut activation = Activation {
            revision: revision.revision.clone(),
            previous: current,
            by: by.name.clone(),
            instant_ms,
            reason: wanted.reason.to_owned(),
            position: None,
        };
        if !wanted.validate_only {
            if let Some(log) = self.log.get() {
                let entry = leaf_of(&revision, &activation).entry();
                let places = match entry {
                    Ok(entry) => log.keep(vec![entry]).await,
                    Err(why) => Err(why),
                };
                let places = places.map_err(NotActivated::NotRecorded)?;
                activation.position = places.first().copied();
            }
            self.ledger().activate(wanted.ruleset, activation.clone());
            self.put_in_force(&act, workshop.with(Arc::clone(&ruleset)));
        }
        Ok(Activated {
            ruleset,
            previous: activation.previous,
            position: activation.position,
        })
    }

    /// The revision that is wanted and the one in force, where nothing the ledger knows is in the
    /// way.
    fn looked_at(
        &self,
        wanted: &Activating<'_>,
        by: &Principal,
    ) -> Result<(Revision, Option<String>), NotActivated> {
        let ledger = self.ledger();
        let Some(revision) = ledger.revision(wanted.ruleset, wanted.revision) else {
            let known = ledger.revisions(wanted.ruleset).iter().rev();
            let known = known.map(|one| one.revision.clone()).collect();
            return Err(NotActivated::UnknownRevision { known });
        };
        let current = ledger.in_force(wanted.ruleset);
        let current = current.map(|current| current.revision.clone());
        if current.as_deref() != wanted.expected {
            return Err(NotActivated::OtherInForce { in_force: current });
        }
        // Where nobody is told apart, nobody can be said to have published it himself.
        let is_own = by.is_known && revision.by == by.name;
        if is_own && !wanted.own_is_allowed {
            return Err(NotActivated::OwnRevision);
        }
        Ok((revision.clone(), current))
    }
}

/// The leaf of an activation.
pub(super) fn leaf_of<'a>(revision: &'a Revision, activation: &'a Activation) -> Act<'a> {
    let body = act::Activated {
        ruleset: revision.ruleset.clone(),
        previous: activation.previous.as_deref().and_then(hash_of),
        reason: activation.reason.clone(),
    };
    Act {
        kind: LeafKind::Activated,
        by: &activation.by,
        instant_ms: activation.instant_ms,
        rules: Some(rules_of(revision)),
        body: body.to_bytes(),
    }
}

/// The activation of what the program is started with.
pub(super) fn entry_of_the_program(revision: &str, instant_ms: i64) -> Activation {
    Activation {
        revision: revision.to_owned(),
        previous: None,
        by: Principals::THE_PROGRAM.to_owned(),
        instant_ms,
        reason: REASON_OF_THE_PROGRAM.to_owned(),
        position: None,
    }
}
