//! `log-key`: the key that signs the log of a data directory.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use super::output::print;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::store::{DataFolder, change_key, key_ring_of};

/// What `log-key` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Make the key of a new log, and print the file of keys for those who verify it
    New {
        /// What the log is called, such as "skerry.example/record"
        #[arg(value_name = "NAME")]
        name: String,
        #[command(flatten)]
        data: Data,
    },
    /// Sign with a new key from now on: both sign the next checkpoint, and the old key is destroyed
    Rotate {
        #[command(flatten)]
        data: Data,
    },
    /// Print the file of keys for those who verify the log; the service may be running
    Show {
        #[command(flatten)]
        data: Data,
    },
}

#[derive(Debug, Args)]
struct Data {
    /// The data directory; to make or change a key its service must be stopped
    #[arg(long, value_name = "DIR")]
    data: PathBuf,
}

/// Makes, changes or shows the key of a data directory.
///
/// # Errors
/// [`CommandError::BadInput`]: the directory is in use or damaged, or there is a key already.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let ring = match &arguments.what {
        What::New { name, data } => new(name, &data.data)?,
        What::Rotate { data } => runtime(1)?
            .block_on(change_key(&data.data))
            .map_err(CommandError::bad)?
            .to_string(),
        What::Show { data } => key_ring_of(&data.data)
            .map_err(CommandError::bad)?
            .to_string(),
    };
    print(&ring)?;
    Ok(Ended::Answered)
}

fn new(name: &str, data: &Path) -> Result<String, CommandError> {
    let folder = DataFolder::open(data).map_err(CommandError::bad)?;
    folder.new_key(name).map_err(CommandError::bad)?;
    let ring = key_ring_of(data).map_err(CommandError::bad)?;
    Ok(ring.to_string())
}
