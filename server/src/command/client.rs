//! Talking to a running service: the connection, and what it refuses, as a person is told.

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use tonic::Status;
use tonic::transport::{Channel, Endpoint};
use tonic_types::StatusExt;

use crate::ending::CommandError;
use crate::rpc::limits::MOST_ANSWER_BYTES;

/// Where a service is looked for.
pub(super) const USUAL_SERVICE: &str = "http://127.0.0.1:7450";

/// A connection to the service.
///
/// # Errors
/// [`CommandError::BadInput`] where the address is none, or nothing answers there.
pub(super) async fn connect(to: &str) -> Result<Channel, CommandError> {
    Endpoint::from_shared(to.to_owned())
        .map_err(|why| CommandError::bad(format!("`{to}`: {why}")))?
        .connect()
        .await
        .map_err(|why| {
            CommandError::bad(format!(
                "no service answers at `{to}` ({why}); is `loftwright serve` running there?"
            ))
        })
}

/// What the service does not take, as it says so: with every fault it lists.
pub(super) fn refused(status: Status) -> CommandError {
    let mut lines = vec![format!("the service refuses: {}", status.message())];
    if let Some(bad) = status.get_details_bad_request() {
        let violations = bad.field_violations.into_iter();
        lines.extend(violations.map(|fault| format!("  {}: {}", fault.field, fault.description)));
    }
    CommandError::BadInput(lines)
}

/// The service's answer for a player.
///
/// # Errors
/// [`CommandError`]: it cannot be reached, or does not take the request.
pub(super) async fn recommend(
    to: &str,
    request: pb::RecommendRequest,
) -> Result<pb::Recommendation, CommandError> {
    let mut client =
        FittingServiceClient::new(connect(to).await?).max_decoding_message_size(MOST_ANSWER_BYTES);
    let answer = client.recommend(request).await.map_err(refused)?;
    answer
        .into_inner()
        .recommendation
        .ok_or_else(|| CommandError::own("the service answered without a recommendation"))
}
