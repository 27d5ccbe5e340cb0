//! From folders and files to a workshop, or to every fault of them.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use loftwright_dsl::check::CheckOutput;
use loftwright_dsl::diagnostic::{Severity, render_for_terminal};
use loftwright_dsl::program::Program;
use loftwright_engine::parts::Parts;

use crate::ending::CommandError;
use crate::files::rules_folder::{check_built_in, check_folder};
use crate::files::{FileFault, PartsFiles, built_in, report};
use crate::registry::{Registry, Source, Stock, Workshop, source_of};

/// The ruleset of the program itself that is taken where a request names none.
pub const USUAL_RULESET: &str = "skerry";

/// The stock of the program itself.
pub const DEMO_STOCK: &str = "demo";

/// A checked program with what identifies its source.
#[derive(Clone, Debug)]
pub struct Revision {
    /// The program.
    pub program: Program,
    /// Its exact source.
    pub source: Source,
}

/// The rulesets of folders (the built-in ones where there is none) with their parts, in force.
/// `usual` is the ruleset taken where a request names none.
///
/// # Errors
/// [`CommandError::BadInput`] with every fault.
pub fn registry(
    rules: &[PathBuf],
    parts: Option<&Path>,
    usual: Option<&str>,
) -> Result<Registry, CommandError> {
    let revisions: Vec<Result<Revision, CommandError>> = if rules.is_empty() {
        let names = built_in::ruleset_names().into_iter();
        names.map(|name| revision(None, Some(name))).collect()
    } else {
        rules
            .iter()
            .map(|folder| revision(Some(folder), None))
            .collect()
    };
    let stock = stock(parts)?;
    let rulesets = revisions
        .into_iter()
        .map(|revision| {
            let Revision { program, source } = revision?;
            let ruleset = stock.ruleset(program, source);
            ruleset.map_err(|faults| file_faults(&faults))
        })
        .collect();
    let rulesets = all_or_every_fault(rulesets)?;
    let names: Vec<&str> = rulesets
        .iter()
        .map(|one| one.program.name.as_str())
        .collect();
    if let Some(twice) = names
        .iter()
        .find(|name| names.iter().filter(|other| other == name).count() > 1)
    {
        return Err(CommandError::bad(format!(
            "two folders hold a ruleset `{twice}`"
        )));
    }
    if let Some(usual) = usual.filter(|usual| !names.contains(usual)) {
        return Err(CommandError::bad(format!(
            "no ruleset `{usual}` is among `{}`",
            names.join("`, `")
        )));
    }
    let usual = usual.or(rules.is_empty().then_some(USUAL_RULESET));
    let usual = usual.map(str::to_owned);
    // Cases may name the built-in stocks wherever they run, and the one of the start.
    let of_cases = built_in::parts_names().into_iter().map(stock_of_built_in);
    let of_cases = of_cases.chain([Ok(stock.clone())]);
    let of_cases = of_cases.collect::<Result<_, _>>()?;
    let workshop = Workshop::new(rulesets, usual, stock);
    Ok(Registry::new(workshop, of_cases))
}

/// The values, or the faults of all that failed; a fault of ours goes first.
fn all_or_every_fault<T>(results: Vec<Result<T, CommandError>>) -> Result<Vec<T>, CommandError> {
    let mut values = Vec::new();
    let mut faults = Vec::new();
    for result in results {
        match result {
            Ok(value) => values.push(value),
            Err(CommandError::BadInput(more)) => faults.extend(more),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() {
        Ok(values)
    } else {
        Err(CommandError::BadInput(faults))
    }
}

/// The checked program of a folder, or of a built-in ruleset. `wanted` is the ruleset that the
/// player is to be fitted by, where he says so.
///
/// # Errors
/// [`CommandError::BadInput`]: the folder cannot be read, has errors, or holds another ruleset.
pub fn revision(folder: Option<&Path>, wanted: Option<&str>) -> Result<Revision, CommandError> {
    let output = match folder {
        Some(folder) => check_folder(folder),
        None => check_built_in(wanted.unwrap_or(USUAL_RULESET)),
    };
    let output = output.map_err(|faults| file_faults(&faults))?;
    let shown = folder.map_or_else(
        || "the program".to_owned(),
        |folder| folder.display().to_string(),
    );
    match (&output.program, wanted) {
        (Some(program), Some(wanted)) if program.name != wanted => Err(CommandError::bad(format!(
            "the player is to be fitted by the ruleset `{wanted}`; `{shown}` holds `{}`",
            program.name
        ))),
        (Some(program), _) => Ok(Revision {
            program: program.clone(),
            source: source_of(&output.folder),
        }),
        (None, _) => Err(findings(&output)),
    }
}

/// The errors of a check, as a command's fault.
pub fn findings(output: &CheckOutput) -> CommandError {
    let errors: Vec<_> = output
        .diagnostics
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .cloned()
        .collect();
    let text = render_for_terminal(&output.folder, &errors, false);
    CommandError::BadInput(vec![format!(
        "{}\n\n{} errors in the rules",
        text.trim_end(),
        errors.len()
    )])
}

/// The stock of a folder, or of the program itself.
///
/// # Errors
/// [`CommandError::BadInput`] with every fault.
pub fn stock(folder: Option<&Path>) -> Result<Stock, CommandError> {
    let Some(folder) = folder else {
        return stock_of_built_in(DEMO_STOCK);
    };
    let files = PartsFiles::of_folder(folder);
    Ok(Stock {
        name: name_of(folder),
        files: files.map_err(|faults| file_faults(&faults))?,
        as_of: last_change(folder),
    })
}

/// A stock of the program itself, by its name.
///
/// # Errors
/// [`CommandError::BadInput`] where there is none of the name.
pub fn stock_of_built_in(name: &str) -> Result<Stock, CommandError> {
    let files = PartsFiles::of_built_in(name).map_err(|faults| file_faults(&faults))?;
    Ok(Stock {
        name: name.to_owned(),
        files,
        as_of: None,
    })
}

/// The parts of a folder, or of the program itself, read against a program.
///
/// # Errors
/// [`CommandError::BadInput`] with every fault.
pub fn parts(program: &Program, folder: Option<&Path>) -> Result<Parts, CommandError> {
    let files = stock(folder)?.files;
    files.parts(program).map_err(|faults| file_faults(&faults))
}

fn name_of(folder: &Path) -> String {
    let followed = folder
        .canonicalize()
        .unwrap_or_else(|_| folder.to_path_buf());
    let name = followed.file_name().unwrap_or(followed.as_os_str());
    name.to_string_lossy().into_owned()
}

/// When the stock of a parts folder was last changed: the youngest of its files.
fn last_change(folder: &Path) -> Option<SystemTime> {
    std::fs::read_dir(folder.join("stock"))
        .ok()?
        .filter_map(|entry| entry.ok()?.metadata().ok()?.modified().ok())
        .max()
}

/// The faults of files as a command's.
pub fn file_faults(faults: &[FileFault]) -> CommandError {
    CommandError::BadInput(report(faults))
}
