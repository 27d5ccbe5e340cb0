//! Who reads: nobody in particular as long as the log knows nobody, else an auditor with his key.
//!
//! A browser asks for a name and a password; the password is the key, the name is not looked at.
//! Source: RFC 7617.

use std::sync::Arc;

use axum::http::header::AUTHORIZATION;
use axum::http::{HeaderMap, StatusCode};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::refused::PageFault;
use crate::registry::{Principal, Principals, Role};

/// The reader of a request.
///
/// # Errors
/// [`PageFault`], where he has no key that is known, or is no auditor.
pub(super) fn reader(
    principals: &Principals,
    headers: &HeaderMap,
) -> Result<Arc<Principal>, PageFault> {
    let key = key(headers);
    let principal = principals.who(key.as_deref()).map_err(|_| {
        PageFault::of(
            StatusCode::UNAUTHORIZED,
            "Who reads?",
            "the records are for auditors: give your key as the password; the name may be left \
             empty",
        )
    })?;
    if principal.roles.contains(&Role::Auditor) {
        return Ok(principal);
    }
    Err(PageFault::of(
        StatusCode::FORBIDDEN,
        "The records are for auditors",
        "whoever has this key is no auditor here",
    ))
}

fn key(headers: &HeaderMap) -> Option<String> {
    let header = headers.get(AUTHORIZATION)?.to_str().ok()?;
    let (scheme, credentials) = header.split_once(' ')?;
    if !scheme.eq_ignore_ascii_case("basic") {
        return None;
    }
    let credentials = STANDARD.decode(credentials.trim()).ok()?;
    let credentials = String::from_utf8(credentials).ok()?;
    let (_, key) = credentials.split_once(':')?;
    Some(key.to_owned())
}
