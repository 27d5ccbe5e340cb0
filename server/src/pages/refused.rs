//! A request that gets no page: the refusals of the services, as pages.

use axum::http::header::WWW_AUTHENTICATE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use maud::html;
use tonic::{Code, Status};

use super::layout;
use crate::rpc::refusal::Refusal;

/// Why there is no page.
#[derive(Debug)]
pub(super) struct PageFault {
    status: StatusCode,
    heading: &'static str,
    sentences: Vec<String>,
}

impl PageFault {
    /// The address leads nowhere.
    pub(super) fn no_such_page() -> Self {
        PageFault::not_found("this address leads to no page; begin with the list of records")
    }

    /// What the address names is not there.
    pub(super) fn not_found(sentence: &str) -> Self {
        PageFault::of(StatusCode::NOT_FOUND, "There is no such page", sentence)
    }

    /// A fault of one sentence.
    pub(super) fn of(status: StatusCode, heading: &'static str, sentence: &str) -> Self {
        PageFault {
            status,
            heading,
            sentences: vec![sentence.to_owned()],
        }
    }
}

impl From<Refusal> for PageFault {
    fn from(refusal: Refusal) -> Self {
        let sentences = match &refusal {
            Refusal::Faults(faults) => faults
                .iter()
                .map(|fault| format!("{}: {}", fault.field, fault.sentence))
                .collect(),
            other => vec![other.to_string()],
        };
        let (status, heading) = match Status::from(refusal).code() {
            Code::InvalidArgument => (StatusCode::BAD_REQUEST, "This cannot be answered"),
            Code::NotFound => (StatusCode::NOT_FOUND, "It is not here"),
            Code::FailedPrecondition => (StatusCode::GONE, "It cannot be read any more"),
            Code::ResourceExhausted | Code::Unavailable => {
                (StatusCode::SERVICE_UNAVAILABLE, "Not now")
            }
            _ => (StatusCode::INTERNAL_SERVER_ERROR, "A fault of the service"),
        };
        PageFault {
            status,
            heading,
            sentences,
        }
    }
}

impl IntoResponse for PageFault {
    fn into_response(self) -> Response {
        let body = html! {
            h1 { (self.heading) }
            @for sentence in &self.sentences { p { (sentence) "." } }
            p { a href="/records" { "The list of records" } }
        };
        let mut answer = layout::answer(self.status, layout::page(self.heading, &body));
        if self.status == StatusCode::UNAUTHORIZED {
            let asked = HeaderValue::from_static("Basic realm=\"Loftwright\", charset=\"UTF-8\"");
            answer.headers_mut().insert(WWW_AUTHENTICATE, asked);
        }
        answer
    }
}
