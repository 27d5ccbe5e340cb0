//! `check-log`: whether all that a data directory keeps is what was written.

use std::path::PathBuf;

use clap::Args;

use super::output::print;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::rpc::checking::check_record;
use crate::rpc::recording::Recording;
use crate::store::RecorderSettings;

/// What `check-log` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The data directory, that no service uses
    #[arg(long, value_name = "DIR")]
    data: PathBuf,
}

/// Reads everything, and says what is not as it was written.
///
/// # Errors
/// [`CommandError::BadInput`]: the directory is in use, or so damaged that it cannot be opened.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    runtime(1)?.block_on(async {
        let opened = Recording::open(&arguments.data, RecorderSettings::default()).await;
        let (recording, writing) = opened.map_err(CommandError::bad)?;
        let found = said(&recording).await;
        drop(recording);
        writing.await.map_err(CommandError::own)?;
        match found {
            Ok(said) => {
                print(&said)?;
                Ok(Ended::Answered)
            }
            Err(fault) => {
                print(&format!("{fault}\n"))?;
                Ok(Ended::WithFindings)
            }
        }
    })
}

async fn said(recording: &Recording) -> Result<String, String> {
    let root = check_record(recording).await?;
    let size = recording
        .store
        .size()
        .await
        .map_err(|why| why.to_string())?;
    Ok(format!(
        "{size} records, and all that is kept is what was written. The root of their tree:\n{root}\n\
         Whether it is the log of yesterday, only a checkpoint kept elsewhere shows: `export-log`, \
         then `verify-log`.\n"
    ))
}
