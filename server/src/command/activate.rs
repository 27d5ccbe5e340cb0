//! `activate`: puts a published revision in force; with an older one, the way back.

use std::path::PathBuf;

use clap::Args;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;

use super::client::{USUAL_SERVICE, connect};
use super::publish::{self, Activation};
use super::revisions::whole_revision;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::rpc::limits::MOST_ANSWER_BYTES;

/// What `activate` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The ruleset
    #[arg(value_name = "RULESET")]
    ruleset: String,
    /// The published revision that is to decide: its first characters will do
    #[arg(value_name = "REVISION")]
    revision: String,
    /// Why it decides from now on, in one line
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// Only say whether it would be put in force, and who sends readings that it does not know
    #[arg(long)]
    validate_only: bool,
    /// The service
    #[arg(long, value_name = "URL", default_value = USUAL_SERVICE)]
    to: String,
    /// The file of the key that the service knows you by, where it knows anybody
    #[arg(long, value_name = "FILE")]
    key_file: Option<PathBuf>,
}

/// Puts the revision in force in the place of the one that is.
///
/// # Errors
/// [`CommandError::BadInput`]: the service cannot be reached, or does not take it.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    runtime(1)?.block_on(async {
        let service = connect(&arguments.to, arguments.key_file.as_deref()).await?;
        let mut client =
            RulesetServiceClient::new(service.clone()).max_decoding_message_size(MOST_ANSWER_BYTES);
        let ruleset = &arguments.ruleset;
        let revision = whole_revision(&mut client, ruleset, &arguments.revision).await?;
        let activation = Activation {
            ruleset: ruleset.clone(),
            revision,
            reason: arguments.reason.clone(),
            validate_only: arguments.validate_only,
        };
        publish::activate(service, client, activation).await
    })
}
