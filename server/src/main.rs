//! `loftwright`: reads the command line, runs one command, and ends with its exit code.

use std::panic::catch_unwind;
use std::process::ExitCode;

use clap::Parser;
use loftwright_server::command::{Command, run};
use loftwright_server::ending::{CommandError, exit_code};
use mimalloc::MiMalloc;
use tracing::level_filters::LevelFilter;

/// To fit a bag is to make and drop thousands of small values; this takes a tenth less time for it
/// than what the system has.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

/// Fits golf clubs to players by the workshop's own rules.
#[derive(Debug, Parser)]
#[command(version, arg_required_else_help = true, propagate_version = true)]
struct Arguments {
    /// What is logged on standard error: error, warn, info, debug or trace
    #[arg(long, global = true, default_value = "warn")]
    log: LevelFilter,
    #[command(subcommand)]
    command: Command,
}

fn main() -> ExitCode {
    // A fault in the arguments ends here, with exit code 2.
    let arguments = Arguments::parse();
    tracing_subscriber::fmt()
        .with_max_level(arguments.log)
        .with_writer(std::io::stderr)
        .with_ansi(false)
        .init();
    let outcome = catch_unwind(|| run(arguments.command))
        .unwrap_or_else(|_| Err(CommandError::own("a fault of this program")));
    match &outcome {
        Ok(_) | Err(CommandError::OutputClosed) => {}
        Err(error) => eprintln!("{error}"),
    }
    exit_code(&outcome)
}
