//! `parts publish`: brings a folder of catalogue and stock to a running service.

use std::path::PathBuf;

use clap::Args;
use loftwright_proto::v1 as pb;
use tonic::Status;
use tonic_types::StatusExt;

use super::client::{Asked, refused};
use super::output::print;
use super::publish::findings_text;
use super::serve::runtime;
use super::stock::{client, digest_in_force, kinds_text};
use crate::ending::{CommandError, Ended};
use crate::files::TextFile;
use crate::load;

/// What `parts publish` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folder of parts
    #[arg(value_name = "DIR")]
    parts: PathBuf,
    /// Why, in one line; it is recorded
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// Only the catalogue: the stock of the service stays as it is. Otherwise that of the folder
    /// takes its place, and of what is only counted what was built since is on hand again
    #[arg(long)]
    catalogue_only: bool,
    /// Pieces that builds took and that the folder has are on hand again, and are recorded so;
    /// without this they are named, and nothing is published
    #[arg(long, conflicts_with = "catalogue_only")]
    pieces_came_back: bool,
    #[command(flatten)]
    asked: Asked,
    /// Only say whether it would be taken
    #[arg(long)]
    validate_only: bool,
}

/// Publishes the folder.
///
/// # Errors
/// [`CommandError::BadInput`]: the folder cannot be read, the service cannot be reached or does not
/// take the request.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let stock = load::stock(Some(&arguments.parts))?;
    let side = |side: &str| pb::PartsFiles {
        files: stock
            .files
            .files()
            .iter()
            .filter(|file| file.folder_and_name().0 == side)
            .map(message)
            .collect(),
    };
    runtime(1)?.block_on(async {
        let mut client = client(arguments.asked.connect().await?);
        let whole = !arguments.catalogue_only;
        let request = pb::PublishCatalogueRequest {
            catalogue: Some(side("catalogue")),
            stock: whole.then(|| side("stock")),
            stock_name: if whole {
                stock.name.clone()
            } else {
                String::new()
            },
            expected_digest: digest_in_force(&mut client).await?,
            reason: arguments.reason.clone(),
            validate_only: arguments.validate_only,
            pieces_came_back: arguments.pieces_came_back,
        };
        let trial = pb::PublishCatalogueRequest {
            validate_only: true,
            ..request.clone()
        };
        let answer = match client.publish_catalogue(request).await {
            Ok(answer) => answer.into_inner(),
            // A status has room for the first findings only; a trial has them all.
            Err(status) if is_refused_parts(&status) => {
                let answer = client.publish_catalogue(trial).await.map_err(refused)?;
                answer.into_inner()
            }
            Err(status) => return Err(refused(status)),
        };
        if !answer.findings.is_empty() {
            print(&findings_text(&answer.findings, false))?;
            print(&format!(
                "not published: {} findings\n",
                answer.findings.len()
            ))?;
            return Ok(Ended::WithFindings);
        }
        let done = match &answer.record {
            Some(record) => format!("published: record {}\n", record.id),
            None => "would be published\n".to_owned(),
        };
        print(&done)?;
        print(&kinds_text(answer.snapshot.as_ref(), &answer.kinds))?;
        Ok(Ended::Answered)
    })
}

fn message(file: &TextFile) -> pb::PartsFile {
    pb::PartsFile {
        name: file.folder_and_name().1.to_owned(),
        text: file.text.clone(),
    }
}

fn is_refused_parts(status: &Status) -> bool {
    status
        .get_details_error_info()
        .is_some_and(|info| info.reason == "PARTS_REFUSED")
}
