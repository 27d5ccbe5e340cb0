//! `parts`: a folder of catalogue and stock checked against rules, and written anew.
//!
//! There is no `parts import`: a parts folder is the files themselves, and putting a file into it
//! is the import. `parts check` says whether it can be read.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use loftwright_dsl::diagnostic::{Located, locate};
use loftwright_dsl::program::Program;
use loftwright_engine::parts::{OnHand, Parts};
use serde::Serialize;

use super::check::{counted, shown};
use super::output::{print, print_json};
use super::publish_parts;
use crate::ending::{CommandError, Ended};
use crate::files::limits::MOST_FAULTS_SHOWN;
use crate::files::{FileFault, PartsFormat, WrittenFile, export, findings};
use crate::load::{self, DEMO_STOCK};
use crate::parts_snapshot::parts_digest;
use crate::registry::Stock;

/// What is done with a folder of parts.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Check catalogue and stock against the rules: every fault with its file, line and column
    Check(Check),
    /// Write catalogue and stock anew, as CSV or TOML
    Export(Export),
    /// Bring catalogue and stock to a running service
    Publish(publish_parts::Arguments),
}

#[derive(Debug, Args)]
struct Check {
    /// The folder of parts [default: the built-in demo stock]
    #[arg(value_name = "DIR")]
    parts: Option<PathBuf>,
    /// The folder of rules [default: the built-in ruleset skerry]
    #[arg(long, value_name = "DIR")]
    rules: Option<PathBuf>,
    /// A line for each finding: FILE:LINE:COLUMN: error[CODE]: what is wrong
    #[arg(long)]
    short: bool,
    /// One JSON document: findings as `check --json` has them, the parts counted by kind
    #[arg(long, conflicts_with = "short")]
    json: bool,
}

#[derive(Debug, Args)]
struct Export {
    /// The folder of parts [default: the built-in demo stock]
    #[arg(value_name = "DIR")]
    parts: Option<PathBuf>,
    /// The folder of rules [default: the built-in ruleset skerry]
    #[arg(long, value_name = "DIR")]
    rules: Option<PathBuf>,
    /// The folder to write into; it is made, and no file in it is written over
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// The form of the files
    #[arg(long = "as", value_enum, default_value_t = PartsFormat::Csv)]
    format: PartsFormat,
}

/// What `parts check --json` prints. Field names are stable.
#[derive(Debug, Serialize)]
struct Document {
    folder: String,
    ruleset: String,
    errors: usize,
    findings: Vec<Located>,
    /// The digest of the snapshot; null where there are findings.
    snapshot: Option<String>,
    kinds: Vec<KindCount>,
}

/// How much there is of a kind.
#[derive(Debug, Serialize)]
struct KindCount {
    kind: String,
    plural: String,
    parts: usize,
    /// Single pieces on hand.
    pieces: usize,
    /// What is counted on hand.
    counted: i64,
}

/// Checks a folder, or writes it anew.
///
/// # Errors
/// [`CommandError::BadInput`] where rules or parts cannot be read or nothing can be written.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    match &arguments.what {
        What::Check(check) => run_check(check),
        What::Export(export) => run_export(export),
        What::Publish(publish) => publish_parts::run(publish),
    }
}

fn run_check(check: &Check) -> Result<Ended, CommandError> {
    let program = load::revision(check.rules.as_deref(), None)?.program;
    let stock = load::stock(check.parts.as_deref())?;
    let folder = name_of(check.parts.as_deref());
    let (parts, faults) = match stock.files.parts(&program) {
        Ok(parts) => (Some(parts), Vec::new()),
        Err(faults) => (None, faults),
    };
    if check.json {
        let (files, found) = findings(&stock.name, stock.files.files(), &faults);
        print_json(&Document {
            folder,
            ruleset: program.name.clone(),
            errors: found.len(),
            findings: locate(&files, &found),
            snapshot: parts.as_ref().map(|parts| parts_digest(&program, parts)),
            kinds: parts
                .iter()
                .flat_map(|parts| kinds(&program, parts))
                .collect(),
        })?;
    } else if let Some(parts) = &parts {
        print(&summary(&folder, &program, parts))?;
    } else {
        print_findings(&folder, &stock, &faults, check.short)?;
    }
    Ok(match parts {
        Some(_) => Ended::Answered,
        None => Ended::WithFindings,
    })
}

fn run_export(arguments: &Export) -> Result<Ended, CommandError> {
    let program = load::revision(arguments.rules.as_deref(), None)?.program;
    let stock = load::stock(arguments.parts.as_deref())?;
    let parts = match stock.files.parts(&program) {
        Ok(parts) => parts,
        Err(faults) => {
            let folder = name_of(arguments.parts.as_deref());
            print_findings(&folder, &stock, &faults, false)?;
            return Ok(Ended::WithFindings);
        }
    };
    let files = export(&program, &parts, arguments.format).map_err(CommandError::BadInput)?;
    write(&arguments.out, &files)?;
    let folder = arguments.out.display().to_string();
    let list: String = files
        .iter()
        .map(|file| format!("{folder}/{}\n", file.path))
        .collect();
    print(&format!("{list}{}", summary(&folder, &program, &parts)))?;
    Ok(Ended::Answered)
}

fn name_of(folder: Option<&Path>) -> String {
    folder.map_or_else(
        || DEMO_STOCK.to_owned(),
        |folder| folder.display().to_string(),
    )
}

/// The findings as `check` shows those of rules, and how many there are.
fn print_findings(
    folder: &str,
    stock: &Stock,
    faults: &[FileFault],
    is_short: bool,
) -> Result<(), CommandError> {
    let first = faults.get(..MOST_FAULTS_SHOWN).unwrap_or(faults);
    let (files, found) = findings(&stock.name, stock.files.files(), first);
    print(&shown(&files, &found, is_short))?;
    let rest = faults.len().saturating_sub(first.len());
    let more = match rest {
        0 => String::new(),
        _ => format!(", of which the first {MOST_FAULTS_SHOWN} are shown"),
    };
    let errors = counted(faults.len(), "error");
    print(&format!("{folder}: {errors}{more}\n"))
}

fn summary(folder: &str, program: &Program, parts: &Parts) -> String {
    let mut text = format!("{folder}: no errors by the rules of {}\n", program.name);
    for kind in kinds(program, parts) {
        let on_hand = match (kind.pieces, kind.counted) {
            (0, counted) => format!("{counted} on hand"),
            (pieces, 0) => format!("{pieces} on hand, piece by piece"),
            (pieces, counted) => {
                format!("{pieces} on hand piece by piece, {counted} counted")
            }
        };
        text.push_str(&format!(
            "  {:>6} {} in the catalogue, {on_hand}\n",
            kind.parts, kind.plural
        ));
    }
    text.push_str(&format!("  snapshot {}\n", parts_digest(program, parts)));
    text
}

fn kinds(program: &Program, parts: &Parts) -> Vec<KindCount> {
    let count = |kind| {
        let mut count = KindCount {
            kind: program.parts[kind].name.clone(),
            plural: program.parts[kind].plural.clone(),
            parts: parts.of(kind).len(),
            pieces: 0,
            counted: 0,
        };
        for part in parts.of(kind) {
            match &part.on_hand {
                OnHand::Counted(on_hand) => count.counted += on_hand,
                OnHand::Pieces(pieces) => count.pieces += pieces.len(),
            }
        }
        count
    };
    parts.kinds().map(count).collect()
}

/// Writes the files, if none of them is there.
fn write(out: &Path, files: &[WrittenFile]) -> Result<(), CommandError> {
    let cannot = |path: &Path, why: &dyn std::fmt::Display| {
        CommandError::bad(format!("`{}` cannot be written: {why}", path.display()))
    };
    let there: Vec<String> = files
        .iter()
        .map(|file| out.join(&file.path))
        .filter(|path| path.exists())
        .map(|path| {
            format!(
                "`{}` is there already; nothing is written over",
                path.display()
            )
        })
        .collect();
    if !there.is_empty() {
        return Err(CommandError::BadInput(there));
    }
    for file in files {
        let path = out.join(&file.path);
        let folder = path.parent().unwrap_or(out);
        fs::create_dir_all(folder).map_err(|why| cannot(folder, &why))?;
        let mut opened = fs::File::create_new(&path).map_err(|why| cannot(&path, &why))?;
        let written = opened.write_all(file.text.as_bytes());
        written.map_err(|why| cannot(&path, &why))?;
    }
    Ok(())
}
