//! `records`: lists the records of a running service, newest first.

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;

use super::client::{Asked, refused};
use super::days::Days;
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
    #[command(flatten)]
    days: Days,
    /// Of one ruleset
    #[arg(long, value_name = "NAME")]
    ruleset: Option<String>,
    /// Of one revision: 64 hexadecimal digits
    #[arg(long, value_name = "REVISION")]
    revision: Option<String>,
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
    #[arg(long, value_name = "TOKEN")]
    page_token: Option<String>,
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
    let (first_day, last_day) = arguments.days.named();
    let named = |text: &Option<String>| text.clone().unwrap_or_default();
    pb::ListRecordsRequest {
        page_size: arguments.page_size,
        page_token: named(&arguments.page_token),
        first_day,
        last_day,
        ruleset: named(&arguments.ruleset),
        revision: named(&arguments.revision),
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
