//! `rows`: how often each row of a revision decided, was borderline, and was overridden.

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;

use super::check::counted;
use super::client::{Asked, refused};
use super::columns::lines;
use super::output::print;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::json::canonical_json;
use crate::rpc::limits::MOST_ANSWER_BYTES;

/// The most characters of a row's text.
const MOST_RULE_CHARACTERS: usize = 48;

/// What `rows` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The ruleset [default: the one that the service uses by itself]
    #[arg(long, value_name = "NAME")]
    ruleset: Option<String>,
    /// The revision [default: the one in force]
    #[arg(long, value_name = "REVISION")]
    revision: Option<String>,
    /// Only rows and choices that were overridden
    #[arg(long)]
    overridden: bool,
    /// Only rows that never decided
    #[arg(long, conflicts_with = "overridden")]
    never: bool,
    #[command(flatten)]
    asked: Asked,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
}

/// Prints the statistics.
///
/// # Errors
/// [`CommandError::BadInput`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let mut answer = runtime(1)?.block_on(async {
        let service = arguments.asked.connect().await?;
        let mut client =
            RulesetServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
        let request = pb::RowStatisticsRequest {
            ruleset: arguments.ruleset.clone().unwrap_or_default(),
            revision: arguments.revision.clone().unwrap_or_default(),
        };
        let answer = client.row_statistics(request).await.map_err(refused)?;
        Ok::<_, CommandError>(answer.into_inner())
    })?;
    if arguments.overridden {
        answer.rows.retain(|row| row.overridden > 0);
    }
    if arguments.never {
        answer.rows.retain(|row| row.row > 0 && row.decided == 0);
    }
    if arguments.json {
        let json = canonical_json("loftwright.v1.RowStatisticsResponse", &answer);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
        return Ok(Ended::Answered);
    }
    print(&shown(&answer))?;
    Ok(Ended::Answered)
}

fn shown(answer: &pb::RowStatisticsResponse) -> String {
    let identity = answer.ruleset.clone().unwrap_or_default();
    let revision: String = identity.revision.chars().take(12).collect();
    let mut text = format!(
        "{}, revision {revision}: {}, {} confirmed\n",
        identity.name,
        counted(number(answer.recommendations), "recommendation"),
        counted(number(answer.builds), "build")
    );
    if answer.erased > 0 {
        let erased = answer.erased;
        text.push_str(&format!(
            "{erased} more are of subjects that were erased, and not counted\n"
        ));
    }
    if !answer.rules_unread.is_empty() {
        text.push_str(&format!(
            "the rules of the revision cannot be read back: {}; only rows that decided are listed\n",
            answer.rules_unread
        ));
    }
    let head = [
        "decision",
        "row",
        "decided",
        "borderline",
        "built",
        "overridden",
        "as written",
    ];
    let mut rows = vec![head.map(str::to_owned)];
    rows.extend(answer.rows.iter().map(cells));
    text.push_str(&lines("", &rows));
    text
}

fn number(count: u64) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

fn cells(row: &pb::RowCount) -> [String; 7] {
    let place = match (row.table, row.row) {
        (0, _) | (_, 0) => "-".to_owned(),
        (1, row) => row.to_string(),
        (table, row) => format!("{table}.{row}"),
    };
    let overridden = match (row.overridden, row.built) {
        (0, _) | (_, 0) => row.overridden.to_string(),
        (overridden, built) => {
            // In whole per cent, rounded to the nearest.
            let per_cent = (overridden.saturating_mul(200).saturating_add(built)) / (built * 2);
            format!("{overridden} ({per_cent} %)")
        }
    };
    let mut rule: String = row.rule.chars().take(MOST_RULE_CHARACTERS).collect();
    if rule.len() < row.rule.len() {
        rule.push('…');
    }
    [
        row.decision.clone(),
        place,
        row.decided.to_string(),
        row.borderline.to_string(),
        row.built.to_string(),
        overridden,
        rule.replace('\n', " "),
    ]
}
