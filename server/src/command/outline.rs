//! `outline`: the decision graph and the vocabulary of a folder, as a page, a picture or data.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_dsl::outline::{markdown, outline, svg};

use super::output::{print, print_json};
use crate::ending::{CommandError, Ended};
use crate::files::rules_folder::check_folder;
use crate::load;

/// What `outline` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folder of rules
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Where the page goes, in Markdown; `-` is standard output, as where nothing is asked for
    #[arg(long, value_name = "FILE")]
    markdown: Option<PathBuf>,
    /// Where the picture of the decision graph goes, in SVG; `-` is standard output
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Prints all of it as JSON
    #[arg(long)]
    json: bool,
}

/// Writes the outline in the forms that are asked for.
///
/// # Errors
/// [`CommandError::BadInput`] where the folder cannot be read, its rules have errors, two forms
/// would go to standard output, or a file cannot be written.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let asks_for_nothing =
        arguments.markdown.is_none() && arguments.svg.is_none() && !arguments.json;
    let is_printed = |path: &Option<PathBuf>| path.as_deref() == Some(Path::new("-"));
    let printed = [
        arguments.json,
        is_printed(&arguments.markdown),
        is_printed(&arguments.svg),
    ];
    if printed.iter().filter(|is_printed| **is_printed).count() > 1 {
        return Err(CommandError::bad(
            "only one of `--json`, `--markdown -` and `--svg -` can go to standard output",
        ));
    }
    let output = check_folder(&arguments.folder).map_err(|faults| load::file_faults(&faults))?;
    let Some(program) = &output.program else {
        return Err(load::findings(&output));
    };
    let outline = outline(program, &output.folder);
    let mut faults = Vec::new();
    for (path, text) in [
        (&arguments.markdown, &markdown as &dyn Fn(&_) -> String),
        (&arguments.svg, &svg),
    ] {
        match path.as_deref() {
            None => {}
            Some(path) if path == Path::new("-") => print(&text(&outline))?,
            Some(path) => faults.extend(write(path, &text(&outline))),
        }
    }
    if !faults.is_empty() {
        return Err(CommandError::BadInput(faults));
    }
    if arguments.json {
        print_json(&outline)?;
    }
    if asks_for_nothing {
        print(&markdown(&outline))?;
    }
    Ok(Ended::Answered)
}

/// Writes a file; the fault, where it cannot be written.
fn write(path: &Path, text: &str) -> Option<String> {
    let why = fs::write(path, text).err()?;
    Some(format!("cannot write `{}`: {why}", path.display()))
}
