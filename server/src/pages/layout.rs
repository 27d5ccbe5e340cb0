//! What all pages have: head, skip link, landmarks, the strip with the marks of a rule, foot.

use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

/// A page with its heading.
pub(super) fn page(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " – Loftwright" }
                link rel="stylesheet" href="/style.css";
            }
            body {
                a.skip href="#content" { "Skip to the content" }
                header.top {
                    p.name { "Loftwright" }
                    nav aria-label="Pages" {
                        a href="/records" { "Records" }
                    }
                }
                div.rule aria-hidden="true" {}
                main id="content" tabindex="-1" { (body) }
                footer {
                    p {
                        "The record of one workshop, read on its own machine. Each view of a record \
                         is recorded too. What is built is for a fitter to judge: measure before \
                         you cut, bend or glue, and keep to the makers' instructions."
                    }
                }
            }
        }
    }
}

/// A page as an answer.
pub(super) fn answer(status: StatusCode, page: Markup) -> Response {
    let kind = [(CONTENT_TYPE, "text/html; charset=utf-8")];
    (status, kind, page.into_string()).into_response()
}

/// A table that may be wider than the page: then it scrolls by itself, by keys too.
pub(super) fn table(caption: &str, heads: &[&str], rows: &Markup) -> Markup {
    html! {
        div.scroll role="region" tabindex="0" aria-label=(caption) {
            table {
                caption { (caption) }
                thead {
                    tr { @for head in heads { th scope="col" { (head) } } }
                }
                tbody { (rows) }
            }
        }
    }
}

/// A digest or another long code: enough of it to compare by eye, all of it to copy.
pub(super) fn short_code(code: &str) -> Markup {
    html! { code title=(code) { (code.get(..12).unwrap_or(code)) } }
}

/// A segment of a path, with what a path cannot hold escaped.
pub(super) fn segment(text: &str) -> String {
    // A form's escaping is that of a path but for the space.
    let escaped: String = form_urlencoded::byte_serialize(text.as_bytes()).collect();
    escaped.replace('+', "%20")
}
