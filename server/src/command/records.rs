//! `records`: lists the records of a running service, newest first.

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;

use super::client::{Asked, refused};
use super::output::{is_coloured, print};
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::json::canonical_json;
use crate::rpc::limits::MOST_ANSWER_BYTES;
use crate::rpc::listing;
use crate::sheet::text::Writer;
use crate::store::Outcome;

/// What `records` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(flatten)]
    asked: Asked,
    /// The first day, in universal time: 2026-05-01
    #[arg(
        long,
        value_name = "DAY",
        default_value = "",
        hide_default_value = true
    )]
    first_day: String,
    /// The last day
    #[arg(
        long,
        value_name = "DAY",
        default_value = "",
        hide_default_value = true
    )]
    last_day: String,
    /// Of one ruleset
    #[arg(
        long,
        value_name = "NAME",
        default_value = "",
        hide_default_value = true
    )]
    ruleset: String,
    /// Of one revision: 64 hexadecimal digits
    #[arg(
        long,
        value_name = "REVISION",
        default_value = "",
        hide_default_value = true
    )]
    revision: String,
    /// Recommendations that came out so: `complete`, `needs readings`, `limits broken`, `undecided`
    #[arg(long, value_name = "OUTCOME", value_parser = outcome)]
    outcome: Option<Outcome>,
    /// Of one kind, such as recommendation or erasure; may be given several times
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// The most records of the page
    #[arg(long, value_name = "COUNT", default_value_t = 50)]
    page_size: i32,
    /// The token that the page before ended with; with the same filter
    #[arg(
        long,
        value_name = "TOKEN",
        default_value = "",
        hide_default_value = true
    )]
    page_token: String,
    /// The page as JSON
    #[arg(long)]
    json: bool,
}

fn outcome(text: &str) -> Result<Outcome, String> {
    Outcome::of_text(text).ok_or_else(|| {
        let known: Vec<&str> = Outcome::ALL.iter().map(|outcome| outcome.text()).collect();
        format!("`{text}` is no outcome; there are `{}`", known.join("`, `"))
    })
}

/// Lists a page.
///
/// # Errors
/// [`CommandError::BadInput`]: the service cannot be reached, or does not take the filter.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let request = request(arguments);
    let page = runtime(1)?.block_on(async {
        let channel = arguments.asked.connect().await?;
        let mut client =
            AuditServiceClient::new(channel).max_decoding_message_size(MOST_ANSWER_BYTES);
        let page = client.list_records(request).await.map_err(refused)?;
        Ok::<_, CommandError>(page.into_inner())
    })?;
    if arguments.json {
        let json = canonical_json("loftwright.v1.ListRecordsResponse", &page);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
    } else {
        print(&text(&page, is_coloured()))?;
    }
    Ok(Ended::Answered)
}

fn request(arguments: &Arguments) -> pb::ListRecordsRequest {
    pb::ListRecordsRequest {
        page_size: arguments.page_size,
        page_token: arguments.page_token.clone(),
        first_day: arguments.first_day.clone(),
        last_day: arguments.last_day.clone(),
        ruleset: arguments.ruleset.clone(),
        revision: arguments.revision.clone(),
        outcome: listing::outcome_message(arguments.outcome).into(),
        kinds: arguments.kind.clone(),
    }
}

fn text(page: &pb::ListRecordsResponse, is_coloured: bool) -> String {
    let mut writer = Writer::new(is_coloured);
    if page.records.is_empty() {
        writer.line("No record fits.");
        return writer.into_text();
    }
    let rows: Vec<Vec<String>> = page.records.iter().map(row).collect();
    writer.table(
        &["record", "made", "kind", "ruleset", "came out", "by"],
        &rows,
    );
    if !page.next_page_token.is_empty() {
        writer.line("");
        writer.line(&format!("  more: --page-token {}", page.next_page_token));
    }
    writer.into_text()
}

fn row(record: &pb::RecordSummary) -> Vec<String> {
    let reference = record.record.as_ref();
    // To the second: the milliseconds are in the JSON.
    let instant = record.instant.map(|instant| {
        let whole = prost_types::Timestamp {
            nanos: 0,
            ..instant
        };
        whole.to_string()
    });
    let kind = match record.about {
        Some(about) => format!("{}, of record {about}", record.kind),
        None => record.kind.clone(),
    };
    let outcome = match (record.erased, outcome_word(record.outcome())) {
        (true, _) => "erased",
        (false, word) => word,
    };
    vec![
        reference.map_or_else(String::new, |reference| reference.id.clone()),
        instant.unwrap_or_default(),
        kind,
        record.ruleset.clone().unwrap_or_default(),
        outcome.to_owned(),
        record.principal.clone(),
    ]
}

fn outcome_word(outcome: pb::RecordOutcome) -> &'static str {
    listing::outcome_of(outcome).map_or("", Outcome::text)
}
