//! `activate`: puts a published revision in force; with an older one, the way back.

use clap::Args;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;

use super::client::Asked;
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
    #[command(flatten)]
    asked: Asked,
}

/// Puts the revision in force in the place of the one that is.
///
/// # Errors
/// [`CommandError::BadInput`]: the service cannot be reached, or does not take it.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    runtime(1)?.block_on(async {
        let service = arguments.asked.connect().await?;
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
