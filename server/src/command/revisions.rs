//! `revisions`: what was published to a running service, what decides, and what did at an instant.

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use prost_types::Timestamp;

use super::client::{Asked, Service, refused};
use super::output::{is_coloured, print};
use super::publish::short;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::rpc::limits::MOST_ANSWER_BYTES;
use crate::sheet::text::Writer;

/// The characters of a revision.
const REVISION_CHARACTERS: usize = 64;
/// The revisions of a page.
const PAGE: i32 = 100;

/// What `revisions` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The ruleset [default: all of them]
    #[arg(value_name = "RULESET", default_value = "", hide_default_value = true)]
    ruleset: String,
    /// Only what decided at an instant, such as 2026-05-01T09:30:00Z
    #[arg(long, value_name = "INSTANT", requires = "ruleset", value_parser = instant)]
    at: Option<Timestamp>,
    #[command(flatten)]
    asked: Asked,
}

fn instant(text: &str) -> Result<Timestamp, String> {
    let found = text.parse();
    found.map_err(|_| format!("`{text}` is no instant such as 2026-05-01T09:30:00Z"))
}

/// Lists revisions, or says which one decided.
///
/// # Errors
/// [`CommandError::BadInput`]: the service cannot be reached, or does not know the ruleset.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let text = runtime(1)?.block_on(async {
        let service = arguments.asked.connect().await?;
        match arguments.at {
            Some(at) => in_force(service, &arguments.ruleset, at).await,
            None => listed(service, &arguments.ruleset).await,
        }
    })?;
    print(&text)?;
    Ok(Ended::Answered)
}

async fn in_force(service: Service, ruleset: &str, at: Timestamp) -> Result<String, CommandError> {
    let mut client = AuditServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
    let request = pb::InForceRequest {
        ruleset: ruleset.to_owned(),
        instant: Some(at),
    };
    let answer = client
        .in_force(request)
        .await
        .map_err(refused)?
        .into_inner();
    let activated = answer.activated.as_ref().map(act).unwrap_or_default();
    let (Some(identity), Some(published)) = (&answer.identity, &answer.published) else {
        return Ok(match answer.activated {
            Some(_) => {
                format!("nothing was in force yet; the first was put in force {activated}\n")
            }
            None => "nothing was ever in force\n".to_owned(),
        });
    };
    let previous = match answer.previous_revision.as_str() {
        "" => "none".to_owned(),
        revision => short(revision).to_owned(),
    };
    Ok(format!(
        "{}, revision {}\n  published    {}\n  put in force {activated}: {}\n  before it    {previous}\n",
        identity.name,
        identity.revision,
        act(published),
        answer.reason,
    ))
}

fn act(act: &pb::GovernanceAct) -> String {
    let instant = act
        .instant
        .map_or_else(String::new, |instant| instant.to_string());
    format!("{instant} by {}", act.principal)
}

async fn listed(service: Service, ruleset: &str) -> Result<String, CommandError> {
    let mut client =
        RulesetServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
    let mut writer = Writer::new(is_coloured());
    for revision in all(&mut client, ruleset).await? {
        let identity = revision.identity.unwrap_or_default();
        let instant = revision
            .published
            .map_or_else(String::new, |at| at.to_string());
        let in_force = if revision.in_force { "  in force" } else { "" };
        writer.line(&format!(
            "{}  {}  {instant} by {}{in_force}",
            identity.name,
            short(&identity.revision),
            revision.published_by,
        ));
        if !revision.fault.is_empty() {
            writer.paragraph("  ", &format!("cannot be read back: {}", revision.fault));
        }
    }
    Ok(writer.into_text())
}

/// All revisions of a ruleset, the newest first.
async fn all(
    client: &mut RulesetServiceClient<Service>,
    ruleset: &str,
) -> Result<Vec<pb::PublishedRevision>, CommandError> {
    let (mut found, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = pb::ListRevisionsRequest {
            ruleset: ruleset.to_owned(),
            page_size: PAGE,
            page_token,
        };
        let page = client.list_revisions(request).await.map_err(refused)?;
        let page = page.into_inner();
        found.extend(page.revisions);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            return Ok(found);
        }
    }
}

/// The revision that begins as was said, where there is only one.
///
/// # Errors
/// [`CommandError::BadInput`] where there is none, or are several.
pub(super) async fn whole_revision(
    client: &mut RulesetServiceClient<Service>,
    ruleset: &str,
    beginning: &str,
) -> Result<String, CommandError> {
    if beginning.len() >= REVISION_CHARACTERS {
        return Ok(beginning.to_owned());
    }
    let all = all(client, ruleset).await?.into_iter();
    let revisions = all.filter_map(|one| Some(one.identity?.revision));
    let found: Vec<String> = revisions.filter(|one| one.starts_with(beginning)).collect();
    match found.as_slice() {
        [only] => Ok(only.clone()),
        [] => Err(CommandError::bad(format!(
            "no revision of `{ruleset}` begins with `{beginning}`"
        ))),
        several => Err(CommandError::bad(format!(
            "{} revisions of `{ruleset}` begin with `{beginning}`; give more of its characters",
            several.len()
        ))),
    }
}
