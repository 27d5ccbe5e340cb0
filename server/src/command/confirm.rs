//! `confirm`: what was really built of a recorded recommendation, from a file of TOML.
//!
//! The request's id is made of the file: the same file sent twice is one confirmation.

use std::path::PathBuf;

use clap::Args;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use toml::{Table, Value};

use super::client::{Asked, refused};
use super::columns::lines;
use super::output::print;
use super::request_id;
use super::sent_files::{Keys, read, text_of};
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::json::canonical_json;
use crate::rpc::limits::MOST_ANSWER_BYTES;

/// What `confirm` takes.
#[derive(Debug, Args)]
#[command(after_long_help = "\
The file names the record, and each club that was not built as recommended:

    record = \"12-0a1b2c3d4e5f6071\"

    [[club]]
    name      = \"7 iron\"
    length    = { built = \"36 in\", because = \"he chokes down\" }
    head_piece = { built = \"N0144\", because = \"the other one was scratched\" }

    [[club]]
    name      = \"putter\"
    not_built = \"he keeps his own after all\"

A measure within the tolerance of the rules is no difference, and needs no reason. To replace an
earlier confirmation, name its record: supersedes = \"15-…\".")]
pub struct Arguments {
    /// The file of what was built
    #[arg(value_name = "BUILD.toml")]
    build: PathBuf,
    #[command(flatten)]
    asked: Asked,
    /// Only say whether it would be taken, and what from the stock
    #[arg(long)]
    validate_only: bool,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
}

/// Confirms the build of a file.
///
/// # Errors
/// [`CommandError::BadInput`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let (table, text) = read(&arguments.build)?;
    let mut faults = Vec::new();
    let request = pb::ConfirmBuildRequest {
        request_id: request_id::of_content(text.as_bytes()),
        validate_only: arguments.validate_only,
        ..request(table, &mut faults)
    };
    if !faults.is_empty() {
        return Err(CommandError::BadInput(faults));
    }
    let answer = runtime(1)?.block_on(async {
        let service = arguments.asked.connect().await?;
        let mut client =
            FittingServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
        let answer = client.confirm_build(request).await.map_err(refused)?;
        Ok::<_, CommandError>(answer.into_inner())
    })?;
    if arguments.json {
        let json = canonical_json("loftwright.v1.ConfirmBuildResponse", &answer);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
        return Ok(Ended::Answered);
    }
    print(&shown(&answer))?;
    Ok(Ended::Answered)
}

/// The request of a file.
fn request(table: Table, faults: &mut Vec<String>) -> pb::ConfirmBuildRequest {
    let mut keys = Keys::of("", table, faults);
    let record_id = keys.needed("record");
    let supersedes = keys.text("supersedes");
    let clubs = keys.tables("club");
    keys.end();
    pb::ConfirmBuildRequest {
        record_id,
        supersedes,
        clubs: clubs
            .into_iter()
            .map(|(path, table)| club(&path, table, faults))
            .collect(),
        ..pb::ConfirmBuildRequest::default()
    }
}

fn club(path: &str, table: Table, faults: &mut Vec<String>) -> pb::BuiltClub {
    let mut keys = Keys::of(path, table, faults);
    let name = keys.needed("name");
    let not_built = keys.text("not_built");
    let rest = keys.rest();
    keys.end();
    let field = |(name, value): (String, Value)| {
        let place = format!("{path}.{name}");
        let (value, reason) = match value {
            Value::Table(table) => {
                let mut keys = Keys::of(&place, table, faults);
                let built = keys.text("built");
                let because = keys.needed("because");
                keys.end();
                (built, because)
            }
            value => match text_of(&value) {
                Ok(text) => (text, String::new()),
                Err(what) => {
                    faults.push(format!("{place}: {what}"));
                    (String::new(), String::new())
                }
            },
        };
        pb::BuiltField {
            name,
            value,
            reason,
        }
    };
    pb::BuiltClub {
        name,
        not_built,
        fields: rest.into_iter().map(field).collect(),
    }
}

fn shown(answer: &pb::ConfirmBuildResponse) -> String {
    let build = answer.build.clone().unwrap_or_default();
    let built = build.clubs.iter().filter(|club| !club.fields.is_empty());
    let built = built.count();
    let not_built = build.clubs.len().saturating_sub(built);
    let mut text = match &answer.record {
        Some(record) => format!("confirmed: record {}, of {}\n", record.id, build.record_id),
        None => format!("would be confirmed, of {}\n", build.record_id),
    };
    text.push_str(&match not_built {
        0 => format!("  {built} clubs built\n"),
        more => format!("  {built} clubs built, {more} not\n"),
    });
    if !build.overrides.is_empty() {
        text.push_str("  otherwise than recommended\n");
        let rows: Vec<[String; 4]> = build.overrides.iter().map(override_cells).collect();
        text.push_str(&lines("    ", &rows));
    }
    if !build.stock.is_empty() {
        text.push_str("  off the stock\n");
        let rows: Vec<[String; 3]> = build.stock.iter().map(movement_cells).collect();
        text.push_str(&lines("    ", &rows));
    }
    if let Some(snapshot) = &answer.snapshot {
        text.push_str(&format!("  snapshot {}\n", snapshot.digest));
    }
    text
}

fn override_cells(one: &pb::BuildOverride) -> [String; 4] {
    let or_nothing = |text: &str| match text {
        "" => "nothing".to_owned(),
        text => text.to_owned(),
    };
    let change = match one.field.as_str() {
        "" => "not built".to_owned(),
        field => format!(
            "{field}: {} for {}",
            or_nothing(&one.built),
            or_nothing(&one.recommended)
        ),
    };
    let row = match (one.table, one.row) {
        (0, _) | (_, 0) => one.decision.clone(),
        (1, row) => format!("{} row {row}", one.decision),
        (table, row) => format!("{} table {table} row {row}", one.decision),
    };
    [one.club.clone(), change, row, one.reason.clone()]
}

fn movement_cells(one: &pb::StockMovement) -> [String; 3] {
    let what = match &one.piece_id {
        Some(piece) => piece.clone(),
        None => one.change_by.to_string(),
    };
    [one.kind.clone(), one.part_id.clone(), what]
}
