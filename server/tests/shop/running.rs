//! A service with a data directory, and what its callers ask.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_proto::v1::parts_service_client::PartsServiceClient;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use loftwright_server::files::{PlayerFile, built_in};
use loftwright_server::load;
use loftwright_server::rpc::convert::player::request;
use loftwright_server::rpc::recording::{Recording, StockFrom};
use loftwright_server::rpc::serve::{ServeError, listen, serve_and_record};
use loftwright_server::store::RecorderSettings;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::Status;
use tonic::transport::Channel;
use tonic_types::StatusExt;

pub(crate) struct Running {
    pub(crate) fitting: FittingServiceClient<Channel>,
    pub(crate) parts: PartsServiceClient<Channel>,
    pub(crate) rulesets: RulesetServiceClient<Channel>,
    pub(crate) audit: AuditServiceClient<Channel>,
    /// Where it listens.
    pub(crate) url: String,
    stop: oneshot::Sender<()>,
    served: JoinHandle<Result<bool, ServeError>>,
    writing: JoinHandle<()>,
}

impl Running {
    pub(crate) async fn start(data: &Path) -> Self {
        Running::start_with(data, None, StockFrom::Log).await
    }

    /// As [`Running::start`], with a folder of parts.
    pub(crate) async fn start_with(data: &Path, parts: Option<&Path>, from: StockFrom) -> Self {
        let registry = load::registry(&[], parts, None).expect("the built-in rulesets");
        let registry = Arc::new(registry);
        let opened = Recording::open(data, RecorderSettings::default()).await;
        let (recording, writing) = opened.expect("a record");
        let taken_up = recording.taken_up_by(&registry, from).await;
        taken_up.expect("a log that can be gone on from");
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
        let (listener, address) = listen(address).await.expect("a free port");
        let (stop, stopped) = oneshot::channel();
        let stopped = async {
            let _ = stopped.await;
        };
        let recording = Some(Arc::new(recording));
        let drain = Duration::from_secs(30);
        let served = serve_and_record(listener, registry, recording, stopped, drain);
        let served = tokio::spawn(served);
        let channel = Channel::from_shared(format!("http://{address}")).expect("an address");
        let channel = channel.connect().await.expect("a connection");
        Running {
            fitting: FittingServiceClient::new(channel.clone()),
            parts: PartsServiceClient::new(channel.clone()),
            rulesets: RulesetServiceClient::new(channel.clone()),
            audit: AuditServiceClient::new(channel),
            url: format!("http://{address}"),
            stop,
            served,
            writing,
        }
    }

    pub(crate) async fn stop(self) {
        drop((self.fitting, self.parts, self.rulesets, self.audit));
        let _ = self.stop.send(());
        assert!(self.served.await.expect("no panic").expect("no fault"));
        self.writing.await.expect("no panic");
    }

    pub(crate) async fn restart(self, data: &Path) -> Self {
        self.stop().await;
        Running::start(data).await
    }

    pub(crate) async fn recommend(&mut self, request: pb::RecommendRequest) -> Recommended {
        let answer = self
            .fitting
            .recommend(request)
            .await
            .expect("an answer")
            .into_inner();
        Recommended {
            id: answer.record.expect("a record").id,
            bag: answer.recommendation.expect("a recommendation"),
        }
    }

    pub(crate) async fn confirm(
        &mut self,
        request: pb::ConfirmBuildRequest,
    ) -> Result<pb::ConfirmBuildResponse, Status> {
        let answer = self.fitting.confirm_build(request).await?;
        Ok(answer.into_inner())
    }

    pub(crate) async fn record(&mut self, id: &str) -> pb::Record {
        let request = pb::GetRecordRequest { id: id.to_owned() };
        let answer = self.audit.get_record(request).await.expect("an answer");
        answer.into_inner().record.expect("a record")
    }

    /// What is on hand of a kind and part.
    pub(crate) async fn stock(&mut self, kind: &str, part: &str) -> pb::ListStockResponse {
        let request = pb::ListStockRequest {
            kind: kind.to_owned(),
            part: part.to_owned(),
            page_size: 1000,
            page_token: String::new(),
        };
        let answer = self.parts.list_stock(request).await;
        answer.expect("an answer").into_inner()
    }

    pub(crate) async fn snapshot(&mut self) -> String {
        let stock = self.stock("grip", "").await;
        stock.snapshot.expect("a snapshot").digest
    }

    /// Whether a piece is on hand.
    pub(crate) async fn has(&mut self, kind: &str, part: &str, piece: &str) -> bool {
        let stock = self.stock(kind, part).await;
        let mut items = stock.items.iter();
        items.any(|item| item.piece_id.as_deref() == Some(piece))
    }
}

pub(crate) struct Recommended {
    pub(crate) id: String,
    pub(crate) bag: pb::Recommendation,
}

impl Recommended {
    pub(crate) fn club(&self, name: &str) -> &pb::ClubBuild {
        let mut clubs = self.bag.clubs.iter();
        clubs.find(|club| club.name == name).expect("the club")
    }
}

/// The part of a settled part.
pub(crate) fn part(part: Option<&pb::SettledPart>) -> pb::PartBuild {
    let state = part.and_then(|part| part.state.clone());
    let part = state.and_then(|state| match state {
        pb::settled_part::State::Part(part) => Some(part),
        _ => None,
    });
    part.expect("a part")
}

/// A UUID of a number.
pub(crate) fn uuid(number: u32) -> String {
    format!("00000000-0000-4000-8000-{number:012x}")
}

/// The demo's steady player, to be recorded; `number` makes the request's id.
pub(crate) fn player(number: u32, subject: &str) -> pb::RecommendRequest {
    let files = built_in::player_files("demo");
    let file = files
        .iter()
        .find(|file| file.path == "steady-right-hander.toml")
        .expect("the demo's player");
    let file = PlayerFile::of_text(file).expect("a player file");
    pb::RecommendRequest {
        request_id: uuid(number),
        preview: false,
        view: pb::RecommendationView::Reasons.into(),
        ..request("skerry", subject, file.text().expect("no faults"))
    }
}

pub(crate) fn reason(status: &Status) -> String {
    let info = status.get_details_error_info();
    info.expect("every status has an error info").reason
}

/// The faults of a refusal: fields and sentences.
pub(crate) fn faults(status: &Status) -> Vec<(String, String)> {
    let details = status.get_error_details();
    let violations = details.bad_request().expect("violations");
    let violations = violations.field_violations.iter();
    violations
        .map(|one| (one.field.clone(), one.description.clone()))
        .collect()
}
