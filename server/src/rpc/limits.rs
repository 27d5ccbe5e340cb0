//! The limits of the service, each with its name, and the layer that keeps them.
//!
//! The layer stands inside the transport, so that its answers win over the transport's own: a
//! deadline is answered DEADLINE_EXCEEDED (the transport would say CANCELLED), a request over the
//! size limit RESOURCE_EXHAUSTED (the transport says OUT_OF_RANGE), a panic INTERNAL.

use std::convert::Infallible;
use std::future::Future;
use std::panic::AssertUnwindSafe;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use futures::FutureExt;
use http::{Request, Response};
use tokio::sync::Semaphore;
use tonic::body::Body;
use tonic::{Code, Status};
use tower_layer::Layer;
use tower_service::Service;

use super::refusal::Refusal;

/// The most bytes of one request: 1 MiB.
pub const MOST_REQUEST_BYTES: usize = 1024 * 1024;

/// The most bytes of a request that brings rules or parts: a folder of the largest size, with what
/// a message adds to it.
pub const MOST_RULES_REQUEST_BYTES: usize = 12 * 1024 * 1024;

/// The most bytes of one answer: 16 MiB.
pub const MOST_ANSWER_BYTES: usize = 16 * 1024 * 1024;

/// The most requests in work at once, over all connections.
pub const MOST_REQUESTS_AT_ONCE: usize = 256;

/// The most streams of one connection at once.
pub const MOST_STREAMS_OF_A_CONNECTION: u32 = 128;

/// How much earlier than the transport's own timer ours ends, so that ours answers.
const EARLIER: Duration = Duration::from_millis(3);

/// Keeps the limits around a service.
#[derive(Clone, Debug)]
pub struct LimitsLayer {
    permits: Arc<Semaphore>,
    most_at_once: usize,
}

impl LimitsLayer {
    /// Limits with so many requests at once.
    pub fn new(most_at_once: usize) -> Self {
        LimitsLayer {
            permits: Arc::new(Semaphore::new(most_at_once)),
            most_at_once,
        }
    }
}

impl<S> Layer<S> for LimitsLayer {
    type Service = Limited<S>;

    fn layer(&self, inner: S) -> Self::Service {
        Limited {
            inner,
            limits: self.clone(),
        }
    }
}

/// A service within the limits.
#[derive(Clone, Debug)]
pub struct Limited<S> {
    inner: S,
    limits: LimitsLayer,
}

type Answer = Pin<Box<dyn Future<Output = Result<Response<Body>, Infallible>> + Send>>;

impl<S> Service<Request<Body>> for Limited<S>
where
    S: Service<Request<Body>, Response = Response<Body>, Error = Infallible>,
    S::Future: Send + 'static,
{
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Answer;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Answer {
        let time_left = request
            .headers()
            .get("grpc-timeout")
            .and_then(|value| value.to_str().ok())
            .and_then(parse_timeout);
        // A service under load still answers whether it is well.
        let is_health = request.uri().path().starts_with("/grpc.health.v1.Health/");
        let permit = Arc::clone(&self.limits.permits).try_acquire_owned();
        if permit.is_err() && !is_health {
            let most = self.limits.most_at_once;
            return refuse(Refusal::TooManyAtOnce { most });
        }
        let most_bytes = most_request_bytes(request.uri().path());
        if time_left.is_some_and(|left| left <= EARLIER) {
            return refuse(Refusal::DeadlinePassed);
        }
        let answer = AssertUnwindSafe(self.inner.call(request)).catch_unwind();
        Box::pin(async move {
            let _permit = permit;
            let outcome = match time_left {
                None => answer.await,
                Some(left) => match tokio::time::timeout(left - EARLIER, answer).await {
                    Ok(outcome) => outcome,
                    Err(_) => return Ok(refusal(Refusal::DeadlinePassed)),
                },
            };
            match outcome {
                Ok(Ok(response)) => Ok(size_limit_named(response, most_bytes)),
                Ok(Err(never)) => match never {},
                Err(_) => {
                    tracing::error!("a request ended in a panic");
                    Ok(refusal(Refusal::OwnFault))
                }
            }
        })
    }
}

/// The limit of the service whose method is called.
fn most_request_bytes(path: &str) -> usize {
    let brings_files = |service: &&str| {
        path.strip_prefix(*service)
            .is_some_and(|rest| rest.starts_with('/'))
    };
    let services = [
        "/loftwright.v1.RulesetService",
        "/loftwright.v1.PartsService",
    ];
    if services.iter().any(brings_files) {
        MOST_RULES_REQUEST_BYTES
    } else {
        MOST_REQUEST_BYTES
    }
}

fn refuse(why: Refusal) -> Answer {
    Box::pin(std::future::ready(Ok(refusal(why))))
}

fn refusal(why: Refusal) -> Response<Body> {
    Status::from(why).into_http()
}

/// Nothing of ours answers OUT_OF_RANGE: it is the transport's word for a request that is too
/// large.
fn size_limit_named(response: Response<Body>, most: usize) -> Response<Body> {
    match Status::from_header_map(response.headers()) {
        Some(status) if status.code() == Code::OutOfRange => {
            refusal(Refusal::MessageTooLarge { most })
        }
        _ => response,
    }
}

/// Reads a `grpc-timeout` header: at most eight digits and a unit.
///
/// Source: *gRPC over HTTP2*, "Requests", Timeout.
fn parse_timeout(text: &str) -> Option<Duration> {
    let unit = text.chars().last()?;
    let digits = text.strip_suffix(unit)?;
    if digits.is_empty() || digits.len() > 8 || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let count: u64 = digits.parse().ok()?;
    Some(match unit {
        'H' => Duration::from_secs(count * 3_600),
        'M' => Duration::from_secs(count * 60),
        'S' => Duration::from_secs(count),
        'm' => Duration::from_millis(count),
        'u' => Duration::from_micros(count),
        'n' => Duration::from_nanos(count),
        _ => return None,
    })
}

#[cfg(test)]
#[path = "limits_tests.rs"]
mod tests;
