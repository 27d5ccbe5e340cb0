//! `FittingService`: one player in, a bag out; and what a ruleset asks.

use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use loftwright_dsl::quantity::Date;
use loftwright_engine::fit::fit_to_depth;
use loftwright_engine::intake;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_server::FittingService;
use tonic::{Request, Response, Status};

use super::convert;
use super::request;
use super::status::{FieldFault, Refusal};
use crate::registry::{NotFound, Registry, Ruleset};

/// The service over what is in force.
#[derive(Clone, Debug)]
pub struct Fitting {
    registry: Arc<Registry>,
}

impl Fitting {
    /// A service that answers from what is in force when a request comes.
    pub fn new(registry: Arc<Registry>) -> Self {
        Fitting { registry }
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
                NotFound::NotNamed => Refusal::Faults(vec![FieldFault {
                    field: "ruleset".to_owned(),
                    sentence: format!(
                        "no ruleset was named, and none here is the usual one; name one of `{}`",
                        known().join("`, `")
                    ),
                }]),
            })
    }

    /// Every fault of the request first, then whether it can be answered at all.
    fn recommendation(
        &self,
        request: &pb::RecommendRequest,
        today: Date,
    ) -> Result<pb::Recommendation, Refusal> {
        let (view, mut faults) = request::faults_of_form(request);
        let ruleset = match self.ruleset(&request.ruleset) {
            Ok(ruleset) => ruleset,
            Err(refusal) if faults.is_empty() => return Err(refusal),
            Err(refusal) => {
                faults.push(FieldFault {
                    field: "ruleset".to_owned(),
                    sentence: refusal.to_string(),
                });
                return Err(Refusal::Faults(faults));
            }
        };
        let player = intake::read_player(&ruleset.program, &convert::player::player_text(request));
        let player = match player {
            Ok(player) if faults.is_empty() => player,
            Ok(_) => return Err(Refusal::Faults(faults)),
            Err(more) => {
                faults.extend(convert::player::faults(more));
                return Err(Refusal::Faults(faults));
            }
        };
        if !request.preview {
            return Err(Refusal::RecordsNotKept);
        }
        let depth = convert::depth_of(view);
        let recommendation = fit_to_depth(&ruleset.program, &ruleset.parts, &player, today, depth);
        Ok(convert::recommendation(
            &recommendation,
            &ruleset,
            today,
            view,
            request.ticket.then_some(request.subject.as_str()),
        ))
    }
}

#[tonic::async_trait]
impl FittingService for Fitting {
    async fn recommend(
        &self,
        request: Request<pb::RecommendRequest>,
    ) -> Result<Response<pb::RecommendResponse>, Status> {
        let today = today().ok_or(Refusal::OwnFault)?;
        let recommendation = self.recommendation(request.get_ref(), today)?;
        Ok(Response::new(pb::RecommendResponse {
            recommendation: Some(recommendation),
        }))
    }

    async fn describe_ruleset(
        &self,
        request: Request<pb::DescribeRulesetRequest>,
    ) -> Result<Response<pb::DescribeRulesetResponse>, Status> {
        let ruleset = self.ruleset(&request.get_ref().ruleset)?;
        Ok(Response::new(pb::DescribeRulesetResponse {
            ruleset: Some(convert::ruleset_description(
                &ruleset.program,
                &ruleset.revision,
            )),
        }))
    }
}

/// The calendar day now, in universal time. `None` where the machine's clock stands before 1970.
pub fn today() -> Option<Date> {
    const SECONDS_A_DAY: u64 = 86_400;
    let since = SystemTime::now().duration_since(UNIX_EPOCH).ok()?;
    let days = i64::try_from(since.as_secs() / SECONDS_A_DAY).ok()?;
    Some(Date::from_days(days))
}
