//! `export-record`: the evidence of one record in a file that `verify-log` accepts.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_engine::intake::quoted;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;

use super::client::{Asked, refused};
use super::output::print;
use super::serve::runtime;
use crate::audit::note::LARGEST_NOTE_BYTES;
use crate::ending::{CommandError, Ended};
use crate::registry::Principals;
use crate::rpc::handing_out::evidence_of;
use crate::rpc::limits::MOST_ANSWER_BYTES;
use crate::rpc::recording::Recording;
use crate::store::RecorderSettings;

/// What `export-record` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The record's id, as it stands on the ticket
    #[arg(value_name = "RECORD")]
    id: String,
    #[command(flatten)]
    asked: Asked,
    /// A data directory instead, that no service uses
    #[arg(long, value_name = "DIR", conflicts_with_all = ["to", "key_file"])]
    data: Option<PathBuf>,
    /// A checkpoint that you kept: the pack shows that the log continues it
    #[arg(long, value_name = "FILE")]
    since: Option<PathBuf>,
    /// The file to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

/// Writes the evidence.
///
/// # Errors
/// [`CommandError::BadInput`]: there is no such record, the log does not continue the checkpoint,
/// or a file cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let since = match &arguments.since {
        Some(path) => note(path)?,
        None => String::new(),
    };
    let pack = runtime(1)?.block_on(async {
        match &arguments.data {
            Some(data) => by_folder(data, &arguments.id, &since).await,
            None => by_service(arguments, since).await,
        }
    })?;
    write(&arguments.output, &pack)?;
    let shown = arguments.output.display();
    print(&format!(
        "Evidence of record {} in {shown}, {} bytes. It holds what was asked and answered: hand it \
         to whom it concerns.\n",
        arguments.id,
        pack.len()
    ))?;
    Ok(Ended::Answered)
}

async fn by_service(arguments: &Arguments, since: String) -> Result<Vec<u8>, CommandError> {
    let service = arguments.asked.connect().await?;
    let mut client = AuditServiceClient::new(service).max_decoding_message_size(MOST_ANSWER_BYTES);
    let request = pb::ExportRecordRequest {
        id: arguments.id.clone(),
        since,
    };
    let answer = client.export_record(request).await.map_err(refused)?;
    let mut pieces = answer.into_inner();
    let mut pack = Vec::new();
    while let Some(piece) = pieces.message().await.map_err(refused)? {
        pack.extend(piece.piece);
    }
    Ok(pack)
}

async fn by_folder(data: &Path, id: &str, since: &str) -> Result<Vec<u8>, CommandError> {
    let opened = Recording::open(data, RecorderSettings::default()).await;
    let (recording, writing) = opened.map_err(CommandError::bad)?;
    // Whoever may read the directory may read it all; who that is nobody can know.
    let who = Principals::default().who(None);
    let who = who.map_err(|_| CommandError::own("nobody is known by default"))?;
    let pack = evidence_of(&recording, &who, id, since).await;
    drop(recording);
    writing.await.map_err(CommandError::own)?;
    pack.map_err(CommandError::bad)
}

/// A signed note, which is never large.
fn note(path: &Path) -> Result<String, CommandError> {
    let shown = quoted(&path.display().to_string());
    let text = fs::read_to_string(path)
        .map_err(|why| CommandError::bad(format!("{shown} cannot be read: {why}")))?;
    if text.len() > LARGEST_NOTE_BYTES {
        let sentence = format!("{shown}: a checkpoint has at most {LARGEST_NOTE_BYTES} bytes");
        return Err(CommandError::bad(sentence));
    }
    Ok(text)
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), CommandError> {
    let shown = quoted(&path.display().to_string());
    fs::write(path, bytes)
        .map_err(|why| CommandError::bad(format!("{shown} cannot be written: {why}")))
}
