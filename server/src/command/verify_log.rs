//! `verify-log`: whether an export of the log, or one record's evidence, is what was signed. It
//! needs no service and no database, only keys that one trusts.

use std::fmt::Write;
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_engine::intake::quoted;
use serde_json::json;

use super::output::{print, print_json};
use crate::audit::export::{CANNOT_BE_FOUND, ExportError, OlderCheckpoint, Report, verify_export};
use crate::audit::note::{Checkpoint, KeyRing, LARGEST_NOTE_BYTES, open_checkpoint};
use crate::ending::{CommandError, Ended};

/// What `verify-log` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The export of a log, or the evidence of one record
    #[arg(value_name = "EXPORT")]
    export: PathBuf,
    /// The file of the verifier keys that you trust, a line each: NAME+ID+BASE64
    #[arg(long, value_name = "FILE")]
    key: PathBuf,
    /// A checkpoint that you kept: the log must continue it
    #[arg(long, value_name = "FILE")]
    checkpoint: Option<PathBuf>,
    /// The report as JSON
    #[arg(long)]
    json: bool,
}

/// Verifies a file, and prints what was found.
///
/// # Errors
/// [`CommandError::BadInput`] where a file cannot be read, holds no key, or is no export.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let (ring, older) = trusted(arguments)?;
    let shown = quoted(&arguments.export.display().to_string());
    let input = File::open(&arguments.export)
        .map_err(|why| CommandError::bad(format!("{shown} cannot be read: {why}")))?;
    let report = verify_export(BufReader::new(input), &ring, older.as_ref()).map_err(|why| {
        CommandError::bad(match why {
            ExportError::NoExport => format!("{shown}: {why}"),
            ExportError::System(why) => format!("{shown} cannot be read: {why}"),
        })
    })?;
    if arguments.json {
        let mut document = serde_json::to_value(&report).map_err(CommandError::own)?;
        if let Some(members) = document.as_object_mut() {
            members.insert("is_clean".to_owned(), report.is_clean().into());
            members.insert("cannot_be_found".to_owned(), json!(CANNOT_BE_FOUND));
        }
        print_json(&document)?;
    } else {
        print(&text(&report))?;
    }
    Ok(if report.is_clean() {
        Ended::Answered
    } else {
        Ended::WithFindings
    })
}

/// The keys, and the older checkpoint signed by one of them; every fault of both files at once.
fn trusted(arguments: &Arguments) -> Result<(KeyRing, Option<Checkpoint>), CommandError> {
    let shown = quoted(&arguments.key.display().to_string());
    let ring = read(&arguments.key).and_then(|bytes| {
        let text =
            String::from_utf8(bytes).map_err(|_| vec![format!("{shown}: not UTF-8 text")])?;
        KeyRing::parse(&text).map_err(|faults| {
            let lines = faults.iter().map(|fault| format!("{shown}: {fault}"));
            lines.collect::<Vec<_>>()
        })
    });
    let note = arguments
        .checkpoint
        .as_ref()
        .map(|path| read(path).map(|note| (quoted(&path.display().to_string()), note)))
        .transpose();
    let (ring, note) = match (ring, note) {
        (Ok(ring), Ok(note)) => (ring, note),
        (ring, note) => {
            let faults = ring.err().into_iter().chain(note.err());
            let faults: Vec<String> = faults.flatten().collect();
            return Err(CommandError::BadInput(
                faults.iter().map(|fault| harmless(fault)).collect(),
            ));
        }
    };
    let older = note.map(|(shown, note)| {
        let opened = open_checkpoint(&note, &ring).map(|(checkpoint, _)| checkpoint);
        opened.map_err(|why| CommandError::bad(harmless(&format!("{shown}: {why}"))))
    });
    let older = older.transpose()?;
    Ok((ring, older))
}

/// A file of keys or a note, which is never large.
fn read(path: &Path) -> Result<Vec<u8>, Vec<String>> {
    let shown = quoted(&path.display().to_string());
    let most = u64::try_from(LARGEST_NOTE_BYTES).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(most.saturating_add(1)).read_to_end(&mut bytes))
        .map_err(|why| vec![format!("{shown} cannot be read: {why}")])?;
    if bytes.len() > LARGEST_NOTE_BYTES {
        return Err(vec![format!(
            "{shown}: at most {LARGEST_NOTE_BYTES} bytes are read of such a file"
        )]);
    }
    Ok(bytes)
}

fn text(report: &Report) -> String {
    let mut text = String::new();
    let mut line = |label: &str, words: String| {
        let _ = writeln!(text, "{label:<9} {}", harmless(&words));
    };
    line("log", report.origin.clone());
    let first = report.first_record;
    line(
        "records",
        match (report.is_evidence, report.records) {
            (true, _) => format!("record {first}, in evidence"),
            (false, 0) => "none".to_owned(),
            (false, count) => format!("{first} to {} ({count})", first.saturating_add(count - 1)),
        },
    );
    line(
        "signed",
        match report.signed_size {
            Some(size) => format!(
                "{size} records, by {}; {}",
                report.signers.join(" and "),
                match report.checkpoints {
                    1 => "1 checkpoint fits".to_owned(),
                    several => format!("{several} checkpoints fit"),
                }
            ),
            None => "no checkpoint by a key that you trust fits what is here".to_owned(),
        },
    );
    let (given, not_given) = (report.bodies_as_committed, report.bodies_not_given);
    line(
        "bodies",
        format!("{given} as committed to, {not_given} not handed out"),
    );
    match report.older_checkpoint {
        OlderCheckpoint::NotGiven => {}
        OlderCheckpoint::Continued(size) => {
            line(
                "older",
                format!("the log continues the checkpoint of {size} records"),
            );
        }
        OlderCheckpoint::NotContinued(size) => {
            line(
                "older",
                format!("the checkpoint of {size} records is not continued"),
            );
        }
    }
    if !report.attachments.is_empty() {
        line("attached", report.attachments.join(", "));
    }
    text.push('\n');
    if report.is_clean() {
        text.push_str("No fault: all of it is what was signed.\n");
    }
    for fault in &report.faults {
        let _ = writeln!(text, "fault at {}", harmless(&fault.to_string()));
    }
    if report.faults_not_listed > 0 {
        let _ = writeln!(text, "and {} faults more", report.faults_not_listed);
    }
    let _ = writeln!(text, "Cannot be found: {}.", CANNOT_BE_FOUND.join("; "));
    text
}

/// A text of one line, without characters that move a terminal's cursor or turn its lines round:
/// nothing that a file says of itself may look like what we say of it.
fn harmless(text: &str) -> String {
    let is_harmful = |character: char| {
        let turns_the_line = matches!(
            character,
            '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
        );
        turns_the_line || character.is_control()
    };
    text.replace(is_harmful, "\u{fffd}")
}
