//! What was published and put in force, as it is asked for.

use std::time::SystemTime;

use loftwright_dsl::check::LayerSource;
use loftwright_engine::SEMANTICS_VERSION;
use loftwright_proto::v1 as pb;

use super::audit::timestamp;
use super::page_token::PageTokens;
use super::recording::Recording;
use super::refusal::{FieldFault, Refusal};
use crate::registry::{Activation, Ledger, NotRead, Registry, Revision, instant_ms};

/// The revisions of a page where nobody says how many.
const USUAL_PAGE: usize = 20;
/// The most revisions of a page.
const LARGEST_PAGE: usize = 100;

/// What identifies a revision.
pub(super) fn identity(revision: &Revision) -> pb::RulesetIdentity {
    pb::RulesetIdentity {
        name: revision.ruleset.clone(),
        title: revision.title.clone(),
        meaning_digest: revision.meaning_digest.clone(),
        text_digest: revision.text_digest.clone(),
        contract_version: revision.contract_version,
        semantics_version: SEMANTICS_VERSION,
        revision: revision.revision.clone(),
    }
}

/// The message of a revision.
pub(super) async fn published(
    recording: Option<&Recording>,
    revision: &Revision,
    is_in_force: bool,
) -> Result<pb::PublishedRevision, Refusal> {
    Ok(pb::PublishedRevision {
        identity: Some(identity(revision)),
        published: timestamp(revision.instant_ms),
        published_by: revision.by.clone(),
        warnings: revision.warnings,
        cases: revision.cases,
        in_force: is_in_force,
        fault: revision.fault.clone().unwrap_or_default(),
        record: record(recording, revision.position).await?,
    })
}

/// The name of the record of an act, where it has one.
pub(super) async fn record(
    recording: Option<&Recording>,
    position: Option<u64>,
) -> Result<Option<pb::RecordReference>, Refusal> {
    match (recording, position) {
        (Some(recording), Some(position)) => recording.reference_at(position).await.map(Some),
        _ => Ok(None),
    }
}

/// A page of revisions, the newest first.
pub(super) async fn revisions(
    registry: &Registry,
    recording: Option<&Recording>,
    tokens: &PageTokens,
    request: &pb::ListRevisionsRequest,
) -> Result<pb::ListRevisionsResponse, Refusal> {
    let size = match usize::try_from(request.page_size) {
        Ok(0) => USUAL_PAGE,
        Ok(size) if size <= LARGEST_PAGE => size,
        _ => {
            let sentence = format!(
                "{} was sent; a page has 1 to {LARGEST_PAGE} revisions",
                request.page_size
            );
            return Err(fault("page_size", sentence));
        }
    };
    let list = format!("revisions of {}", request.ruleset);
    // The place is how many revisions were left: the list only grows at its other end.
    let left = tokens.open(&list, &request.page_token)?;
    let (page, left) = {
        let ledger = registry.ledger();
        if !request.ruleset.is_empty() {
            known(&ledger, &request.ruleset)?;
        }
        page_of(&ledger, &request.ruleset, left, size)
    };
    let mut messages = Vec::new();
    for (revision, is_in_force) in page {
        messages.push(published(recording, &revision, is_in_force).await?);
    }
    Ok(pb::ListRevisionsResponse {
        revisions: messages,
        next_page_token: match left {
            0 => String::new(),
            left => tokens.seal(&list, left)?,
        },
    })
}

/// Revisions with whether they are in force, and how many are left.
fn page_of(
    ledger: &Ledger,
    ruleset: &str,
    left: Option<u64>,
    size: usize,
) -> (Vec<(Revision, bool)>, u64) {
    let mut all: Vec<&Revision> = match ruleset {
        "" => ledger.all().collect(),
        ruleset => ledger.revisions(ruleset).iter().collect(),
    };
    // Stable: those of one instant stay in the order of their places.
    all.sort_by_key(|revision| (revision.position, revision.instant_ms));
    let left = left.and_then(|left| usize::try_from(left).ok());
    all.truncate(left.unwrap_or(all.len()));
    let page = all.iter().rev().take(size).map(|revision| {
        let in_force = ledger.in_force(&revision.ruleset);
        let is_in_force = in_force.is_some_and(|one| one.revision == revision.revision);
        ((*revision).clone(), is_in_force)
    });
    let left = all.len().saturating_sub(size);
    (page.collect(), u64::try_from(left).unwrap_or(u64::MAX))
}

/// A revision with its exact source.
pub(super) async fn revision(
    registry: &Registry,
    recording: Option<&Recording>,
    request: &pb::GetRevisionRequest,
) -> Result<pb::GetRevisionResponse, Refusal> {
    let (ruleset, revision) = (&request.ruleset, &request.revision);
    let layers = registry.layers(ruleset, revision).await;
    let layers = layers.map_err(|why| not_read(registry, ruleset, revision, why))?;
    let (found, is_in_force) = {
        let ledger = registry.ledger();
        let in_force = ledger.in_force(ruleset);
        let is_in_force = in_force.is_some_and(|one| one.revision == *revision);
        (ledger.revision(ruleset, revision).cloned(), is_in_force)
    };
    let found = found.ok_or(Refusal::OwnFault)?;
    Ok(pb::GetRevisionResponse {
        revision: Some(published(recording, &found, is_in_force).await?),
        source: Some(pb::RulesetSource {
            layers: layers.into_iter().map(layer).collect(),
        }),
    })
}

fn layer(layer: LayerSource) -> pb::RulesLayer {
    let files = layer.files.into_iter();
    pb::RulesLayer {
        name: layer.name,
        files: files
            .map(|(name, text)| pb::RulesFile { name, text })
            .collect(),
    }
}

/// Why a revision is not read, as a caller is told.
pub(super) fn not_read(
    registry: &Registry,
    ruleset: &str,
    revision: &str,
    why: NotRead,
) -> Refusal {
    match why {
        NotRead::NeverPublished => {
            let ledger = registry.ledger();
            let known = ledger.revisions(ruleset).iter().rev();
            let known = known.map(|one| one.revision.clone()).collect();
            let unknown_revision = Refusal::UnknownRevision {
                ruleset: ruleset.to_owned(),
                sent: revision.to_owned(),
                known,
            };
            self::known(&ledger, ruleset)
                .err()
                .unwrap_or(unknown_revision)
        }
        NotRead::Store(why) => super::recording::store_refusal(why),
        NotRead::Task(why) => {
            tracing::error!(%why, "reading a revision did not end");
            Refusal::OwnFault
        }
        why @ (NotRead::NoSource(_)
        | NotRead::NoParts(_)
        | NotRead::Contract { .. }
        | NotRead::Source(_)
        | NotRead::Refused(_)
        | NotRead::Parts(_)) => Refusal::RevisionUnreadable {
            ruleset: ruleset.to_owned(),
            revision: revision.to_owned(),
            why: why.to_string(),
        },
    }
}

fn known(ledger: &Ledger, ruleset: &str) -> Result<(), Refusal> {
    if ledger.names().any(|name| name == ruleset) {
        return Ok(());
    }
    Err(Refusal::UnknownRuleset {
        sent: ruleset.to_owned(),
        known: ledger.names().map(str::to_owned).collect(),
    })
}

/// Which revision decided at an instant.
pub(super) async fn in_force(
    registry: &Registry,
    recording: Option<&Recording>,
    request: &pb::InForceRequest,
) -> Result<pb::InForceResponse, Refusal> {
    let ruleset = &request.ruleset;
    let at = match request.instant {
        None => instant_ms(SystemTime::now()).ok_or(Refusal::OwnFault)?,
        Some(instant) => millis(instant).ok_or_else(|| {
            let sentence = "an instant was sent that no calendar has".to_owned();
            fault("instant", sentence)
        })?,
    };
    let (revision, activation, first) = {
        let ledger = registry.ledger();
        known(&ledger, ruleset)?;
        // Now is what the log says last, whatever the clock does.
        let activation = match request.instant {
            None => ledger.in_force(ruleset),
            Some(_) => ledger.at(ruleset, at),
        };
        let revision = activation.and_then(|one| ledger.revision(ruleset, &one.revision));
        (
            revision.cloned(),
            activation.cloned(),
            ledger.first(ruleset).cloned(),
        )
    };
    let Some(activation) = activation else {
        let first = match &first {
            Some(first) => Some(act_of(recording, first).await?),
            None => None,
        };
        return Ok(pb::InForceResponse {
            state: pb::InForceState::BeforeTheFirst.into(),
            activated: first,
            ..pb::InForceResponse::default()
        });
    };
    let publication = match &revision {
        Some(revision) => Some(pb::GovernanceAct {
            principal: revision.by.clone(),
            instant: timestamp(revision.instant_ms),
            record: record(recording, revision.position).await?,
        }),
        None => None,
    };
    Ok(pb::InForceResponse {
        state: pb::InForceState::InForce.into(),
        identity: revision.as_ref().map(identity),
        published: publication,
        activated: Some(act_of(recording, &activation).await?),
        reason: activation.reason,
        previous_revision: activation.previous.unwrap_or_default(),
    })
}

async fn act_of(
    recording: Option<&Recording>,
    activation: &Activation,
) -> Result<pb::GovernanceAct, Refusal> {
    Ok(pb::GovernanceAct {
        principal: activation.by.clone(),
        instant: timestamp(activation.instant_ms),
        record: record(recording, activation.position).await?,
    })
}

fn millis(instant: prost_types::Timestamp) -> Option<i64> {
    let within = i64::from(instant.nanos).checked_div(1_000_000)?;
    instant.seconds.checked_mul(1000)?.checked_add(within)
}

pub(super) fn fault(field: &str, sentence: String) -> Refusal {
    Refusal::Faults(vec![FieldFault {
        field: field.to_owned(),
        sentence,
    }])
}
