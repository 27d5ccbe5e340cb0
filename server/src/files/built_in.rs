//! What the program carries with it: the trade's practice, the demo's house, its parts and players.
//!
//! Everything below `rulesets/` is embedded. A folder with `*.rules` is a ruleset; one with
//! `catalogue/` is a parts folder; `players/` beside that holds its players.

use std::path::Path;

use include_dir::{Dir, include_dir};

use super::parts_folder::{CATALOGUE, STOCK};
use super::text_file::TextFile;

static EMBEDDED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../rulesets");

/// The names of the built-in rulesets, sorted.
pub fn ruleset_names() -> Vec<&'static str> {
    folders_that(|folder| folder.files().any(|file| is_rules(file.path())))
}

/// The names of the built-in parts folders, sorted.
pub fn parts_names() -> Vec<&'static str> {
    folders_that(|folder| has_folder(folder, CATALOGUE))
}

/// The files of a built-in ruleset, sorted by name.
pub fn rules_files(name: &str) -> Option<Vec<TextFile>> {
    let folder = folder_named(&EMBEDDED, name)?;
    let mut files = files_of(folder, "");
    files.retain(|file| is_rules(Path::new(&file.path)));
    (!files.is_empty()).then_some(files)
}

/// The files of a built-in parts folder, sorted by path.
pub fn parts_files(name: &str) -> Option<Vec<TextFile>> {
    let folder = folder_named(&EMBEDDED, name).filter(|folder| has_folder(folder, CATALOGUE))?;
    let mut files = Vec::new();
    for side in [CATALOGUE, STOCK] {
        if let Some(side_folder) = folder_named(folder, side) {
            files.extend(files_of(side_folder, &format!("{side}/")));
        }
    }
    Some(files)
}

/// The player files beside a built-in parts folder, sorted by name.
pub fn player_files(name: &str) -> Vec<TextFile> {
    let players = folder_named(&EMBEDDED, name).and_then(|folder| folder_named(folder, "players"));
    let mut files = players.map_or_else(Vec::new, |folder| files_of(folder, ""));
    files.retain(|file| file.path.ends_with(".toml"));
    files
}

fn folders_that(is_wanted: impl Fn(&'static Dir<'static>) -> bool) -> Vec<&'static str> {
    let mut names: Vec<_> = EMBEDDED
        .dirs()
        .filter(|folder| is_wanted(folder))
        .filter_map(|folder| folder.path().to_str())
        .collect();
    names.sort_unstable();
    names
}

/// The folder directly inside another; a name with a `/` in it is none.
fn folder_named(inside: &'static Dir<'static>, name: &str) -> Option<&'static Dir<'static>> {
    inside
        .dirs()
        .find(|folder| folder.path().file_name().is_some_and(|own| own == name))
}

fn has_folder(folder: &'static Dir<'static>, name: &str) -> bool {
    folder_named(folder, name).is_some()
}

fn files_of(folder: &'static Dir<'static>, prefix: &str) -> Vec<TextFile> {
    let mut files: Vec<_> = folder
        .files()
        .filter_map(|file| {
            let name = file.path().file_name()?.to_str()?;
            Some(TextFile {
                path: format!("{prefix}{name}"),
                shown: file.path().to_str()?.to_owned(),
                text: file.contents_utf8()?.to_owned(),
            })
        })
        .collect();
    files.sort();
    files
}

fn is_rules(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "rules")
}
