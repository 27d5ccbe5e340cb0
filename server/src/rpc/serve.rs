//! The server: its services, its limits, and how it comes to an end.

use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use loftwright_proto::v1::FILE_DESCRIPTOR_SET;
use loftwright_proto::v1::audit_service_server::AuditServiceServer;
use loftwright_proto::v1::fitting_service_server::FittingServiceServer;
use loftwright_proto::v1::parts_service_server::PartsServiceServer;
use loftwright_proto::v1::ruleset_service_server::RulesetServiceServer;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio_stream::wrappers::TcpListenerStream;
use tonic::service::Routes;
use tonic::transport::Server;

use super::audit::Audit;
use super::fitting::Fitting;
use super::limits::{
    LimitsLayer, MOST_ANSWER_BYTES, MOST_REQUEST_BYTES, MOST_REQUESTS_AT_ONCE,
    MOST_RULES_REQUEST_BYTES, MOST_STREAMS_OF_A_CONNECTION,
};
use super::parts::PartsOnHand;
use super::principal::PrincipalLayer;
use super::recording::{Recording, StockFrom};
use super::ruleset::Rulesets;
use crate::registry::{NotTakenUp, Registry};

/// Why the server does not come up, or fell.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// An address that others could reach.
    #[error(
        "`{0}` is not a loopback address; without TLS and authentication the service listens on \
         this machine alone: use 127.0.0.1 or [::1]"
    )]
    NotLoopback(SocketAddr),
    /// The address cannot be had.
    #[error("cannot listen on `{address}`: {why}")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// What the system says.
        why: std::io::Error,
    },
    /// The reflection service cannot be built from our own descriptors.
    #[error("the interface's descriptors cannot be served: {0}")]
    Reflection(#[from] tonic_reflection::server::Error),
    /// The log cannot be taken up.
    #[error(transparent)]
    NotTakenUp(#[from] NotTakenUp),
    /// The transport failed.
    #[error("the transport failed: {0}")]
    Transport(#[from] tonic::transport::Error),
    /// The task that serves ended by a panic.
    #[error("the task that serves has ended: {0}")]
    Task(#[from] tokio::task::JoinError),
}

/// Takes a loopback address; port 0 takes a free one.
///
/// # Errors
/// [`ServeError::NotLoopback`] or [`ServeError::Listen`].
pub async fn listen(address: SocketAddr) -> Result<(TcpListener, SocketAddr), ServeError> {
    if !address.ip().is_loopback() {
        return Err(ServeError::NotLoopback(address));
    }
    let failed = |why| ServeError::Listen { address, why };
    let listener = TcpListener::bind(address).await.map_err(failed)?;
    let bound = listener.local_addr().map_err(failed)?;
    Ok((listener, bound))
}

/// Serves previews alone: see [`serve_and_record`].
///
/// # Errors
/// [`ServeError`].
pub async fn serve(
    listener: TcpListener,
    registry: Arc<Registry>,
    stop: impl Future<Output = ()>,
    drain: Duration,
) -> Result<bool, ServeError> {
    serve_and_record(listener, registry, None, stop, drain).await
}

/// Serves until `stop` is done; then says NOT_SERVING, takes no new connection, lets what is in
/// work finish for at most `drain`, and returns whether all of it did. Where nothing can be
/// recorded any more it says NOT_SERVING and refuses what would be recorded.
///
/// # Errors
/// [`ServeError`].
pub async fn serve_and_record(
    listener: TcpListener,
    registry: Arc<Registry>,
    recording: Option<Arc<Recording>>,
    stop: impl Future<Output = ()>,
    drain: Duration,
) -> Result<bool, ServeError> {
    if let Some(recording) = &recording {
        recording.taken_up_by(&registry, StockFrom::Log).await?;
    }
    let (health, health_service) = tonic_health::server::health_reporter();
    serving_all(&health).await;
    let principals = recording
        .as_ref()
        .map(|recording| Arc::clone(&recording.principals));
    let principals = principals.unwrap_or_default();
    let reflection = || {
        tonic_reflection::server::Builder::configure()
            .register_encoded_file_descriptor_set(FILE_DESCRIPTOR_SET)
            .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
    };
    let routes = routes(registry, recording.clone())
        .add_service(health_service)
        .add_service(reflection().build_v1()?)
        .add_service(reflection().build_v1alpha()?);
    let (stop_now, stopped) = oneshot::channel::<()>();
    let serving = Server::builder()
        .max_concurrent_streams(MOST_STREAMS_OF_A_CONNECTION)
        .layer(LimitsLayer::new(MOST_REQUESTS_AT_ONCE))
        .layer(PrincipalLayer::new(principals))
        .add_routes(routes)
        .serve_with_incoming_shutdown(TcpListenerStream::new(listener), async {
            // A sender that is gone is a stop too.
            let _ = stopped.await;
        });
    let mut serving = tokio::spawn(serving);
    tokio::pin!(stop);
    tokio::select! {
        ended = &mut serving => return ended?.map(|()| true).map_err(ServeError::from),
        () = &mut stop => {}
        () = stopped_recording(recording) => {
            not_serving(&health).await;
            tokio::select! {
                ended = &mut serving => return ended?.map(|()| true).map_err(ServeError::from),
                () = stop => {}
            }
        }
    }
    not_serving(&health).await;
    let _ = stop_now.send(());
    match tokio::time::timeout(drain, &mut serving).await {
        Ok(ended) => ended?.map(|()| true).map_err(ServeError::from),
        Err(_) => {
            serving.abort();
            Ok(false)
        }
    }
}

/// The services of the interface.
fn routes(registry: Arc<Registry>, recording: Option<Arc<Recording>>) -> Routes {
    let fitting = Fitting::new(Arc::clone(&registry), recording.clone());
    let fitting = FittingServiceServer::new(fitting)
        .max_decoding_message_size(MOST_REQUEST_BYTES)
        .max_encoding_message_size(MOST_ANSWER_BYTES);
    let audit = AuditServiceServer::new(Audit::new(Arc::clone(&registry), recording.clone()))
        .max_decoding_message_size(MOST_REQUEST_BYTES)
        .max_encoding_message_size(MOST_ANSWER_BYTES);
    let parts = PartsOnHand::new(Arc::clone(&registry), recording.clone());
    let parts = PartsServiceServer::new(parts)
        .max_decoding_message_size(MOST_RULES_REQUEST_BYTES)
        .max_encoding_message_size(MOST_ANSWER_BYTES);
    let rulesets = RulesetServiceServer::new(Rulesets::new(registry, recording))
        .max_decoding_message_size(MOST_RULES_REQUEST_BYTES)
        .max_encoding_message_size(MOST_ANSWER_BYTES);
    Routes::new(fitting)
        .add_service(rulesets)
        .add_service(parts)
        .add_service(audit)
}

/// Done once nothing can be recorded any more; never where nothing is recorded at all.
async fn stopped_recording(recording: Option<Arc<Recording>>) {
    match recording {
        Some(recording) => recording.stopped().await,
        None => std::future::pending().await,
    }
}

async fn serving_all(health: &tonic_health::server::HealthReporter) {
    health.set_serving::<FittingServiceServer<Fitting>>().await;
    health.set_serving::<RulesetServiceServer<Rulesets>>().await;
    health.set_serving::<AuditServiceServer<Audit>>().await;
    health
        .set_serving::<PartsServiceServer<PartsOnHand>>()
        .await;
}

async fn not_serving(health: &tonic_health::server::HealthReporter) {
    health
        .set_not_serving::<FittingServiceServer<Fitting>>()
        .await;
    health
        .set_not_serving::<RulesetServiceServer<Rulesets>>()
        .await;
    health.set_not_serving::<AuditServiceServer<Audit>>().await;
    health
        .set_not_serving::<PartsServiceServer<PartsOnHand>>()
        .await;
    health
        .set_service_status("", tonic_health::ServingStatus::NotServing)
        .await;
}
