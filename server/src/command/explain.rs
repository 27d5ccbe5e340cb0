//! `explain`: asks a running service why a record came out as it did, and why not otherwise.

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use pb::explain_record_request::Question;
use pb::why_not_question::Other;

use super::client::{Asked, refused};
use super::output::{is_coloured, print};
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::explain::text::text;
use crate::json::canonical_json;
use crate::rpc::limits::MOST_ANSWER_BYTES;

/// What `explain` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The record's id, as it stands on the ticket
    #[arg(value_name = "RECORD")]
    id: String,
    #[command(flatten)]
    asked: Asked,
    /// Why a decision or choice came out so, for a club or for each: `club_length/7 iron`
    #[arg(long, value_name = "DECISION[/CLUB]", value_parser = subject)]
    why: Option<Subject>,
    /// Why it did not come out otherwise: say what with --outcome, --row or --part
    #[arg(long, value_name = "DECISION[/CLUB]", value_parser = subject, conflicts_with = "why", requires = "other")]
    why_not: Option<Subject>,
    /// Another outcome of the decision, as it is shown: `stiff`
    #[arg(long, value_name = "TEXT", group = "other", requires = "why_not")]
    outcome: Option<String>,
    /// A row of the decision, of another table than the first as TABLE.ROW
    #[arg(long, value_name = "ROW", group = "other", requires = "why_not", value_parser = row)]
    row: Option<pb::RowOfTable>,
    /// A part or piece of the choice, by its code
    #[arg(long, value_name = "CODE", group = "other", requires = "why_not")]
    part: Option<String>,
    /// The explanation as JSON
    #[arg(long)]
    json: bool,
}

/// A decision, and the club where one is named.
#[derive(Clone, Debug)]
struct Subject {
    decision: String,
    club: String,
}

fn subject(text: &str) -> Result<Subject, String> {
    let (decision, club) = text.split_once('/').unwrap_or((text, ""));
    if decision.is_empty() {
        return Err("name a decision, such as club_length or `club_length/7 iron`".to_owned());
    }
    Ok(Subject {
        decision: decision.to_owned(),
        club: club.to_owned(),
    })
}

fn row(text: &str) -> Result<pb::RowOfTable, String> {
    let (table, row) = text.split_once('.').unwrap_or(("1", text));
    let number = |text: &str| text.parse().ok().filter(|number| *number > 0);
    match (number(table), number(row)) {
        (Some(table), Some(row)) => Ok(pb::RowOfTable { table, row }),
        _ => Err(format!(
            "`{text}` is no row; write 3, or 2.3 for the third row of table 2"
        )),
    }
}

/// Asks, and prints the answer.
///
/// # Errors
/// [`CommandError::BadInput`]: the service cannot be reached, or the record has nothing of what is
/// asked.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let request = pb::ExplainRecordRequest {
        id: arguments.id.clone(),
        question: question(arguments),
    };
    let answer = runtime(1)?.block_on(async {
        let channel = arguments.asked.connect().await?;
        let mut client =
            AuditServiceClient::new(channel).max_decoding_message_size(MOST_ANSWER_BYTES);
        let answer = client.explain_record(request).await.map_err(refused)?;
        Ok::<_, CommandError>(answer.into_inner())
    })?;
    let explanation = answer
        .explanation
        .ok_or_else(|| CommandError::own("the service answered without an explanation"))?;
    if arguments.json {
        let json = canonical_json("loftwright.v1.Explanation", &explanation);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
    } else {
        print(&text(&explanation, is_coloured()))?;
    }
    Ok(Ended::Answered)
}

fn question(arguments: &Arguments) -> Option<Question> {
    if let Some(why) = &arguments.why {
        return Some(Question::Why(pb::WhyQuestion {
            decision: why.decision.clone(),
            club: why.club.clone(),
        }));
    }
    let why_not = arguments.why_not.as_ref()?;
    let outcome = arguments.outcome.clone().map(Other::Outcome);
    let row = arguments.row.map(Other::Row);
    let part = arguments.part.clone().map(Other::Part);
    Some(Question::WhyNot(pb::WhyNotQuestion {
        decision: why_not.decision.clone(),
        club: why_not.club.clone(),
        other: outcome.or(row).or(part),
    }))
}
