//! `publish`: brings a folder of rules to a running service, and puts it in force where asked.

use std::path::PathBuf;

use clap::Args;
use loftwright_dsl::check::LayerSource;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use super::check::counted;
use super::client::{Asked, Service, refused};
use super::output::print;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::files::rules_folder::layers_of_folder;
use crate::load;
use crate::rpc::limits::{MOST_ANSWER_BYTES, MOST_RULES_REQUEST_BYTES};

/// The most characters of a revision that a person is shown.
const SHOWN_REVISION_CHARACTERS: usize = 12;

/// What `publish` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folder of rules
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    #[command(flatten)]
    asked: Asked,
    /// Only say whether it would be taken
    #[arg(long)]
    validate_only: bool,
    /// Put it in force at once
    #[arg(long, requires = "reason", conflicts_with = "validate_only")]
    activate: bool,
    /// Why it decides from now on, in one line
    #[arg(long, value_name = "TEXT", requires = "activate")]
    reason: Option<String>,
}

/// Publishes the folder.
///
/// # Errors
/// [`CommandError::BadInput`]: the folder cannot be read, the service cannot be reached or does not
/// take the request.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let layers =
        layers_of_folder(&arguments.folder).map_err(|faults| load::file_faults(&faults))?;
    // The contract is the engine's own, on either side.
    let layers = layers.get(1..).unwrap_or_default().iter().map(message);
    let source = pb::RulesetSource {
        layers: layers.collect(),
    };
    runtime(1)?.block_on(async {
        let service = arguments.asked.connect().await?;
        publish(arguments, service, source).await
    })
}

fn message(layer: &LayerSource) -> pb::RulesLayer {
    let files = layer.files.iter().map(|(shown, text)| pb::RulesFile {
        name: shown.rsplit('/').next().unwrap_or(shown).to_owned(),
        text: text.clone(),
    });
    pb::RulesLayer {
        name: layer.name.clone(),
        files: files.collect(),
    }
}

async fn publish(
    arguments: &Arguments,
    service: Service,
    source: pb::RulesetSource,
) -> Result<Ended, CommandError> {
    let mut client = RulesetServiceClient::new(service.clone())
        .max_encoding_message_size(MOST_RULES_REQUEST_BYTES)
        .max_decoding_message_size(MOST_ANSWER_BYTES);
    let request = pb::PublishRulesetRequest {
        source: Some(source.clone()),
        validate_only: arguments.validate_only,
    };
    let answer = match client.publish_ruleset(request).await {
        Ok(answer) => answer.into_inner(),
        Err(status) if is_refused_rules(&status) => {
            // A status has room for the first faults only; the check has them all.
            let request = pb::CheckRulesetRequest {
                source: Some(source),
            };
            let check = client.check_ruleset(request).await.map_err(refused)?;
            print(&findings_text(&check.into_inner().findings, true))?;
            print(&format!("not published: {}\n", status.message()))?;
            return Ok(Ended::WithFindings);
        }
        Err(status) => return Err(refused(status)),
    };
    print(&findings_text(&answer.findings, false))?;
    let identity = answer
        .identity
        .ok_or_else(|| CommandError::own("the service answered without an identity"))?;
    let verb = match (arguments.validate_only, answer.was_known) {
        (true, _) => "would be published",
        (false, true) => "was published before",
        (false, false) => "published",
    };
    let cases = answer.cases.unwrap_or_default();
    print(&format!(
        "{verb}: {}, revision {}; {} passed, {} of {} touched\n",
        identity.name,
        short(&identity.revision),
        counted(usize::try_from(cases.passed).unwrap_or(usize::MAX), "case"),
        cases.rows_touched,
        counted(usize::try_from(cases.rows).unwrap_or(usize::MAX), "row"),
    ))?;
    if !arguments.activate {
        return Ok(Ended::Answered);
    }
    let activation = Activation {
        ruleset: identity.name,
        revision: identity.revision,
        reason: arguments.reason.clone().unwrap_or_default(),
        validate_only: false,
    };
    activate(service, client, activation).await
}

/// What is to be put in force, and why.
pub(super) struct Activation {
    pub(super) ruleset: String,
    pub(super) revision: String,
    pub(super) reason: String,
    pub(super) validate_only: bool,
}

/// Puts the revision in force in the place of the one that is in force now.
pub(super) async fn activate(
    service: Service,
    mut client: RulesetServiceClient<Service>,
    wanted: Activation,
) -> Result<Ended, CommandError> {
    let request = pb::ActivateRulesetRequest {
        ruleset: wanted.ruleset.clone(),
        revision: wanted.revision.clone(),
        expected_revision: revision_in_force(service, &wanted.ruleset).await?,
        reason: wanted.reason,
        validate_only: wanted.validate_only,
    };
    let answer = client.activate_ruleset(request).await.map_err(refused)?;
    let answer = answer.into_inner();
    for caller in &answer.callers_with_unknown_readings {
        print(&format!(
            "caller {}: sends {}, which this revision does not know ({} of the last {})\n",
            caller.principal,
            caller.readings.join(", "),
            caller.recommendations,
            answer.recommendations_looked_at
        ))?;
    }
    let previous = match answer.previous_revision.as_str() {
        "" => "none".to_owned(),
        revision if revision == wanted.revision => "the same".to_owned(),
        revision => short(revision).to_owned(),
    };
    let verb = match wanted.validate_only {
        true => "would be in force",
        false => "in force",
    };
    print(&format!(
        "{verb}: {}, revision {}; before it {previous}\n",
        wanted.ruleset,
        short(&wanted.revision)
    ))?;
    Ok(Ended::Answered)
}

/// The revision that decides now; empty where there is none of the ruleset.
async fn revision_in_force(service: Service, ruleset: &str) -> Result<String, CommandError> {
    let mut client = AuditServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
    let request = pb::InForceRequest {
        ruleset: ruleset.to_owned(),
        instant: None,
    };
    match client.in_force(request).await {
        Ok(answer) => Ok(answer
            .into_inner()
            .identity
            .map_or_else(String::new, |identity| identity.revision)),
        Err(status) if status.code() == Code::NotFound => Ok(String::new()),
        Err(status) => Err(refused(status)),
    }
}

fn is_refused_rules(status: &Status) -> bool {
    status
        .get_details_error_info()
        .is_some_and(|info| info.reason == "RULES_REFUSED")
}

/// A finding a line, its help below it; only the errors where those are asked for.
pub(super) fn findings_text(findings: &[pb::Finding], only_errors: bool) -> String {
    let mut text = String::new();
    for finding in findings {
        let word = match finding.severity() {
            pb::Severity::Error => "error",
            pb::Severity::Warning => "warning",
            pb::Severity::Note | pb::Severity::Unspecified => "note",
        };
        if only_errors && finding.severity() != pb::Severity::Error {
            continue;
        }
        let place = finding.place.clone().unwrap_or_default();
        text.push_str(&format!(
            "{}:{}:{}: {word} {}: {}\n",
            place.file, place.line, place.column, finding.code, finding.message
        ));
        for operand in &finding.operands {
            text.push_str(&format!("    {}: {}\n", operand.text, operand.measures));
        }
        for help in &finding.help {
            text.push_str(&format!("    help: {help}\n"));
        }
    }
    text
}

pub(super) fn short(revision: &str) -> &str {
    revision
        .get(..SHOWN_REVISION_CHARACTERS)
        .unwrap_or(revision)
}
