//! `FittingService`: one player in, a bag out; and what a ruleset asks.

use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use loftwright_dsl::quantity::Date;
use loftwright_engine::fit::fit_to_depth;
use loftwright_engine::intake;
use loftwright_engine::player::Player;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_server::FittingService;
use tonic::{Request, Response, Status};

use super::build::confirm;
use super::convert;
use super::principal::principal_of;
use super::recording::Recording;
use super::refusal::{FieldFault, Refusal};
use super::request;
use crate::registry::{NotFound, Principal, Registry, Ruleset};

/// The service over what is in force.
#[derive(Clone, Debug)]
pub struct Fitting {
    registry: Arc<Registry>,
    recording: Option<Arc<Recording>>,
}

impl Fitting {
    /// A service that answers from what is in force when a request comes, and records its answers
    /// where there is a record.
    pub fn new(registry: Arc<Registry>, recording: Option<Arc<Recording>>) -> Self {
        Fitting {
            registry,
            recording,
        }
    }

    /// The ruleset in force now; a request asks once, and looks at nothing else.
    fn ruleset(&self, name: &str) -> Result<Arc<Ruleset>, Refusal> {
        let workshop = self.registry.workshop();
        let known = || workshop.names();
        workshop
            .ruleset(name)
            .map(Arc::clone)
            .map_err(|why| match why {
                NotFound::Unknown => Refusal::UnknownRuleset {
                    sent: name.to_owned(),
                    known: known(),
                },
                NotFound::Unreadable(found) => Refusal::RevisionUnreadable {
                    ruleset: name.to_owned(),
                    revision: found.revision,
                    why: found.why,
                },
                NotFound::NotNamed => Refusal::Faults(vec![FieldFault {
                    field: "ruleset".to_owned(),
                    sentence: format!(
                        "no ruleset was named, and none here is the usual one; name one of `{}`",
                        known().join("`, `")
                    ),
                }]),
            })
    }

    /// Every fault of the request first, then by which rules it is answered.
    fn checked(&self, request: &pb::RecommendRequest) -> Result<(Arc<Ruleset>, Player), Refusal> {
        let (_, faults) = request::faults_of_form(request);
        let of_form = Refusal::Faults(faults.clone());
        let ruleset = self.ruleset(&request.ruleset);
        let ruleset =
            ruleset.map_err(|why| request::together(vec![("", of_form), ("ruleset", why)]))?;
        let player = intake::read_player(&ruleset.program, &convert::player::player_text(request));
        match player {
            Ok(player) if faults.is_empty() => Ok((ruleset, player)),
            Ok(_) => Err(Refusal::Faults(faults)),
            Err(more) => Err(Refusal::Faults(
                faults
                    .into_iter()
                    .chain(convert::player::faults(more))
                    .collect(),
            )),
        }
    }

    async fn answer(
        &self,
        request: &pb::RecommendRequest,
        principal: &Principal,
        instant: SystemTime,
    ) -> Result<pb::RecommendResponse, Refusal> {
        let today = day_of(instant).ok_or(Refusal::OwnFault)?;
        if request.preview {
            let (ruleset, player) = self.checked(request)?;
            return Ok(pb::RecommendResponse {
                recommendation: Some(fit(request, &ruleset, &player, today, request.view())),
                record: None,
            });
        }
        let Some(recording) = &self.recording else {
            self.checked(request)?;
            return Err(Refusal::RecordsNotKept);
        };
        // A retry finds its record whatever rules are in force by now.
        let is_formed = request::faults_of_form(request).1.is_empty();
        let mark = is_formed.then(|| recording.mark(principal, request));
        let mark = mark.transpose()?;
        if let Some(mark) = mark
            && let Some(before) = recording.answered_before(request, mark).await?
        {
            return Ok(before);
        }
        let checked = self.checked(request);
        let about = recording.superseded(request).await;
        let ((ruleset, player), about) = match (checked, about) {
            (Ok(checked), Ok(about)) => (checked, about),
            (checked, about) => {
                let checked = checked.err().map(|why| ("ruleset", why));
                let about = about.err().map(|why| ("supersedes", why));
                let all = checked.into_iter().chain(about).collect();
                return Err(request::together(all));
            }
        };
        let mark = mark.ok_or(Refusal::OwnFault)?;
        let view = convert::recorded_view(request.view());
        let mut recommendation = fit(request, &ruleset, &player, today, view);
        recommendation.preview = false;
        recording
            .keep(
                principal,
                request,
                mark,
                &ruleset,
                instant,
                recommendation,
                about,
            )
            .await
    }
}

fn fit(
    request: &pb::RecommendRequest,
    ruleset: &Ruleset,
    player: &Player,
    today: Date,
    view: pb::RecommendationView,
) -> pb::Recommendation {
    let depth = convert::depth_of(view);
    let fitted = fit_to_depth(&ruleset.program, &ruleset.parts, player, today, depth);
    let ticket_of = request.ticket.then_some(request.subject.as_str());
    convert::recommendation(&fitted, ruleset, today, view, ticket_of)
}

#[tonic::async_trait]
impl FittingService for Fitting {
    async fn recommend(
        &self,
        request: Request<pb::RecommendRequest>,
    ) -> Result<Response<pb::RecommendResponse>, Status> {
        // The clock is read once.
        let now = SystemTime::now();
        let principal = principal_of(&request)?;
        let answer = self.answer(request.get_ref(), &principal, now).await?;
        Ok(Response::new(answer))
    }

    async fn confirm_build(
        &self,
        request: Request<pb::ConfirmBuildRequest>,
    ) -> Result<Response<pb::ConfirmBuildResponse>, Status> {
        let principal = principal_of(&request)?;
        let recording = self.recording.clone().ok_or(Refusal::RecordsNotKept)?;
        let registry = Arc::clone(&self.registry);
        let answer = confirm(recording, registry, principal, request.into_inner()).await?;
        Ok(Response::new(answer))
    }

    async fn describe_ruleset(
        &self,
        request: Request<pb::DescribeRulesetRequest>,
    ) -> Result<Response<pb::DescribeRulesetResponse>, Status> {
        let ruleset = self.ruleset(&request.get_ref().ruleset)?;
        Ok(Response::new(pb::DescribeRulesetResponse {
            ruleset: Some(convert::ruleset_description(
                &ruleset.program,
                &ruleset.source.revision,
            )),
        }))
    }
}

/// The calendar day now, in universal time. `None` where the machine's clock stands before 1970.
pub fn today() -> Option<Date> {
    day_of(SystemTime::now())
}

fn day_of(instant: SystemTime) -> Option<Date> {
    const SECONDS_A_DAY: u64 = 86_400;
    let since = instant.duration_since(UNIX_EPOCH).ok()?;
    let days = i64::try_from(since.as_secs() / SECONDS_A_DAY).ok()?;
    Some(Date::from_days(days))
}
