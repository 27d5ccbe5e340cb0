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

#[cfg(test)]
mod tests {
    use axum::http::HeaderValue;

    use super::*;
    use crate::audit::act::RoleGiven;
    use crate::registry::key_hash;

    fn with(credentials: &str) -> HeaderMap {
        let mut headers = HeaderMap::new();
        let sent = format!("Basic {}", STANDARD.encode(credentials));
        headers.insert(
            AUTHORIZATION,
            HeaderValue::from_str(&sent).expect("a header"),
        );
        headers
    }

    fn principals() -> Principals {
        let mut principals = Principals::default();
        for (name, role) in [("ines", "auditor"), ("till", "caller")] {
            principals.give(&RoleGiven {
                name: name.to_owned(),
                roles: vec![role.to_owned()],
                key_hash: Some(key_hash(&format!("key of {name}"))),
            });
        }
        principals
    }

    #[test]
    fn as_long_as_nobody_is_known_whoever_reaches_this_machine_reads() {
        let reader = reader(&Principals::default(), &HeaderMap::new());
        assert_eq!(reader.expect("a reader").name, Principals::NOBODY_KNOWN);
    }

    #[test]
    fn once_somebody_is_known_an_auditor_reads_by_his_key_and_nobody_else() {
        let principals = principals();
        for credentials in [":key of ines", "anybody:key of ines"] {
            let reader = reader(&principals, &with(credentials));
            assert_eq!(reader.expect("an auditor").name, "ines");
        }
        let refused = |headers: &HeaderMap| {
            let refused = reader(&principals, headers).expect_err("a refusal");
            axum::response::IntoResponse::into_response(refused)
        };
        for headers in [
            HeaderMap::new(),
            with(":key of nobody"),
            with("key of ines"),
        ] {
            let answer = refused(&headers);
            assert_eq!(answer.status(), StatusCode::UNAUTHORIZED);
            assert!(answer.headers().contains_key("www-authenticate"));
        }
        assert_eq!(
            refused(&with(":key of till")).status(),
            StatusCode::FORBIDDEN
        );
    }
}
