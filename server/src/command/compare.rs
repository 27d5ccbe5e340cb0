//! `compare`: what two versions of a folder of rules differ in.

use std::path::{Path, PathBuf};

use clap::Args;
use loftwright_dsl::analysis::{
    Change, Comparison, How, LineChange, MOST_REGIONS_SHOWN, OutcomeSide, RegionChange, Version,
    compare,
};
use loftwright_dsl::check::CheckOutput;

use super::output::{is_coloured, print, print_json};
use crate::ending::{CommandError, Ended};
use crate::files::rules_folder::check_folder;
use crate::load;
use crate::sheet::text::Writer;

/// What `compare` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The folder of the old version
    #[arg(value_name = "OLD")]
    old: PathBuf,
    /// The folder of the new version
    #[arg(value_name = "NEW")]
    new: PathBuf,
    /// One JSON document of the same
    #[arg(long)]
    json: bool,
}

/// Compares two folders; they differ where the rules decide otherwise or read otherwise.
///
/// # Errors
/// [`CommandError::BadInput`] where a folder cannot be read or its rules have errors; both are
/// looked at.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let (old, new) = both(&arguments.old, &arguments.new)?;
    let (Some(old_program), Some(new_program)) = (&old.program, &new.program) else {
        return Err(CommandError::own("rules without errors have no program"));
    };
    let old = Version {
        program: old_program,
        folder: &old.folder,
    };
    let new = Version {
        program: new_program,
        folder: &new.folder,
    };
    let comparison = compare(old, new, MOST_REGIONS_SHOWN);
    if arguments.json {
        print_json(&comparison)?;
    } else {
        print(&page(arguments, &comparison, is_coloured()))?;
    }
    if comparison.same_meaning && comparison.same_text {
        Ok(Ended::Answered)
    } else {
        Ok(Ended::WithFindings)
    }
}

/// Both folders checked, or the faults of both.
fn both(old: &Path, new: &Path) -> Result<(CheckOutput, CheckOutput), CommandError> {
    let checked = |folder: &Path| {
        let output = check_folder(folder).map_err(|faults| load::file_faults(&faults))?;
        match output.program {
            Some(_) => Ok(output),
            None => Err(load::findings(&output)),
        }
    };
    match (checked(old), checked(new)) {
        (Ok(old), Ok(new)) => Ok((old, new)),
        (Err(CommandError::BadInput(mut faults)), Err(CommandError::BadInput(more))) => {
            faults.extend(more);
            Err(CommandError::BadInput(faults))
        }
        (Err(error), _) | (_, Err(error)) => Err(error),
    }
}

/// What the two differ in, for a reader.
fn page(arguments: &Arguments, comparison: &Comparison, is_coloured: bool) -> String {
    let mut writer = Writer::new(is_coloured);
    for (word, folder, version) in [
        ("was", &arguments.old, &comparison.old),
        ("now", &arguments.new, &comparison.new),
    ] {
        let digest: String = version.meaning.chars().take(12).collect();
        let (folder, title) = (folder.display(), &version.title);
        writer.line(&format!("{word}  {folder}  \"{title}\"  meaning {digest}"));
    }
    writer.line("");
    writer.line(&verdict(comparison));
    for change in &comparison.changes {
        one_change(&mut writer, change);
    }
    writer.into_text()
}

fn verdict(comparison: &Comparison) -> String {
    let count = |how: How| {
        let of_kind = |change: &&Change| change.how == how;
        comparison.changes.iter().filter(of_kind).count()
    };
    match (comparison.same_meaning, comparison.same_text) {
        (true, true) => "the same meaning, the same text".to_owned(),
        (true, false) => "the same meaning; only what people read is another".to_owned(),
        _ => format!(
            "another meaning: {} changed, {} added, {} removed, {} reworded",
            count(How::Changed),
            count(How::Added),
            count(How::Removed),
            count(How::Reworded)
        ),
    }
}

fn one_change(writer: &mut Writer, change: &Change) {
    let how = match change.how {
        How::Added => "added",
        How::Removed => "removed",
        How::Changed => "changed",
        How::Reworded => "reworded, decides as before",
    };
    writer.section(&format!("{} {}: {how}", change.kind, change.name));
    for line in &change.lines {
        one_line(writer, line);
    }
    if let Some(why) = &change.not_by_regions {
        writer.paragraph("  ", &format!("not compared region by region: {why}"));
    }
    for region in &change.regions {
        one_region(writer, region);
    }
    match change.more_regions {
        0 => {}
        1 => writer.line("  and 1 region more"),
        more => writer.line(&format!("  and {more} regions more")),
    }
    if !change.dependents.is_empty() {
        writer.paragraph("  these depend on it: ", &change.dependents.join(", "));
    }
}

fn one_line(writer: &mut Writer, line: &LineChange) {
    let what = line.what;
    if let Some(old) = &line.old {
        writer.indented(&format!("  was  {what} "), 9, old);
    }
    if let Some(new) = &line.new {
        writer.indented(&format!("  now  {what} "), 9, new);
    }
}

fn one_region(writer: &mut Writer, region: &RegionChange) {
    let conditions: Vec<String> = region
        .conditions
        .iter()
        .map(|named| format!("{} {}", named.name, named.text))
        .collect();
    let wherever = match conditions.as_slice() {
        [] => "everywhere".to_owned(),
        conditions => format!("where {}", conditions.join(" and ")),
    };
    writer.paragraph("  ", &format!("{wherever}, such as for {}:", region.player));
    one_side(writer, "was", &region.old, &region.new);
    one_side(writer, "now", &region.new, &region.old);
}

/// The outcome of one version with the rows that the other does not have, or with all of them where
/// they are the same.
fn one_side(writer: &mut Writer, word: &str, side: &OutcomeSide, other: &OutcomeSide) {
    let is_same = side.rows == other.rows;
    let rows: Vec<String> = side
        .rows
        .iter()
        .filter(|row| is_same || !other.rows.contains(row))
        .map(|row| {
            let number = match row.row {
                Some(number) => format!("table {}, row {number} `{}`", row.table, row.text),
                None => format!("table {}, {}", row.table, row.text),
            };
            match &row.because {
                Some(because) => format!("{number} because \"{because}\""),
                None => number,
            }
        })
        .collect();
    let by = match rows.as_slice() {
        [] => String::new(),
        rows => format!(" by {}", rows.join("; ")),
    };
    writer.indented(&format!("    {word} "), 8, &format!("{}{by}", side.outcome));
}
