//! `fit`: the player of a file, by the rules and parts of folders, or by a running service.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_dsl::quantity::Date;
use loftwright_engine::fit::{fit_to_depth, fit_with_pictures};
use loftwright_proto::v1 as pb;

use super::client::{USUAL_SERVICE, recommend};
use super::output::{is_coloured, print};
use super::request_id;
use super::serve::runtime;
use crate::ending::{CommandError, Ended};
use crate::files::PlayerFile;
use crate::json::canonical_json;
use crate::load;
use crate::plot::{Picture, pictures};
use crate::rpc::convert;
use crate::rpc::fitting::today;
use crate::sheet::{SheetOptions, build_sheet};
use crate::ticket::{TicketForm, draw};

/// What `fit` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The player's file
    #[arg(value_name = "PLAYER.toml")]
    player: PathBuf,
    /// The folder of rules [default: the built-in ruleset that the player's file names]
    #[arg(long, value_name = "DIR")]
    rules: Option<PathBuf>,
    /// The folder of parts and stock [default: the built-in demo stock]
    #[arg(long, value_name = "DIR")]
    parts: Option<PathBuf>,
    /// The day to fit for, such as 2026-05-01 [default: today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    on: Option<Date>,
    /// A running service that is asked, with the rules and parts that it has in force
    #[arg(
        long,
        value_name = "URL",
        num_args = 0..=1,
        default_missing_value = USUAL_SERVICE,
        conflicts_with_all = ["rules", "parts", "on"]
    )]
    to: Option<String>,
    /// The file of the key that the service knows you by, where it knows anybody
    #[arg(long, value_name = "FILE", requires = "to")]
    key_file: Option<PathBuf>,
    /// Record the answer at the service, and say as what; without it the answer is a preview
    #[arg(long, requires = "to")]
    record: bool,
    /// The record of the same player that the new one replaces
    #[arg(long, value_name = "RECORD", requires = "record")]
    supersedes: Option<String>,
    /// The UUID of the request, for a retry [default: a new one]
    #[arg(long, value_name = "UUID", requires = "record")]
    request_id: Option<String>,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
    /// Every step of every decision, and how sure each is
    #[arg(long, conflicts_with = "json")]
    full: bool,
    /// A folder for pictures: how far each club carries, its flight, decisions near a bound
    #[arg(long, value_name = "DIR", conflicts_with = "to")]
    plot: Option<PathBuf>,
    /// A file for the ticket for the bench, as a page to print or as text; may be given twice
    #[arg(long, value_name = "FILE.html|FILE.txt", value_parser = ticket_file)]
    ticket: Vec<TicketFile>,
}

/// Where a ticket goes, and in which form.
#[derive(Clone, Debug)]
struct TicketFile {
    path: PathBuf,
    form: TicketForm,
}

fn ticket_file(text: &str) -> Result<TicketFile, String> {
    let path = PathBuf::from(text);
    let form = TicketForm::of_path(&path)?;
    Ok(TicketFile { path, form })
}

pub(super) fn date(text: &str) -> Result<Date, String> {
    Date::parse(text).ok_or_else(|| format!("`{text}` is not a date such as 2026-05-01"))
}

/// Fits the player and prints the sheet.
///
/// # Errors
/// [`CommandError`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let file =
        PlayerFile::of_disk(&arguments.player).map_err(|faults| load::file_faults(&faults))?;
    // First, so that nobody waits for a bag whose pictures have no place.
    if let Some(folder) = &arguments.plot {
        fs::create_dir_all(folder).map_err(|error| cannot_write(folder, &error))?;
    }
    let (recommendation, pictures, record) = match &arguments.to {
        Some(to) => {
            let (recommendation, record) = by_service(to, arguments, &file)?;
            (recommendation, Vec::new(), record)
        }
        None => {
            let (recommendation, pictures) = by_folders(arguments, &file)?;
            (recommendation, pictures, None)
        }
    };
    if let Some(folder) = &arguments.plot {
        write_pictures(folder, &pictures)?;
    }
    let ended = write_tickets(&arguments.ticket, &recommendation)?;
    if arguments.json {
        let json = canonical_json("loftwright.v1.Recommendation", &recommendation);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
        if let Some(record) = record {
            eprintln!("recorded as {}", record.id);
        }
        return Ok(ended);
    }
    let options = SheetOptions {
        player: file.subject.unwrap_or_else(|| "(no subject)".to_owned()),
        is_full: arguments.full,
        is_coloured: is_coloured(),
    };
    print(&build_sheet(&recommendation, &options))?;
    if let Some(folder) = &arguments.plot {
        print(&pictures_line(folder, &pictures))?;
    }
    print(&tickets_line(&arguments.ticket, ended))?;
    if let Some(record) = record {
        print(&format!("\nRecorded as {}\n", record.id))?;
    }
    Ok(ended)
}

/// Writes the ticket into each file; where there is none, that is a finding.
fn write_tickets(
    files: &[TicketFile],
    recommendation: &pb::Recommendation,
) -> Result<Ended, CommandError> {
    let mut ended = Ended::Answered;
    for file in files {
        match draw(recommendation, file.form) {
            Some(text) => {
                fs::write(&file.path, text).map_err(|error| cannot_write(&file.path, &error))?;
            }
            None => ended = Ended::WithFindings,
        }
    }
    Ok(ended)
}

fn tickets_line(files: &[TicketFile], ended: Ended) -> String {
    if files.is_empty() {
        return String::new();
    }
    if ended == Ended::WithFindings {
        return "\nNo ticket was written: the set itself is not decided; see what is missing.\n"
            .to_owned();
    }
    let paths: Vec<String> = files
        .iter()
        .map(|file| file.path.display().to_string())
        .collect();
    format!("\nTicket for the bench: {}\n", paths.join(", "))
}

fn write_pictures(folder: &Path, pictures: &[Picture]) -> Result<(), CommandError> {
    for picture in pictures {
        let path = folder.join(&picture.file);
        fs::write(&path, &picture.svg).map_err(|error| cannot_write(&path, &error))?;
    }
    Ok(())
}

fn cannot_write(path: &Path, error: &std::io::Error) -> CommandError {
    CommandError::bad(format!("`{}` cannot be written: {error}", path.display()))
}

fn pictures_line(folder: &Path, pictures: &[Picture]) -> String {
    if pictures.is_empty() {
        return "\nNothing can be drawn: no carry is known and nothing is near a bound.\n"
            .to_owned();
    }
    let files: Vec<&str> = pictures
        .iter()
        .map(|picture| picture.file.as_str())
        .collect();
    format!("\nPictures in {}: {}\n", folder.display(), files.join(", "))
}

/// The answer of a running service.
fn by_service(
    to: &str,
    arguments: &Arguments,
    file: &PlayerFile,
) -> Result<(pb::Recommendation, Option<pb::RecordReference>), CommandError> {
    let text = file.text().map_err(|faults| load::file_faults(&faults))?;
    let ruleset = file.ruleset.as_deref().unwrap_or_default();
    let subject = file.subject.as_deref().unwrap_or_default();
    let request = pb::RecommendRequest {
        ticket: !arguments.ticket.is_empty(),
        preview: !arguments.record,
        request_id: request_id(arguments)?,
        supersedes: arguments.supersedes.clone().unwrap_or_default(),
        ..convert::player::request(ruleset, subject, text)
    };
    runtime(1)?.block_on(recommend(to, arguments.key_file.as_deref(), request))
}

/// The id of a request that is recorded: a new one each time, unless one is named.
fn request_id(arguments: &Arguments) -> Result<String, CommandError> {
    match &arguments.request_id {
        Some(id) => Ok(id.clone()),
        None if arguments.record => request_id::new(),
        None => Ok(String::new()),
    }
}

/// The answer of this program itself, by the rules and parts of folders, and the pictures where
/// they are wanted.
fn by_folders(
    arguments: &Arguments,
    file: &PlayerFile,
) -> Result<(pb::Recommendation, Vec<Picture>), CommandError> {
    let revision = load::revision(arguments.rules.as_deref(), file.ruleset.as_deref())?;
    let ruleset = load::stock(arguments.parts.as_deref())?
        .ruleset(revision.program, revision.source)
        .map_err(|faults| load::file_faults(&faults))?;
    let player = file
        .player(&ruleset.program)
        .map_err(|faults| load::file_faults(&faults))?;
    let today = match arguments.on {
        Some(day) => day,
        None => {
            today().ok_or_else(|| CommandError::own("this machine's clock stands before 1970"))?
        }
    };
    let view = pb::RecommendationView::Full;
    let depth = convert::depth_of(view);
    let (program, parts) = (&ruleset.program, &ruleset.parts);
    let (answer, drawn) = if arguments.plot.is_some() {
        let (answer, drawn) = fit_with_pictures(program, parts, &player, today, depth);
        let subject = file.subject.as_deref().unwrap_or("(no subject)");
        (
            answer,
            pictures(&drawn, subject).map_err(CommandError::own)?,
        )
    } else {
        let answer = fit_to_depth(program, parts, &player, today, depth);
        (answer, Vec::new())
    };
    let subject = file.subject.as_deref().unwrap_or_default();
    let ticket_of = (!arguments.ticket.is_empty()).then_some(subject);
    let answer = convert::recommendation(&answer, &ruleset, today, view, ticket_of);
    Ok((answer, drawn))
}
