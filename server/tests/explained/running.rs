//! A service with a data directory, and the demo's players.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_server::files::{PlayerFile, built_in};
use loftwright_server::load;
use loftwright_server::rpc::convert::player::request;
use loftwright_server::rpc::recording::Recording;
use loftwright_server::rpc::serve::{ServeError, listen, serve_and_record};
use loftwright_server::store::RecorderSettings;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::Status;
use tonic::transport::Channel;
use tonic_types::StatusExt;

pub(crate) struct Running {
    pub(crate) fitting: FittingServiceClient<Channel>,
    pub(crate) audit: AuditServiceClient<Channel>,
    stop: oneshot::Sender<()>,
    served: JoinHandle<Result<bool, ServeError>>,
    writing: JoinHandle<()>,
}

impl Running {
    pub(crate) async fn start(data: &Path) -> Self {
        let registry = Arc::new(load::registry(&[], None, None).expect("the built-in rulesets"));
        let opened = Recording::open(data, RecorderSettings::default()).await;
        let (recording, writing) = opened.expect("a record");
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
            audit: AuditServiceClient::new(channel),
            stop,
            served,
            writing,
        }
    }

    pub(crate) async fn stop(self) {
        drop((self.fitting, self.audit));
        let _ = self.stop.send(());
        assert!(self.served.await.expect("no panic").expect("no fault"));
        self.writing.await.expect("no panic");
    }

    /// Records a player, and answers with the record's id.
    pub(crate) async fn record(&mut self, request: pb::RecommendRequest) -> String {
        let answer = self.fitting.recommend(request).await.expect("an answer");
        answer.into_inner().record.expect("a record").id
    }
}

/// A demo player's request that is to be recorded; `number` makes its id.
pub(crate) fn player(name: &str, number: u32) -> pb::RecommendRequest {
    let files = built_in::player_files("demo");
    let file = files
        .iter()
        .find(|file| file.path == format!("{name}.toml"))
        .expect("the demo's player");
    let file = PlayerFile::of_text(file).expect("a player file");
    pb::RecommendRequest {
        request_id: format!("00000000-0000-4000-8000-{number:012x}"),
        preview: false,
        view: pb::RecommendationView::Reasons.into(),
        ticket: false,
        ..request(
            "skerry",
            "planted-pseudonym",
            file.text().expect("no faults"),
        )
    }
}

/// The fields that a refusal names, each with its sentence.
pub(crate) fn violations(refused: &Status) -> Vec<(String, String)> {
    let bad = refused.get_details_bad_request().expect("violations");
    let violations = bad.field_violations.into_iter();
    violations
        .map(|fault| (fault.field, fault.description))
        .collect()
}
