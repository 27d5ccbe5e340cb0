//! The limits, each on both sides.

use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};

use http::{Request, Response};
use tonic::body::Body;
use tonic::{Code, Status};
use tonic_types::StatusExt;
use tower_layer::Layer;
use tower_service::Service;

use super::*;

type Answered = Pin<Box<dyn Future<Output = Result<Response<Body>, Infallible>> + Send>>;

/// What the service inside the limits does.
#[derive(Clone, Copy)]
enum Inner {
    Answers,
    NeverEnds,
    Panics,
    TooLarge,
}

impl Service<Request<Body>> for Inner {
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Answered;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, _: Request<Body>) -> Answered {
        match self {
            Inner::Answers => Box::pin(async { Ok(Status::ok("").into_http()) }),
            Inner::NeverEnds => Box::pin(std::future::pending()),
            Inner::Panics => Box::pin(async { panic!("as the test wants it") }),
            Inner::TooLarge => Box::pin(async { Ok(Status::out_of_range("").into_http()) }),
        }
    }
}

fn request(timeout: Option<&str>) -> Request<Body> {
    let mut request = Request::new(Body::empty());
    if let Some(timeout) = timeout {
        let value = http::HeaderValue::from_str(timeout).expect("a header value");
        request.headers_mut().insert("grpc-timeout", value);
    }
    request
}

fn status_of(response: &Response<Body>) -> Status {
    Status::from_header_map(response.headers()).expect("a status in the headers")
}

async fn ask(inner: Inner, timeout: Option<&str>) -> Status {
    let mut service = LimitsLayer::new(1).layer(inner);
    let Ok(response) = service.call(request(timeout)).await;
    status_of(&response)
}

#[tokio::test]
async fn an_answer_in_time_passes() {
    assert_eq!(ask(Inner::Answers, Some("10S")).await.code(), Code::Ok);
    assert_eq!(ask(Inner::Answers, None).await.code(), Code::Ok);
}

#[tokio::test(start_paused = true)]
async fn a_deadline_that_passes_is_named() {
    let status = ask(Inner::NeverEnds, Some("20m")).await;
    assert_eq!(status.code(), Code::DeadlineExceeded);
    let details = status.get_error_details();
    let info = details.error_info().expect("an error info");
    assert_eq!(info.reason, "DEADLINE_PASSED");
}

#[tokio::test]
async fn a_deadline_that_has_passed_starts_nothing() {
    let status = ask(Inner::Panics, Some("1n")).await;
    assert_eq!(status.code(), Code::DeadlineExceeded);
}

#[tokio::test]
async fn a_panic_is_an_internal_fault() {
    assert_eq!(ask(Inner::Panics, None).await.code(), Code::Internal);
}

#[tokio::test]
async fn the_transports_out_of_range_is_the_size_limit() {
    let status = ask(Inner::TooLarge, None).await;
    assert_eq!(status.code(), Code::ResourceExhausted);
    let details = status.get_error_details();
    let limit = details
        .error_info()
        .and_then(|info| info.metadata.get("limit").cloned());
    assert_eq!(limit.as_deref(), Some("request_bytes"));
}

#[tokio::test]
async fn one_request_too_many_is_refused_and_the_place_is_given_back() {
    let layer = LimitsLayer::new(1);
    let waiting = layer.layer(Inner::NeverEnds).call(request(None));
    let Ok(refused) = layer.layer(Inner::Answers).call(request(None)).await;
    assert_eq!(status_of(&refused).code(), Code::ResourceExhausted);
    drop(waiting);
    let Ok(answered) = layer.layer(Inner::Answers).call(request(None)).await;
    assert_eq!(status_of(&answered).code(), Code::Ok);
}

#[test]
fn timeouts_are_read_as_the_protocol_writes_them() {
    assert_eq!(parse_timeout("100m"), Some(Duration::from_millis(100)));
    assert_eq!(parse_timeout("2H"), Some(Duration::from_secs(7_200)));
    assert_eq!(parse_timeout("123456789S"), None);
    assert_eq!(parse_timeout("S"), None);
    assert_eq!(parse_timeout("5x"), None);
    assert_eq!(parse_timeout("5é"), None);
}
