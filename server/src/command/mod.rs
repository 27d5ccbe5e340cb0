//! The subcommands, a file each.

pub mod activate;
pub mod cases;
pub mod check;
pub mod check_log;
mod client;
mod columns;
pub mod compare;
pub mod confirm;
mod days;
pub mod demo;
pub mod editor;
pub mod explain;
pub mod explain_code;
pub mod export_log;
pub mod export_record;
pub mod fit;
mod folder_report;
pub mod format;
pub mod log_key;
pub mod outline;
mod output;
pub mod parts;
pub mod plan;
pub mod principals;
pub mod publish;
pub mod publish_parts;
pub mod records;
pub mod replay;
mod request_id;
pub mod revisions;
pub mod rows;
mod sent_files;
pub mod serve;
pub mod stock;
pub mod verify_log;

use clap::Subcommand;

use crate::ending::{CommandError, Ended};

/// What is to be done.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Fit a built-in player through a service of its own, and print the build sheet
    Demo(demo::Arguments),
    /// Answer over gRPC, on this machine alone
    Serve(serve::Arguments),
    /// Fit the player of a file, and print the build sheet
    Fit(fit::Arguments),
    /// Check folders of rules and run their cases
    Check(check::Arguments),
    /// Run a folder's cases, and count which rows they touch
    Cases(cases::Arguments),
    /// Say what two versions of a folder of rules differ in, with players for whom they do
    Compare(compare::Arguments),
    /// Lay out the files of folders of rules: columns aligned, comments kept
    Format(format::Arguments),
    /// Write the decision graph and the vocabulary of a folder as a page, a picture or data
    Outline(outline::Arguments),
    /// Say what the code of a finding means, with an example; without a code, list them all
    ExplainCode(explain_code::Arguments),
    /// Check catalogue and stock against rules, or write them anew as CSV or TOML
    Parts(parts::Arguments),
    /// Say what a roster of players draws from the drawers, what runs short, what to order by when
    Plan(plan::Arguments),
    /// Bring a folder of rules to a running service, and put it in force
    Publish(publish::Arguments),
    /// List what was published to a running service, or say what decided at an instant
    Revisions(revisions::Arguments),
    /// Put a published revision in force: a new one, or an older one to go back
    Activate(activate::Arguments),
    /// Say which past recommendations another revision would change, and by which rows
    Replay(replay::Arguments),
    /// List the records of a running service, newest first
    Records(records::Arguments),
    /// Say why a record came out as it did, and why not otherwise
    Explain(explain::Arguments),
    /// Say what is on hand at a running service, or change it
    Stock(stock::Arguments),
    /// Confirm what was built of a recorded recommendation, and take its pieces off the stock
    Confirm(confirm::Arguments),
    /// Say how often each row of a revision decided, was borderline, and was overridden
    Rows(rows::Arguments),
    /// Say who may ask a service what: keys and roles of a data directory
    Principals(principals::Arguments),
    /// Make, change or show the key that signs the log of a data directory
    LogKey(log_key::Arguments),
    /// Write the evidence of one record into a file that needs no service to be verified
    ExportRecord(export_record::Arguments),
    /// Check that all a data directory keeps is what was written
    CheckLog(check_log::Arguments),
    /// Write the whole log of a data directory into a file
    ExportLog(export_log::Arguments),
    /// Verify an export of the log, or one record's evidence, against keys that you trust
    VerifyLog(verify_log::Arguments),
    /// Serve an editor over standard input and output: findings while one types, names, completion
    Editor(editor::Arguments),
}

/// Runs a command.
///
/// # Errors
/// [`CommandError`] where it gives no answer.
pub fn run(command: Command) -> Result<Ended, CommandError> {
    match command {
        Command::Demo(arguments) => demo::run(&arguments),
        Command::Serve(arguments) => serve::run(&arguments),
        Command::Fit(arguments) => fit::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Cases(arguments) => cases::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Format(arguments) => format::run(&arguments),
        Command::Outline(arguments) => outline::run(&arguments),
        Command::ExplainCode(arguments) => explain_code::run(&arguments),
        Command::Parts(arguments) => parts::run(&arguments),
        Command::Plan(arguments) => plan::run(&arguments),
        Command::Publish(arguments) => publish::run(&arguments),
        Command::Revisions(arguments) => revisions::run(&arguments),
        Command::Activate(arguments) => activate::run(&arguments),
        Command::Replay(arguments) => replay::run(&arguments),
        Command::Records(arguments) => records::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
        Command::Stock(arguments) => stock::run(&arguments),
        Command::Confirm(arguments) => confirm::run(&arguments),
        Command::Rows(arguments) => rows::run(&arguments),
        Command::Principals(arguments) => principals::run(&arguments),
        Command::LogKey(arguments) => log_key::run(&arguments),
        Command::ExportRecord(arguments) => export_record::run(&arguments),
        Command::CheckLog(arguments) => check_log::run(&arguments),
        Command::ExportLog(arguments) => export_log::run(&arguments),
        Command::VerifyLog(arguments) => verify_log::run(&arguments),
        Command::Editor(arguments) => editor::run(arguments),
    }
}
