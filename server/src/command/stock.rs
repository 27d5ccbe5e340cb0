//! `stock`: what is on hand at a running service, and changes of it.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::count_change::Change;
use loftwright_proto::v1::parts_service_client::PartsServiceClient;
use loftwright_proto::v1::update_stock_request::Update;
use toml::Table;

use super::client::{Asked, Service, refused};
use super::columns::lines;
use super::output::print;
use super::sent_files::{Keys, read, text_of};
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::json::canonical_json;
use crate::rpc::limits::{MOST_ANSWER_BYTES, MOST_RULES_REQUEST_BYTES};

/// What `stock` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List what is on hand
    List(List),
    /// Change it: pieces that came and went, counts
    Update(ToUpdate),
}

#[derive(Debug, Args)]
struct List {
    /// Only this kind of part: head, shaft, grip
    #[arg(long, value_name = "KIND")]
    kind: Option<String>,
    /// Only this part, by its code
    #[arg(long, value_name = "CODE")]
    part: Option<String>,
    #[command(flatten)]
    asked: Asked,
    /// All of it as one JSON document
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
#[command(after_long_help = "\
The file has a table for each change:

    [[add]]
    kind          = \"head\"
    part          = \"H-DR-01-090-R\"
    id            = \"N9001\"
    measured_loft = \"9.3 deg\"

    [[remove]]
    kind = \"head\"
    id   = \"N0001\"

    [[count]]
    kind = \"grip\"
    part = \"G-S-RN\"
    set  = 40            # or change_by = -2

All of them are made, or none.")]
struct ToUpdate {
    /// The file of changes
    #[arg(value_name = "CHANGES.toml")]
    changes: PathBuf,
    /// Why, in one line; it is recorded
    #[arg(long, value_name = "TEXT")]
    reason: String,
    #[command(flatten)]
    asked: Asked,
    /// Only say whether it would be taken
    #[arg(long)]
    validate_only: bool,
}

/// Lists the stock, or changes it.
///
/// # Errors
/// [`CommandError::BadInput`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    match &arguments.what {
        What::List(list) => run_list(list),
        What::Update(update) => run_update(update),
    }
}

/// The client of a service's parts.
pub(super) fn client(service: Service) -> PartsServiceClient<Service> {
    PartsServiceClient::new(service)
        .max_encoding_message_size(MOST_RULES_REQUEST_BYTES)
        .max_decoding_message_size(MOST_ANSWER_BYTES)
}

/// The digest of the snapshot in force.
pub(super) async fn digest_in_force(
    client: &mut PartsServiceClient<Service>,
) -> Result<String, CommandError> {
    let request = pb::ListStockRequest {
        page_size: 1,
        ..pb::ListStockRequest::default()
    };
    let answer = client.list_stock(request).await.map_err(refused)?;
    let snapshot = answer.into_inner().snapshot.unwrap_or_default();
    Ok(snapshot.digest)
}

fn run_list(list: &List) -> Result<Ended, CommandError> {
    let stock = runtime(1)?.block_on(async {
        let mut client = client(list.asked.connect().await?);
        let mut all = pb::ListStockResponse::default();
        loop {
            let request = pb::ListStockRequest {
                kind: list.kind.clone().unwrap_or_default(),
                part: list.part.clone().unwrap_or_default(),
                page_size: 1000,
                page_token: std::mem::take(&mut all.next_page_token),
            };
            let page = client
                .list_stock(request)
                .await
                .map_err(refused)?
                .into_inner();
            all.items.extend(page.items);
            all.next_page_token = page.next_page_token;
            all.snapshot = page.snapshot;
            all.kinds = page.kinds;
            if all.next_page_token.is_empty() {
                return Ok::<_, CommandError>(all);
            }
        }
    })?;
    if list.json {
        let json = canonical_json("loftwright.v1.ListStockResponse", &stock);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
        return Ok(Ended::Answered);
    }
    let rows: Vec<[String; 4]> = stock.items.iter().map(item_cells).collect();
    print(&lines("", &rows))?;
    print(&kinds_text(stock.snapshot.as_ref(), &stock.kinds))?;
    Ok(Ended::Answered)
}

/// A line of the list: kind, part, piece or count, what is measured.
fn item_cells(item: &pb::StockItem) -> [String; 4] {
    let measured = item.measured.iter().map(|field| {
        let value = field.value.as_ref().map_or("", |value| value.text.as_str());
        format!("{} {value}", field.name)
    });
    let which = item
        .piece_id
        .clone()
        .unwrap_or_else(|| item.count.to_string());
    let measured: Vec<String> = measured.collect();
    [
        item.kind.clone(),
        item.part_id.clone(),
        which,
        measured.join(", "),
    ]
}

/// How much there is of each kind, and the snapshot.
pub(super) fn kinds_text(snapshot: Option<&pb::PartsSnapshot>, kinds: &[pb::KindOnHand]) -> String {
    let mut text = String::new();
    for kind in kinds {
        let on_hand = match (kind.pieces, kind.counted) {
            (0, counted) => format!("{counted} on hand"),
            (pieces, 0) => format!("{pieces} on hand, piece by piece"),
            (pieces, counted) => format!("{pieces} on hand piece by piece, {counted} counted"),
        };
        let (name, parts) = (&kind.kind, kind.parts);
        text.push_str(&format!("{name}: {parts} in the catalogue, {on_hand}\n"));
    }
    if let Some(snapshot) = snapshot {
        text.push_str(&format!(
            "snapshot {} of {}\n",
            snapshot.digest, snapshot.name
        ));
    }
    text
}

fn run_update(update: &ToUpdate) -> Result<Ended, CommandError> {
    let (table, _) = read(&update.changes)?;
    let mut faults = Vec::new();
    let changes = changes(table, &mut faults);
    if !faults.is_empty() {
        return Err(CommandError::BadInput(faults));
    }
    let answer = runtime(1)?.block_on(async {
        let mut client = client(update.asked.connect().await?);
        let request = pb::UpdateStockRequest {
            update: Some(Update::Changes(changes)),
            expected_digest: digest_in_force(&mut client).await?,
            reason: update.reason.clone(),
            validate_only: update.validate_only,
            pieces_came_back: false,
        };
        let answer = client.update_stock(request).await.map_err(refused)?;
        Ok::<_, CommandError>(answer.into_inner())
    })?;
    let done = match &answer.record {
        Some(record) => format!("changed: record {}\n", record.id),
        None => "would be changed\n".to_owned(),
    };
    print(&done)?;
    print(&kinds_text(answer.snapshot.as_ref(), &answer.kinds))?;
    Ok(Ended::Answered)
}

/// The changes of a file.
fn changes(table: Table, faults: &mut Vec<String>) -> pb::StockChanges {
    let mut keys = Keys::of("", table, faults);
    let (add, remove, count) = (
        keys.tables("add"),
        keys.tables("remove"),
        keys.tables("count"),
    );
    keys.end();
    let mut changes = pb::StockChanges::default();
    for (path, table) in add {
        changes.add_pieces.push(added(&path, table, faults));
    }
    for (path, table) in remove {
        let mut keys = Keys::of(&path, table, faults);
        changes.remove_pieces.push(pb::RemovedPiece {
            kind: keys.needed("kind"),
            id: keys.needed("id"),
        });
        keys.end();
    }
    for (path, table) in count {
        let mut keys = Keys::of(&path, table, faults);
        let (kind, part) = (keys.needed("kind"), keys.needed("part"));
        let change = match (keys.whole("set"), keys.whole("change_by")) {
            (Some(after), None) => Some(Change::Set(after)),
            (None, Some(by)) => Some(Change::ChangeBy(by)),
            _ => None,
        };
        keys.end();
        if change.is_none() {
            faults.push(format!("{path}: write `set` or `change_by`, one of them"));
        }
        changes.counts.push(pb::CountChange { kind, part, change });
    }
    changes
}

fn added(path: &str, table: Table, faults: &mut Vec<String>) -> pb::AddedPiece {
    let mut keys = Keys::of(path, table, faults);
    let mut piece = pb::AddedPiece {
        kind: keys.needed("kind"),
        part: keys.needed("part"),
        id: keys.needed("id"),
        fields: std::collections::BTreeMap::new(),
    };
    let measured = keys.rest();
    keys.end();
    for (name, value) in measured {
        match text_of(&value) {
            Ok(text) => {
                piece.fields.insert(name, text);
            }
            Err(what) => faults.push(format!("{path}.{name}: {what}")),
        }
    }
    piece
}
