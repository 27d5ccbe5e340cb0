//! `RulesetService`: rules checked, published and put in force.
//!
//! Checking and the cases take the better part of a second: they run beside the threads that
//! answer players.

use std::sync::Arc;

use loftwright_dsl::check::LayerSource;
use loftwright_dsl::diagnostic::Diagnostic;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::ruleset_service_server::RulesetService;
use tonic::{Request, Response, Status};

use super::convert;
use super::fitting::today;
use super::ruleset_source;
use super::status::{FieldFault, Refusal};
use crate::files::FileFault;
use crate::registry::{Judged, MOST_REVISIONS, NotActivated, NotPublished, Registry};

/// The most characters of a reason.
const LONGEST_REASON_CHARACTERS: usize = 500;

/// The service over one registry.
#[derive(Clone, Debug)]
pub struct Rulesets {
    registry: Arc<Registry>,
}

impl Rulesets {
    /// A service that publishes into this registry.
    pub fn new(registry: Arc<Registry>) -> Self {
        Rulesets { registry }
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
fn findings(judged: &Judged) -> impl Iterator<Item = &Diagnostic> {
    let of_cases = judged.cases.iter().flat_map(|cases| &cases.diagnostics);
    judged.output.diagnostics.iter().chain(of_cases)
}

fn finding_messages(judged: &Judged) -> Vec<pb::Finding> {
    findings(judged)
        .map(|finding| convert::finding(&judged.output.folder, finding))
        .collect()
}

/// Why judged rules are not published, as a caller is told.
fn refusal(judged: &Judged, why: NotPublished) -> Refusal {
    match why {
        NotPublished::Refused => Refusal::RulesRefused(
            findings(judged)
                .filter(|finding| convert::is_refusal(finding))
                .map(|finding| convert::finding_fault(&judged.output.folder, finding))
                .collect(),
        ),
        NotPublished::Parts(faults) => parts_unreadable(faults),
        NotPublished::TooMany => Refusal::TooManyRevisions {
            most: MOST_REVISIONS,
        },
    }
}

fn parts_unreadable(faults: Vec<FileFault>) -> Refusal {
    let fault = |fault: FileFault| FieldFault {
        field: fault.file.clone(),
        sentence: format!("the parts on hand cannot be read by these rules: {fault}"),
    };
    Refusal::RulesRefused(faults.into_iter().map(fault).collect())
}

fn faults_of_reason(reason: &str) -> Option<String> {
    let characters = reason.chars().count();
    if reason.trim().is_empty() {
        return Some(
            "no reason was sent; say in one line why this revision decides now".to_owned(),
        );
    }
    if characters > LONGEST_REASON_CHARACTERS {
        return Some(format!(
            "a reason of {characters} characters was sent; at most {LONGEST_REASON_CHARACTERS} are \
             allowed"
        ));
    }
    reason
        .chars()
        .any(char::is_control)
        .then(|| "control characters were sent; a reason is one line of plain text".to_owned())
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
        let request = request.get_ref();
        let judged = self.judge(request.source.as_ref()).await?;
        let published = self
            .registry
            .publish(&judged, request.validate_only)
            .map_err(|why| refusal(&judged, why))?;
        let ruleset = &published.ruleset;
        let identity = convert::identity(&ruleset.program, &ruleset.source.revision);
        if !request.validate_only {
            let (ruleset, revision) = (&identity.name, &identity.revision);
            tracing::info!(%ruleset, %revision, was_known = published.was_known, "published");
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
        let request = request.into_inner();
        if let Some(sentence) = faults_of_reason(&request.reason) {
            let field = "reason".to_owned();
            return Err(Refusal::Faults(vec![FieldFault { field, sentence }]).into());
        }
        let expected = Some(request.expected_revision.as_str()).filter(|one| !one.is_empty());
        let activated = self
            .registry
            .activate(&request.ruleset, &request.revision, expected);
        let (previous, ruleset) = activated.map_err(|why| match why {
            NotActivated::UnknownRevision { known } => Refusal::UnknownRevision {
                ruleset: request.ruleset.clone(),
                sent: request.revision.clone(),
                known,
            },
            NotActivated::OtherInForce { in_force } => Refusal::OtherRevisionInForce {
                expected: request.expected_revision.clone(),
                in_force: in_force.unwrap_or_default(),
            },
            NotActivated::Parts(faults) => parts_unreadable(faults),
        })?;
        tracing::info!(
            ruleset = request.ruleset,
            revision = ruleset.source.revision,
            previous = previous.as_deref().unwrap_or("none"),
            reason = request.reason,
            "activated"
        );
        Ok(Response::new(pb::ActivateRulesetResponse {
            identity: Some(convert::identity(
                &ruleset.program,
                &ruleset.source.revision,
            )),
            previous_revision: previous.unwrap_or_default(),
        }))
    }
}
