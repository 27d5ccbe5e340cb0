//! A service in this process, on free ports of the loopback.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_proto::v1::parts_service_client::PartsServiceClient;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use loftwright_server::rpc::recording::{Recording, StockFrom};
use loftwright_server::rpc::serve::{ServeError, listen, serve_and_record};
use loftwright_server::store::RecorderSettings;
use loftwright_server::{load, pages};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::transport::Channel;

/// How long requests in work may go on after a stop.
const DRAIN: Duration = Duration::from_secs(30);

/// What a service begins with, as the options of `loftwright serve` say it.
#[derive(Clone, Copy, Debug)]
pub struct Begin<'a> {
    /// The data directory; without one nothing is recorded, and there are no pages.
    pub data: Option<&'a Path>,
    /// Folders of rules; the built-in rulesets where there is none.
    pub rules: &'a [PathBuf],
    /// The folder of parts; the demo's where there is none.
    pub parts: Option<&'a Path>,
    /// Which stock is in force where both the record and the start have one.
    pub stock_from: StockFrom,
    /// How the record is written.
    pub recorder: RecorderSettings,
}

impl Default for Begin<'_> {
    fn default() -> Self {
        Begin {
            data: None,
            rules: &[],
            parts: None,
            stock_from: StockFrom::Log,
            recorder: RecorderSettings::default(),
        }
    }
}

/// A running service.
#[derive(Debug)]
pub struct Service {
    /// A connection to it.
    pub channel: Channel,
    /// Where it listens.
    pub url: String,
    pages: Option<Pages>,
    stop: oneshot::Sender<()>,
    served: JoinHandle<Result<bool, ServeError>>,
    writing: Option<JoinHandle<()>>,
}

#[derive(Debug)]
struct Pages {
    address: SocketAddr,
    stop: oneshot::Sender<()>,
    served: JoinHandle<std::io::Result<()>>,
}

impl Service {
    /// A service of previews, by the built-in rulesets and the demo's parts.
    pub async fn of_previews() -> Self {
        Service::start_as(Begin::default()).await
    }

    /// The same with a data directory, and the pages of its record.
    pub async fn start(data: &Path) -> Self {
        let begin = Begin {
            data: Some(data),
            ..Begin::default()
        };
        Service::start_as(begin).await
    }

    /// A service that begins so.
    pub async fn start_as(begin: Begin<'_>) -> Self {
        let registry = load::registry(begin.rules, begin.parts, None);
        let registry = Arc::new(registry.expect("rules and parts"));
        let (mut recording, mut writing, mut pages) = (None, None, None);
        if let Some(data) = begin.data {
            let opened = Recording::open(data, begin.recorder).await;
            let (opened, task) = opened.expect("a record");
            let taken_up = opened.taken_up_by(&registry, begin.stock_from).await;
            taken_up.expect("a log that can be gone on from");
            let opened = Arc::new(opened);
            let (listener, address) = listen(anywhere()).await.expect("a free port");
            let (stop, stopped) = stopping();
            let served = pages::serve(listener, Arc::clone(&registry), opened.clone(), stopped);
            pages = Some(Pages {
                address,
                stop,
                served: tokio::spawn(served),
            });
            (recording, writing) = (Some(opened), Some(task));
        }
        let (listener, address) = listen(anywhere()).await.expect("a free port");
        let (stop, stopped) = stopping();
        let served = serve_and_record(listener, registry, recording, stopped, DRAIN);
        let served = tokio::spawn(served);
        let url = format!("http://{address}");
        let channel = Channel::from_shared(url.clone()).expect("an address");
        Service {
            channel: channel.connect().await.expect("a connection"),
            url,
            pages,
            stop,
            served,
            writing,
        }
    }

    /// Stops it; all that was in work is done, and the last checkpoint is signed.
    pub async fn stop(self) {
        drop(self.channel);
        // It may have come to an end by itself, which the task says.
        if let Some(pages) = self.pages {
            let _ = pages.stop.send(());
            pages.served.await.expect("no panic").expect("no fault");
        }
        let _ = self.stop.send(());
        let is_drained = self.served.await.expect("no panic").expect("no fault");
        assert!(is_drained, "everything in work ends");
        if let Some(writing) = self.writing {
            writing.await.expect("no panic");
        }
    }

    /// Where the pages of the record are.
    pub fn pages(&self) -> SocketAddr {
        self.pages.as_ref().expect("a record").address
    }

    /// A client of `FittingService`.
    pub fn fitting(&self) -> FittingServiceClient<Channel> {
        FittingServiceClient::new(self.channel.clone())
    }

    /// A client of `RulesetService`.
    pub fn rulesets(&self) -> RulesetServiceClient<Channel> {
        RulesetServiceClient::new(self.channel.clone())
    }

    /// A client of `PartsService`.
    pub fn parts(&self) -> PartsServiceClient<Channel> {
        PartsServiceClient::new(self.channel.clone())
    }

    /// A client of `AuditService`.
    pub fn audit(&self) -> AuditServiceClient<Channel> {
        AuditServiceClient::new(self.channel.clone())
    }
}

fn anywhere() -> SocketAddr {
    SocketAddr::from((Ipv4Addr::LOCALHOST, 0))
}

/// What stops a task, and what it waits for; a sender that is gone is a stop too.
fn stopping() -> (oneshot::Sender<()>, impl Future<Output = ()>) {
    let (stop, stopped) = oneshot::channel();
    (stop, async {
        let _ = stopped.await;
    })
}
