//! A service of the built-in rulesets on a free loopback port.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_server::files::{PlayerFile, built_in};
use loftwright_server::load;
use loftwright_server::rpc::convert::player::request;
use loftwright_server::rpc::serve::{ServeError, listen, serve};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::transport::Channel;

/// A service and a client of it.
pub(crate) struct Running {
    pub(crate) client: FittingServiceClient<Channel>,
    pub(crate) channel: Channel,
    stop: oneshot::Sender<()>,
    served: JoinHandle<Result<bool, ServeError>>,
}

impl Running {
    pub(crate) async fn start() -> Self {
        let registry = load::registry(&[], None, None).expect("the built-in rulesets");
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
        let (listener, address) = listen(address).await.expect("a free port");
        let (stop, stopped) = oneshot::channel();
        let stopped = async {
            let _ = stopped.await;
        };
        let drain = Duration::from_secs(30);
        let served = tokio::spawn(serve(listener, Arc::new(registry), stopped, drain));
        let channel = Channel::from_shared(format!("http://{address}"))
            .expect("an address")
            .connect()
            .await
            .expect("a connection");
        Running {
            client: FittingServiceClient::new(channel.clone()),
            channel,
            stop,
            served,
        }
    }

    /// Stops the service; all that was in work is done.
    pub(crate) async fn stop(self) {
        drop((self.client, self.channel));
        let _ = self.stop.send(());
        let is_drained = self.served.await.expect("no panic").expect("no fault");
        assert!(is_drained);
    }
}

/// The request of a built-in player with every reading.
pub(crate) fn player() -> pb::RecommendRequest {
    let files = built_in::player_files("demo");
    let file = files
        .iter()
        .find(|file| file.path == "steady-right-hander.toml")
        .expect("the demo's player");
    let file = PlayerFile::of_text(file).expect("a player file");
    request("skerry", "test", file.text().expect("no faults"))
}
