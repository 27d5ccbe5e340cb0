//! `RulesetService`: rules checked, published and put in force.
//!
//! Checking and the cases take the better part of a second: they run beside the threads that
//! answer players.

use std::sync::Arc;
use std::time::SystemTime;

use loftwright_dsl::check::LayerSource;
use loftwright_dsl::diagnostic::Diagnostic;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::ruleset_service_server::RulesetService;
use tokio::sync::Semaphore;
use tonic::{Request, Response, Status};

use super::convert;
use super::fitting::today;
use super::page_token::PageTokens;
use super::principal::principal_of;
use super::recording::Recording;
use super::refusal::{FieldFault, Refusal};
use super::replay_pieces::Pieces;
use super::request::{fault_of_reason, together};
use super::row_statistics::row_statistics;
use super::ruleset_acts::{activation_refusal, callers_of_late, refusal};
use super::ruleset_history::{self, not_read, record};
use super::ruleset_replay::{self, Replaying};
use super::ruleset_source;
use crate::registry::{Activating, Judged, NotRead, Registry, instant_ms};

/// The service over one registry.
#[derive(Clone, Debug)]
pub struct Rulesets {
    registry: Arc<Registry>,
    recording: Option<Arc<Recording>>,
    tokens: PageTokens,
    /// One replay at a time.
    replays: Arc<Semaphore>,
}

impl Rulesets {
    /// A service that publishes into this registry.
    pub fn new(registry: Arc<Registry>, recording: Option<Arc<Recording>>) -> Self {
        Rulesets {
            registry,
            recording,
            tokens: PageTokens::new(),
            replays: Arc::new(Semaphore::new(1)),
        }
    }

    /// Whether whoever published a revision may put it in force himself.
    fn own_activation_is_allowed(&self) -> bool {
        let recording = self.recording.as_ref();
        recording.is_some_and(|recording| recording.principals.own_activation_is_allowed())
    }

    /// What the checker and the cases say of what was sent.
    async fn judge(&self, source: Option<&pb::RulesetSource>) -> Result<Judged, Refusal> {
        let today = today().ok_or(Refusal::OwnFault)?;
        let layers: Vec<LayerSource> = ruleset_source::layers(source)?;
        let registry = Arc::clone(&self.registry);
        let judged = tokio::task::spawn_blocking(move || registry.judge(&layers, today)).await;
        judged.map_err(|why| {
            tracing::error!(%why, "a check did not end");
            Refusal::OwnFault
        })
    }
}

/// The findings of the check and of the cases.
pub(super) fn findings(judged: &Judged) -> impl Iterator<Item = &Diagnostic> {
    let of_cases = judged.cases.iter().flat_map(|cases| &cases.diagnostics);
    judged.output.diagnostics.iter().chain(of_cases)
}

fn finding_messages(judged: &Judged) -> Vec<pb::Finding> {
    findings(judged)
        .map(|finding| convert::finding(&judged.output.folder, finding))
        .collect()
}

#[tonic::async_trait]
impl RulesetService for Rulesets {
    async fn check_ruleset(
        &self,
        request: Request<pb::CheckRulesetRequest>,
    ) -> Result<Response<pb::CheckRulesetResponse>, Status> {
        let judged = self.judge(request.get_ref().source.as_ref()).await?;
        let program = judged.output.program.as_ref();
        Ok(Response::new(pb::CheckRulesetResponse {
            findings: finding_messages(&judged),
            identity: program.map(|program| convert::identity(program, &judged.source.revision)),
            cases: judged.cases.as_ref().map(convert::case_count),
        }))
    }

    async fn publish_ruleset(
        &self,
        request: Request<pb::PublishRulesetRequest>,
    ) -> Result<Response<pb::PublishRulesetResponse>, Status> {
        let now = instant_ms(SystemTime::now()).ok_or(Refusal::OwnFault)?;
        let principal = principal_of(&request)?;
        let request = request.get_ref();
        let judged = self.judge(request.source.as_ref()).await?;
        let published = self
            .registry
            .publish(&judged, &principal, now, request.validate_only)
            .await
            .map_err(|why| refusal(&judged, why))?;
        let identity = ruleset_history::identity(&published.revision);
        if !request.validate_only {
            let (ruleset, revision) = (&identity.name, &identity.revision);
            let by = &principal.name;
            tracing::info!(%ruleset, %revision, by, was_known = published.was_known, "published");
        }
        Ok(Response::new(pb::PublishRulesetResponse {
            identity: Some(identity),
            findings: finding_messages(&judged),
            cases: judged.cases.as_ref().map(convert::case_count),
            was_known: published.was_known,
        }))
    }

    async fn activate_ruleset(
        &self,
        request: Request<pb::ActivateRulesetRequest>,
    ) -> Result<Response<pb::ActivateRulesetResponse>, Status> {
        let now = instant_ms(SystemTime::now()).ok_or(Refusal::OwnFault)?;
        let principal = principal_of(&request)?;
        let request = request.into_inner();
        if let Some(sentence) = fault_of_reason(&request.reason) {
            let field = "reason".to_owned();
            let mut faults = vec![("", Refusal::Faults(vec![FieldFault { field, sentence }]))];
            let (ruleset, revision) = (&request.ruleset, &request.revision);
            let is_unknown = self.registry.ledger().revision(ruleset, revision).is_none();
            if is_unknown {
                let why = not_read(&self.registry, ruleset, revision, NotRead::NeverPublished);
                faults.push(("revision", why));
            }
            return Err(together(faults).into());
        }
        let wanted = Activating {
            ruleset: &request.ruleset,
            revision: &request.revision,
            expected: Some(request.expected_revision.as_str()).filter(|one| !one.is_empty()),
            reason: &request.reason,
            own_is_allowed: self.own_activation_is_allowed(),
            validate_only: request.validate_only,
        };
        let activated = self.registry.activate(wanted, &principal, now).await;
        let activated = activated
            .map_err(|why| activation_refusal(&self.registry, &request, &principal, why))?;
        let recording = self.recording.as_deref();
        let (ruleset, previous) = (&activated.ruleset, activated.previous);
        if !request.validate_only {
            tracing::info!(
                ruleset = request.ruleset,
                revision = ruleset.source.revision,
                previous = previous.as_deref().unwrap_or("none"),
                by = principal.name,
                reason = request.reason,
                "activated"
            );
        }
        let callers = callers_of_late(recording, &ruleset.program).await?;
        Ok(Response::new(pb::ActivateRulesetResponse {
            identity: Some(convert::identity(
                &ruleset.program,
                &ruleset.source.revision,
            )),
            previous_revision: previous.unwrap_or_default(),
            recommendations_looked_at: callers.looked_at,
            callers_with_unknown_readings: callers.callers,
            record: record(recording, activated.position).await?,
        }))
    }

    async fn row_statistics(
        &self,
        request: Request<pb::RowStatisticsRequest>,
    ) -> Result<Response<pb::RowStatisticsResponse>, Status> {
        let recording = self.recording.as_deref().ok_or(Refusal::RecordsNotKept)?;
        let registry = &self.registry;
        let statistics = row_statistics(registry, recording, request.get_ref());
        Ok(Response::new(statistics.await?))
    }

    async fn list_revisions(
        &self,
        request: Request<pb::ListRevisionsRequest>,
    ) -> Result<Response<pb::ListRevisionsResponse>, Status> {
        let recording = self.recording.as_deref();
        let (registry, tokens) = (&self.registry, &self.tokens);
        let page = ruleset_history::revisions(registry, recording, tokens, request.get_ref());
        Ok(Response::new(page.await?))
    }

    async fn get_revision(
        &self,
        request: Request<pb::GetRevisionRequest>,
    ) -> Result<Response<pb::GetRevisionResponse>, Status> {
        let recording = self.recording.as_deref();
        let found = ruleset_history::revision(&self.registry, recording, request.get_ref());
        Ok(Response::new(found.await?))
    }

    type ReplayRecordsStream = Pieces;

    async fn replay_records(
        &self,
        request: Request<pb::ReplayRecordsRequest>,
    ) -> Result<Response<Self::ReplayRecordsStream>, Status> {
        let request = request.into_inner();
        let recording = self.recording.as_ref().ok_or(Refusal::RecordsNotKept)?;
        let days = ruleset_replay::days(&request)?;
        let (ruleset, revision) = (&request.ruleset, &request.revision);
        let revised = self.registry.revised(ruleset, revision).await;
        let revised = revised.map_err(|why| not_read(&self.registry, ruleset, revision, why))?;
        let permit = Arc::clone(&self.replays).try_acquire_owned();
        let permit = permit.map_err(|_| Refusal::ReplayRuns)?;
        let size = recording.store.size().await;
        let replaying = Replaying {
            store: Arc::clone(&recording.store),
            texts: Arc::clone(&recording.texts),
            erasures: Arc::clone(&recording.erasures),
            revised,
            revisions: ruleset_replay::revisions(&self.registry, ruleset),
            days,
            with_same: request.with_same,
            size: size.map_err(super::recording::store_refusal)?,
        };
        Ok(Response::new(replaying.start(permit)))
    }

    async fn compare_revisions(
        &self,
        request: Request<pb::CompareRevisionsRequest>,
    ) -> Result<Response<pb::CompareRevisionsResponse>, Status> {
        let request = request.into_inner();
        let old = match request.old_revision.as_str() {
            "" => {
                let ledger = self.registry.ledger();
                let in_force = ledger.in_force(&request.ruleset);
                in_force.map_or_else(String::new, |one| one.revision.clone())
            }
            sent => sent.to_owned(),
        };
        let read = async |revision: String| {
            let revised = self.registry.revised(&request.ruleset, &revision).await;
            revised.map_err(|why| not_read(&self.registry, &request.ruleset, &revision, why))
        };
        let (old, new) = (read(old).await?, read(request.new_revision.clone()).await?);
        let compared = tokio::task::spawn_blocking(move || convert::comparison(&old, &new)).await;
        let compared = compared.map_err(|why| {
            tracing::error!(%why, "a comparison did not end");
            Refusal::OwnFault
        })?;
        Ok(Response::new(compared))
    }
}
