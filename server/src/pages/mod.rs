//! The pages of the record: what an auditor reads in a browser, on this machine alone.
//!
//! Server-rendered HTML without a script. `GET /records` lists, `GET /records/ID` explains a
//! record as a whole, `GET /records/ID/why/DECISION` one decision with its graph, its bands and the
//! rows that did not decide, `GET /rulesets/NAME/revisions/REVISION` the rules. Pictures are SVG
//! beside tables of the same numbers. Every page that shows a record is itself recorded, before it
//! is shown. All texts come from the record and are escaped by the macro.
//!
//! The listener takes requests for loopback names only: a page of somebody else's that has a name
//! of its own resolved to this machine gets nothing.

mod bands;
mod decision;
mod graph;
mod graph_drawing;
mod graph_layout;
mod layout;
mod list;
mod query;
mod reader;
mod reads;
mod record;
mod refused;
mod revision;
mod step_list;

use std::future::Future;
use std::sync::Arc;

use axum::Extension;
use axum::Router;
use axum::extract::{Path, RawQuery, Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HOST, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use tokio::net::TcpListener;

use crate::registry::{Principal, Registry};
use crate::rpc::explaining::Explainer;
use crate::rpc::recording::Recording;
use refused::PageFault;

/// What the page may load and do: its own style sheet, its own forms, nothing else.
const POLICY: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'",
);

const STYLE: &str = "/style.css";

/// What the pages are drawn from.
#[derive(Debug)]
pub(crate) struct Site {
    explainer: Explainer,
    recording: Arc<Recording>,
    registry: Arc<Registry>,
}

type Shared = State<Arc<Site>>;
type Reader = Extension<Arc<Principal>>;
type Page = Result<Response, PageFault>;

/// Serves the pages until `stop` is done and what is in work is answered.
///
/// # Errors
/// What the system says of the listener.
pub async fn serve(
    listener: TcpListener,
    registry: Arc<Registry>,
    recording: Arc<Recording>,
    stop: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    axum::serve(listener, router(registry, recording))
        .with_graceful_shutdown(stop)
        .await
}

fn router(registry: Arc<Registry>, recording: Arc<Recording>) -> Router {
    let site = Arc::new(Site {
        explainer: Explainer::new(Arc::clone(&recording)),
        recording,
        registry,
    });
    Router::new()
        .route("/", get(async || Redirect::to("/records")))
        .route(STYLE, get(style))
        .route("/records", get(records))
        .route("/records/{id}", get(one_record))
        .route("/records/{id}/why/{decision}", get(one_decision))
        .route("/rulesets/{name}/revisions/{revision}", get(one_revision))
        .fallback(async || PageFault::no_such_page())
        .layer(from_fn_with_state(Arc::clone(&site), guarded))
        .with_state(site)
}

async fn style() -> impl IntoResponse {
    let kind = [(CONTENT_TYPE, "text/css; charset=utf-8")];
    (kind, include_str!("style.css"))
}

async fn records(State(site): Shared, RawQuery(query): RawQuery) -> Page {
    list::page(&site, &query::Query::of(query.as_deref())).await
}

async fn one_record(State(site): Shared, who: Reader, Path(id): Path<String>) -> Page {
    record::page(&site, &who, &id).await
}

async fn one_decision(
    State(site): Shared,
    who: Reader,
    Path((id, decision)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Page {
    let query = query::Query::of(query.as_deref());
    decision::page(&site, &who, (&id, &decision), &query).await
}

async fn one_revision(State(site): Shared, Path((name, revision)): Path<(String, String)>) -> Page {
    revision::page(&site, &name, &revision).await
}

/// Answers for loopback names and readers alone, with the headers that keep a page to itself.
async fn guarded(State(site): Shared, mut request: Request, next: Next) -> Response {
    let is_style = request.uri().path() == STYLE;
    let mut response = if !is_for_loopback(request.headers()) {
        let words = "this listener answers for 127.0.0.1, [::1] and localhost alone\n";
        (StatusCode::MISDIRECTED_REQUEST, words).into_response()
    } else {
        match reader::reader(site.recording.principals(), request.headers()) {
            Ok(reader) => {
                request.extensions_mut().insert(reader);
                next.run(request).await
            }
            // What a refusal is shown with says nothing.
            Err(_) if is_style => next.run(request).await,
            Err(refused) => refused.into_response(),
        }
    };
    let headers = response.headers_mut();
    headers.insert(CONTENT_SECURITY_POLICY, POLICY);
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    response
}

fn is_for_loopback(headers: &HeaderMap) -> bool {
    let host = headers.get(HOST).and_then(|host| host.to_str().ok());
    let Some(host) = host else {
        return false;
    };
    let is_port = |port: &str| port.chars().all(|digit| digit.is_ascii_digit());
    let name = match host.rsplit_once(':') {
        Some((name, port)) if is_port(port) => name,
        _ => host,
    };
    matches!(name, "127.0.0.1" | "[::1]" | "localhost")
}
