//! `replay`: which past recommendations of a running service another revision would change.

use std::io::IsTerminal;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use pb::replay_records_response::Piece;

use super::client::{Asked, Service, refused};
use super::days::Days;
use super::output::{is_coloured, print};
use super::revisions::whole_revision;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::json::canonical_json;
use crate::rpc::limits::MOST_ANSWER_BYTES;
use crate::sheet::text::Writer;

/// How many decisions and rows the page ends with.
const MOST_SHOWN: usize = 10;
/// What `replay` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The ruleset whose recommendations are evaluated again
    #[arg(long, value_name = "NAME")]
    ruleset: String,
    /// The published revision that evaluates them: its first characters will do
    #[arg(long, value_name = "REVISION")]
    revision: String,
    #[command(flatten)]
    days: Days,
    #[command(flatten)]
    asked: Asked,
    /// The summary as JSON
    #[arg(long)]
    json: bool,
}

/// Replays, shows how far it is where standard error is a terminal, and prints the summary.
///
/// # Errors
/// [`CommandError::BadInput`]: the service cannot be reached, or does not know the revision.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let summary = runtime(1)?.block_on(async {
        let service = arguments.asked.connect().await?;
        let mut client =
            RulesetServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
        let revision = whole_revision(&mut client, &arguments.ruleset, &arguments.revision).await?;
        replay(&mut client, arguments, revision).await
    })?;
    if arguments.json {
        let json = canonical_json("loftwright.v1.ReplaySummary", &summary);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
    } else {
        print(&page(&summary))?;
    }
    match summary.changed + summary.not_comparable {
        0 => Ok(Ended::Answered),
        _ => Ok(Ended::WithFindings),
    }
}

async fn replay(
    client: &mut RulesetServiceClient<Service>,
    arguments: &Arguments,
    revision: String,
) -> Result<pb::ReplaySummary, CommandError> {
    let (first_day, last_day) = arguments.days.named();
    let request = pb::ReplayRecordsRequest {
        ruleset: arguments.ruleset.clone(),
        revision,
        first_day,
        last_day,
        with_same: false,
    };
    let mut pieces = client
        .replay_records(request)
        .await
        .map_err(refused)?
        .into_inner();
    let bar = bar();
    let mut summary = None;
    while let Some(piece) = pieces.message().await.map_err(refused)? {
        match piece.piece {
            Some(Piece::Progress(progress)) => {
                bar.set_length(progress.of);
                bar.set_position(progress.done);
            }
            Some(Piece::Summary(end)) => summary = Some(end),
            Some(Piece::Record(_)) | None => {}
        }
    }
    bar.finish_and_clear();
    summary.ok_or_else(|| CommandError::own("the service ended without a summary"))
}

/// A bar on standard error; none where that is no terminal.
fn bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(0);
    let template = "{bar:40} {pos} of {len} records, {eta} left";
    // The template is ours; where it were wrong the usual one will do.
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar
}

fn page(summary: &pb::ReplaySummary) -> String {
    let mut writer = Writer::new(is_coloured());
    writer.line(&format!(
        "{} the same, {} changed, {} not comparable",
        summary.same, summary.changed, summary.not_comparable
    ));
    for reason in &summary.reasons {
        writer.line(&format!(
            "  {} not comparable: {}",
            reason.count,
            why(reason.reason())
        ));
    }
    if !summary.decisions.is_empty() {
        writer.section("decisions that change most");
    }
    for change in summary.decisions.iter().take(MOST_SHOWN) {
        let example = change
            .example
            .as_ref()
            .map_or("", |example| example.id.as_str());
        writer.paragraph(
            "  ",
            &format!(
                "{}: {} recommendations, mostly from {} to {}; the first is {example}",
                change.name, change.recommendations, change.old, change.new
            ),
        );
    }
    if !summary.rows.is_empty() {
        writer.section("rows that decide in the place of others");
    }
    for change in summary.rows.iter().take(MOST_SHOWN) {
        writer.line(&format!("  {}: {} times", change.decision, change.count));
        writer.indented("    was ", 8, &row(change.old.as_ref()));
        writer.indented("    now ", 8, &row(change.new.as_ref()));
    }
    writer.into_text()
}

fn row(row: Option<&pb::DecidingRow>) -> String {
    let Some(row) = row else {
        return "no row".to_owned();
    };
    let number = row
        .row
        .map_or_else(String::new, |number| format!(", row {number}"));
    format!("table {}{number} `{}`", row.table, row.text)
}

fn why(reason: pb::NotComparable) -> &'static str {
    match reason {
        pb::NotComparable::Erased => "the subject was erased",
        pb::NotComparable::Semantics => "made with other semantics of the engine",
        pb::NotComparable::Parts => "the candidate cannot read the parts",
        pb::NotComparable::Readings => "the candidate refuses a reading",
        pb::NotComparable::Damaged | pb::NotComparable::Unspecified => "cannot be read",
    }
}
