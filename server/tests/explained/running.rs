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
use loftwright_server::pages;
use loftwright_server::rpc::convert::player::request;
use loftwright_server::rpc::recording::{Recording, StockFrom};
use loftwright_server::rpc::serve::{ServeError, listen, serve_and_record};
use loftwright_server::store::RecorderSettings;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::Status;
use tonic::transport::Channel;
use tonic_types::StatusExt;

pub(crate) struct Running {
    /// Where the pages are.
    pub(crate) pages: SocketAddr,
    pub(crate) fitting: FittingServiceClient<Channel>,
    pub(crate) audit: AuditServiceClient<Channel>,
    stop: oneshot::Sender<()>,
    stop_pages: oneshot::Sender<()>,
    paged: JoinHandle<std::io::Result<()>>,
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
        let recording = Arc::new(recording);
        let taken_up = recording.taken_up_by(&registry, StockFrom::Log).await;
        taken_up.expect("a log that goes on");
        let anywhere = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
        let (page_listener, pages) = listen(anywhere).await.expect("a free port");
        let (stop_pages, pages_stopped) = oneshot::channel();
        let paged = pages::serve(
            page_listener,
            Arc::clone(&registry),
            Arc::clone(&recording),
            async {
                let _ = pages_stopped.await;
            },
        );
        let paged = tokio::spawn(paged);
        let drain = Duration::from_secs(30);
        let served = serve_and_record(listener, registry, Some(recording), stopped, drain);
        let served = tokio::spawn(served);
        let channel = Channel::from_shared(format!("http://{address}")).expect("an address");
        let channel = channel.connect().await.expect("a connection");
        Running {
            pages,
            stop_pages,
            paged,
            fitting: FittingServiceClient::new(channel.clone()),
            audit: AuditServiceClient::new(channel),
            stop,
            served,
            writing,
        }
    }

    pub(crate) async fn stop(self) {
        drop((self.fitting, self.audit));
        let _ = self.stop_pages.send(());
        self.paged.await.expect("no panic").expect("no fault");
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

/// What a page answers: the first line and the headers, and the body.
pub(crate) async fn get_as(address: SocketAddr, host: &str, path: &str) -> (String, String) {
    let mut stream = TcpStream::connect(address).await.expect("a connection");
    let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).await.expect("sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).await.expect("an answer");
    let answer = String::from_utf8(answer).expect("text");
    let (head, body) = answer.split_once("\r\n\r\n").expect("a body");
    (head.to_owned(), body.to_owned())
}

/// As [`get_as`], of the listener's own name.
pub(crate) async fn get(address: SocketAddr, path: &str) -> (String, String) {
    get_as(address, &address.to_string(), path).await
}

/// The first link of a page that begins so.
pub(crate) fn link(page: &str, opening: &str) -> String {
    let (_, rest) = page.split_once(opening).expect("a link");
    let rest: String = rest.chars().take_while(|sign| *sign != '"').collect();
    format!("{opening}{rest}")
}
