//! A folder of rules with the layers below it, from disk or built in.
//!
//! `builds on NAME` is the folder NAME beside the one that says so, else a built-in ruleset. The
//! engine's contract lies under them all. What an editor holds unsaved stands in for the disk.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use loftwright_dsl::check::{CheckOutput, LayerSource, builds_on, check};
use loftwright_engine::intake::{nearest, quoted};
use loftwright_engine::{CONTRACT_RULES, CONTRACT_VERSION};

use super::built_in;
use super::disk::read_folder;
use super::fault::{FileFault, FileFaultKind};
use super::limits::{LARGEST_RULES_FILE_BYTES, MOST_LAYERS};
use super::text_file::TextFile;
use crate::registry::CONTRACT_LAYER;

/// Texts that stand in for what is on disk, by their paths: an editor's unsaved files.
pub type Unsaved = BTreeMap<PathBuf, String>;

/// Layers with the folders they come from.
#[derive(Clone, Debug, Default)]
pub struct FoundLayers {
    /// The contract first, the folder's own last.
    pub layers: Vec<LayerSource>,
    /// The folder of each; none of what is built in.
    pub folders: Vec<Option<PathBuf>>,
}

/// The layers of the ruleset in a folder: the contract first, the folder's own last.
///
/// # Errors
/// What cannot be read, or is not there. What is wrong in the rules is the checker's to say.
pub fn layers_of_folder(folder: &Path) -> Result<Vec<LayerSource>, Vec<FileFault>> {
    Ok(find_layers(folder, &Unsaved::new())?.layers)
}

/// As [`layers_of_folder`], with unsaved texts and with the folders of the layers.
///
/// # Errors
/// As [`layers_of_folder`].
pub fn find_layers(folder: &Path, unsaved: &Unsaved) -> Result<FoundLayers, Vec<FileFault>> {
    let house = layer_on_disk(folder, unsaved)?;
    layers_below(house, Place::Folder(folder.to_path_buf()), unsaved)
}

/// The layers of a built-in ruleset: the contract first, its own last.
///
/// # Errors
/// Where there is none of the name.
pub fn layers_of_built_in(name: &str) -> Result<Vec<LayerSource>, Vec<FileFault>> {
    let Some(house) = layer_built_in(name) else {
        let names = built_in::ruleset_names();
        let near = nearest(name, names.iter().copied());
        let message = format!(
            "there is no built-in ruleset {}; {}",
            quoted(name),
            built_in_text(near)
        );
        return Err(vec![FileFault::of_file(
            FileFaultKind::NotFound,
            name,
            message,
        )]);
    };
    Ok(layers_below(house, Place::BuiltIn, &Unsaved::new())?.layers)
}

/// The layers of a ruleset that somebody sent, the contract first, its own last.
///
/// `below` are the layers sent with it; one that is not among them is the built-in one.
///
/// # Errors
/// A layer that is not there; one that was sent and that nothing builds on.
pub fn layers_of_sent(
    house: LayerSource,
    below: Vec<LayerSource>,
) -> Result<Vec<LayerSource>, Vec<FileFault>> {
    let names: Vec<String> = below.iter().map(|layer| layer.name.clone()).collect();
    let layers = layers_below(house, Place::Sent(below), &Unsaved::new())?.layers;
    let unused: Vec<FileFault> = names
        .iter()
        .filter(|name| !layers.iter().any(|layer| layer.name == **name))
        .map(|name| {
            let message = "was sent, and nothing that was sent builds on it";
            FileFault::of_file(FileFaultKind::UnknownName, name.as_str(), message)
        })
        .collect();
    if unused.is_empty() {
        Ok(layers)
    } else {
        Err(unused)
    }
}

/// Reads and checks the ruleset in a folder.
///
/// # Errors
/// As [`layers_of_folder`]; the checker's findings are in the output.
pub fn check_folder(folder: &Path) -> Result<CheckOutput, Vec<FileFault>> {
    Ok(check(&layers_of_folder(folder)?, CONTRACT_VERSION))
}

/// Checks a built-in ruleset.
///
/// # Errors
/// As [`layers_of_built_in`]; the checker's findings are in the output.
pub fn check_built_in(name: &str) -> Result<CheckOutput, Vec<FileFault>> {
    Ok(check(&layers_of_built_in(name)?, CONTRACT_VERSION))
}

/// Where a layer came from, and so where to look for the one below.
enum Place {
    Folder(PathBuf),
    /// Sent with it: the layers that were.
    Sent(Vec<LayerSource>),
    BuiltIn,
}

impl Place {
    fn folder(&self) -> Option<PathBuf> {
        match self {
            Place::Folder(folder) => Some(folder.clone()),
            Place::Sent(_) | Place::BuiltIn => None,
        }
    }
}

fn layers_below(
    house: LayerSource,
    mut place: Place,
    unsaved: &Unsaved,
) -> Result<FoundLayers, Vec<FileFault>> {
    let mut below = builds_on(&house);
    let mut layers = vec![house];
    let mut folders = vec![place.folder()];
    while let Some(name) = below {
        let upper = layers.last().map_or("", |layer| layer.name.as_str());
        let names = layers.iter().map(|layer| layer.name.as_str());
        if names.clone().any(|above| above == name) {
            let path: Vec<_> = names.chain([name.as_str()]).map(quoted).collect();
            let message = format!(
                "rulesets build on each other in a circle: {}",
                path.join(" builds on ")
            );
            return Err(vec![FileFault::of_file(
                FileFaultKind::Circle,
                upper,
                message,
            )]);
        }
        if layers.len() >= MOST_LAYERS {
            let message = format!("at most {MOST_LAYERS} rulesets may build on each other");
            return Err(vec![FileFault::of_file(
                FileFaultKind::TooMany,
                upper,
                message,
            )]);
        }
        let (layer, layer_place) = layer_named(upper, &name, place, unsaved)?;
        below = builds_on(&layer);
        place = layer_place;
        folders.push(place.folder());
        layers.push(layer);
    }
    layers.push(LayerSource {
        name: CONTRACT_LAYER.to_owned(),
        files: vec![("contract.rules".to_owned(), CONTRACT_RULES.to_owned())],
    });
    folders.push(None);
    layers.reverse();
    folders.reverse();
    Ok(FoundLayers { layers, folders })
}

/// The layer of the name, below one that came from `place`.
fn layer_named(
    upper: &str,
    name: &str,
    place: Place,
    unsaved: &Unsaved,
) -> Result<(LayerSource, Place), Vec<FileFault>> {
    match place {
        Place::Folder(folder) => {
            let beside = folder_beside(&folder, name);
            if beside.is_dir() {
                let mut layer = layer_on_disk(&beside, unsaved)?;
                // It is looked up by its folder's name, so that is its name among the layers.
                name.clone_into(&mut layer.name);
                return Ok((layer, Place::Folder(beside)));
            }
        }
        Place::Sent(mut sent) => {
            if let Some(place) = sent.iter().position(|layer| layer.name == name) {
                let layer = sent.swap_remove(place);
                return Ok((layer, Place::Sent(sent)));
            }
        }
        Place::BuiltIn => {}
    }
    if let Some(layer) = layer_built_in(name) {
        return Ok((layer, Place::BuiltIn));
    }
    let near = nearest(name, built_in::ruleset_names());
    let message = format!(
        "builds on {}, which is neither beside it nor built in; {}",
        quoted(name),
        built_in_text(near)
    );
    let kind = FileFaultKind::NoSuchRuleset;
    Err(vec![FileFault::of_file(kind, upper, message)])
}

/// The path beside a folder. Of `.` and `..` the name is only known once they are followed.
fn folder_beside(folder: &Path, name: &str) -> PathBuf {
    let followed = match folder.file_name() {
        Some(_) => folder.to_path_buf(),
        None => folder
            .canonicalize()
            .unwrap_or_else(|_| folder.to_path_buf()),
    };
    followed
        .parent()
        .map_or_else(|| PathBuf::from(name), |parent| parent.join(name))
}

/// Whether a file of that name belongs to a ruleset's folder.
pub fn is_rules_file(name: &str) -> bool {
    name.ends_with(".rules") && !name.starts_with('.')
}

/// The files of a folder of rules, without the layers below it.
///
/// # Errors
/// What cannot be read; a folder without rules.
pub fn rules_files(folder: &Path) -> Result<Vec<TextFile>, Vec<FileFault>> {
    rules_files_with(folder, &Unsaved::new())
}

fn rules_files_with(folder: &Path, unsaved: &Unsaved) -> Result<Vec<TextFile>, Vec<FileFault>> {
    let is_on_disk = |name: &str| is_rules_file(name) && !unsaved.contains_key(&folder.join(name));
    let mut files = read_folder(folder, "", LARGEST_RULES_FILE_BYTES, is_on_disk)?;
    files.extend(unsaved_files(folder, unsaved));
    files.sort();
    if files.is_empty() {
        let shown = folder.display().to_string();
        let message = "holds no `*.rules` file (its subfolders are not read)";
        return Err(vec![FileFault::of_file(
            FileFaultKind::NoRules,
            shown,
            message,
        )]);
    }
    Ok(files)
}

fn layer_on_disk(folder: &Path, unsaved: &Unsaved) -> Result<LayerSource, Vec<FileFault>> {
    let files = rules_files_with(folder, unsaved)?;
    let named = folder
        .canonicalize()
        .unwrap_or_else(|_| folder.to_path_buf());
    let folder_name = named
        .file_name()
        .map(|name| name.to_string_lossy().into_owned());
    let name = declared_name(&files).or(folder_name).unwrap_or_default();
    Ok(layer_of(name, files))
}

fn unsaved_files(folder: &Path, unsaved: &Unsaved) -> Vec<TextFile> {
    let own = unsaved
        .iter()
        .filter(|(path, _)| path.parent() == Some(folder));
    own.filter_map(|(path, text)| {
        let name = path.file_name()?.to_str()?;
        is_rules_file(name).then(|| TextFile {
            path: name.to_owned(),
            shown: path.display().to_string(),
            text: text.clone(),
        })
    })
    .collect()
}

fn layer_built_in(name: &str) -> Option<LayerSource> {
    Some(layer_of(name.to_owned(), built_in::rules_files(name)?))
}

fn layer_of(name: String, files: Vec<TextFile>) -> LayerSource {
    let files = files.into_iter().map(|file| (file.shown, file.text));
    LayerSource {
        name,
        files: files.collect(),
    }
}

/// The name on the `ruleset` line, which begins in column 1.
fn declared_name(files: &[TextFile]) -> Option<String> {
    files
        .iter()
        .flat_map(|file| file.text.lines())
        .find_map(|line| line.strip_prefix("ruleset ")?.split_whitespace().next())
        .map(str::to_owned)
}

fn built_in_text(near: Option<&str>) -> String {
    let names: Vec<_> = built_in::ruleset_names().into_iter().map(quoted).collect();
    let near = near.map_or_else(String::new, |near| {
        format!("; did you mean {}?", quoted(near))
    });
    format!("built in are {}{near}", names.join(", "))
}
