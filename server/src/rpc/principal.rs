//! Who asks: every request is looked at before its method sees it, and carries its principal on.
//!
//! A key comes as `authorization: Bearer KEY`. What a method needs stands in
//! `principal_table`; what does not stand there is not served.

use std::collections::BTreeSet;
use std::convert::Infallible;
use std::future::{Ready, ready};
use std::sync::Arc;
use std::task::{Context, Poll};

use futures::future::Either;
use http::header::AUTHORIZATION;
use http::{Request, Response};
use tonic::Status;
use tonic::body::Body;
use tower_layer::Layer;
use tower_service::Service;

use super::principal_table::{Allowed, allowed};
use super::refusal::Refusal;
use crate::registry::{NotKnown, Principal, Principals, Role};

/// Puts the principal of each request into its extensions, and refuses what he may not ask.
#[derive(Clone, Debug)]
pub struct PrincipalLayer {
    principals: Arc<Principals>,
}

impl PrincipalLayer {
    /// A layer that knows these principals.
    pub fn new(principals: Arc<Principals>) -> Self {
        PrincipalLayer { principals }
    }
}

impl<S> Layer<S> for PrincipalLayer {
    type Service = WithPrincipal<S>;

    fn layer(&self, inner: S) -> Self::Service {
        WithPrincipal {
            inner,
            principals: Arc::clone(&self.principals),
        }
    }
}

/// A service whose requests carry their principals.
#[derive(Clone, Debug)]
pub struct WithPrincipal<S> {
    inner: S,
    principals: Arc<Principals>,
}

impl<S> Service<Request<Body>> for WithPrincipal<S>
where
    S: Service<Request<Body>, Response = Response<Body>, Error = Infallible>,
{
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Either<Ready<Result<Response<Body>, Infallible>>, S::Future>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, mut request: Request<Body>) -> Self::Future {
        match asked_by(&self.principals, &request) {
            Ok(principal) => {
                if let Some(principal) = principal {
                    request.extensions_mut().insert(principal);
                }
                Either::Right(self.inner.call(request))
            }
            Err(why) => Either::Left(ready(Ok(Status::from(why).into_http()))),
        }
    }
}

/// Who asks, where that matters.
fn asked_by(
    principals: &Principals,
    request: &Request<Body>,
) -> Result<Option<Arc<Principal>>, Refusal> {
    let method = request.uri().path();
    let roles = match allowed(method) {
        Some(Allowed::Anybody) => return Ok(None),
        Some(Allowed::Roles(roles)) => roles,
        None => return Err(Refusal::UnknownMethod(method.to_owned())),
    };
    let principal = principals.who(bearer(request)).map_err(|why| match why {
        NotKnown::NoKey => Refusal::NotAuthenticated("no key was sent"),
        NotKnown::UnknownKey => Refusal::NotAuthenticated("nobody here has the key that was sent"),
    })?;
    if roles.iter().any(|role| principal.roles.contains(role)) {
        return Ok(Some(principal));
    }
    Err(Refusal::RoleLacking {
        principal: principal.name.clone(),
        method: method.to_owned(),
        needed: names(roles.iter()),
        has: names(principal.roles.iter()),
    })
}

fn names<'a>(roles: impl Iterator<Item = &'a Role>) -> Vec<&'static str> {
    let names: BTreeSet<&'static str> = roles.map(|role| role.text()).collect();
    names.into_iter().collect()
}

/// The key of a request. Source: RFC 6750 section 2.1; the scheme's name in any case, RFC 9110
/// section 11.1.
fn bearer(request: &Request<Body>) -> Option<&str> {
    let header = request.headers().get(AUTHORIZATION)?.to_str().ok()?;
    let (scheme, key) = header.split_once(' ')?;
    scheme
        .eq_ignore_ascii_case("bearer")
        .then(|| key.trim_start())
}

/// The principal of a request that came through the layer.
///
/// # Errors
/// [`Refusal::OwnFault`] where it came around it.
pub(super) fn principal_of<T>(request: &tonic::Request<T>) -> Result<Arc<Principal>, Refusal> {
    let found = request.extensions().get::<Arc<Principal>>();
    found.map(Arc::clone).ok_or(Refusal::OwnFault)
}
