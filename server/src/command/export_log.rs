//! `export-log`: the whole log of a data directory in a file that `verify-log` accepts.

use std::fs::File;
use std::io::BufWriter;
use std::path::PathBuf;

use clap::Args;
use loftwright_engine::intake::quoted;

use super::output::print;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::exporting;
use crate::rpc::recording::Recording;
use crate::store::RecorderSettings;

/// What `export-log` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The data directory, that no service uses
    #[arg(long, value_name = "DIR")]
    data: PathBuf,
    /// The file to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

/// Writes the log.
///
/// # Errors
/// [`CommandError::BadInput`]: the directory is in use or damaged, or the file cannot be written.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let shown = quoted(&arguments.output.display().to_string());
    let file = File::create(&arguments.output)
        .map_err(|why| CommandError::bad(format!("{shown} cannot be written: {why}")))?;
    let keys = runtime(1)?.block_on(async {
        let opened = Recording::open(&arguments.data, RecorderSettings::default()).await;
        let (recording, writing) = opened.map_err(CommandError::bad)?;
        let keys = recording.keys().await.map_err(CommandError::bad)?;
        let note = recording.recorder.checkpoint().await;
        let note = note.map_err(CommandError::bad)?;
        let store = recording.store.as_ref();
        let written = exporting::log(store, BufWriter::new(file), &note, &keys).await;
        drop(recording);
        writing.await.map_err(CommandError::own)?;
        written.map_err(CommandError::bad)?;
        Ok::<_, CommandError>(keys.to_string())
    })?;
    print(&format!(
        "The log in {shown}. It holds every record with its body: keep it as you keep the data \
         directory. {}:\n{}\n",
        match keys.lines().count() {
            1 => "The key that signs it",
            _ => "The keys that signed it, each up to the size at which it was changed",
        },
        keys.trim_end()
    ))?;
    Ok(Ended::Answered)
}
