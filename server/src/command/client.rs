//! Talking to a running service: the connection, and what it refuses, as a person is told.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use tonic::metadata::{Ascii, MetadataValue};
use tonic::service::Interceptor;
use tonic::service::interceptor::InterceptedService;
use tonic::transport::{Channel, Endpoint};
use tonic::{Request, Status};
use tonic_types::StatusExt;
use zeroize::Zeroizing;

use crate::ending::CommandError;
use crate::rpc::limits::MOST_ANSWER_BYTES;

/// Where a service is looked for.
pub(super) const USUAL_SERVICE: &str = "http://127.0.0.1:7450";

/// Which service is asked, and by whom.
#[derive(Debug, Args)]
pub(super) struct Asked {
    /// The service
    #[arg(long, value_name = "URL", default_value = USUAL_SERVICE)]
    pub(super) to: String,
    /// The file of the key that the service knows you by, where it knows anybody
    #[arg(long, value_name = "FILE")]
    pub(super) key_file: Option<PathBuf>,
}

impl Asked {
    /// A connection to it.
    ///
    /// # Errors
    /// [`CommandError::BadInput`].
    pub(super) async fn connect(&self) -> Result<Service, CommandError> {
        connect(&self.to, self.key_file.as_deref()).await
    }
}

/// A connection over which every request carries its caller's key.
pub(super) type Service = InterceptedService<Channel, KeySent>;

/// Puts the caller's key, where he has one, on every request.
#[derive(Clone, Debug, Default)]
pub(super) struct KeySent(Option<MetadataValue<Ascii>>);

impl Interceptor for KeySent {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        if let Some(key) = &self.0 {
            request.metadata_mut().insert("authorization", key.clone());
        }
        Ok(request)
    }
}

impl KeySent {
    /// The key of a file, which its owner alone may read.
    ///
    /// # Errors
    /// [`CommandError::BadInput`].
    fn of_file(path: &Path) -> Result<Self, CommandError> {
        let text = key_text(path)?;
        let value = format!("Bearer {}", text.trim());
        let value = value.parse::<MetadataValue<Ascii>>().ok();
        let mut value = value.filter(|_| !text.trim().is_empty()).ok_or_else(|| {
            CommandError::bad(format!("the key file `{}` holds no key", path.display()))
        })?;
        // It is shown by nothing that prints headers.
        value.set_sensitive(true);
        Ok(KeySent(Some(value)))
    }
}

/// The most bytes of a key file.
const LARGEST_KEY_FILE: u64 = 4096;

fn key_text(path: &Path) -> Result<Zeroizing<String>, CommandError> {
    let shown = path.display();
    let unusable =
        |why: std::io::Error| CommandError::bad(format!("the key file `{shown}`: {why}"));
    let file = File::open(path).map_err(unusable)?;
    #[cfg(unix)]
    {
        let found = file.metadata().map_err(unusable)?;
        let mode = std::os::unix::fs::PermissionsExt::mode(&found.permissions()) & 0o777;
        if mode & 0o077 != 0 {
            return Err(CommandError::bad(format!(
                "the key file `{shown}` has mode {mode:04o}: others than its owner may use it; \
                 `chmod 600` it, and have a new key made if they may have read it"
            )));
        }
    }
    let mut text = Zeroizing::new(String::new());
    let read = file.take(LARGEST_KEY_FILE).read_to_string(&mut text);
    read.map_err(unusable)?;
    Ok(text)
}

/// A connection to the service, with the key of a file where one is named.
///
/// # Errors
/// [`CommandError::BadInput`] where the address or the key file is none, or nothing answers there.
pub(super) async fn connect(to: &str, key_file: Option<&Path>) -> Result<Service, CommandError> {
    let key = key_file.map(KeySent::of_file).transpose()?;
    let channel = Endpoint::from_shared(to.to_owned())
        .map_err(|why| CommandError::bad(format!("`{to}`: {why}")))?
        .connect()
        .await
        .map_err(|why| {
            CommandError::bad(format!(
                "no service answers at `{to}` ({why}); is `loftwright serve` running there?"
            ))
        })?;
    Ok(InterceptedService::new(channel, key.unwrap_or_default()))
}

/// What the service does not take, as it says so: with every fault it lists.
pub(super) fn refused(status: Status) -> CommandError {
    let mut lines = vec![format!("the service refuses: {}", status.message())];
    let bad = status.get_details_bad_request();
    let violations = bad.map_or_else(Vec::new, |bad| bad.field_violations);
    match violations.as_slice() {
        // What is wrong was said; only where is not.
        [only] if status.message().contains(&only.description) => {
            lines.push(format!("  in `{}`", only.field));
        }
        several => lines.extend(
            several
                .iter()
                .map(|fault| format!("  {}: {}", fault.field, fault.description)),
        ),
    }
    CommandError::BadInput(lines)
}

/// The service's answer for a player.
///
/// # Errors
/// [`CommandError`]: it cannot be reached, or does not take the request.
pub(super) async fn recommend(
    to: &str,
    key_file: Option<&Path>,
    request: pb::RecommendRequest,
) -> Result<(pb::Recommendation, Option<pb::RecordReference>), CommandError> {
    let service = connect(to, key_file).await?;
    let mut client =
        FittingServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
    let answer = client
        .recommend(request)
        .await
        .map_err(refused)?
        .into_inner();
    let recommendation = answer.recommendation;
    let recommendation = recommendation
        .ok_or_else(|| CommandError::own("the service answered without a recommendation"))?;
    Ok((recommendation, answer.record))
}
