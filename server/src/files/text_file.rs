//! A file that was read: the same from disk and from the program itself.

use super::parts_folder::STOCK;

/// A file's text with its names.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TextFile {
    /// The path inside its folder, parted by `/`: `catalogue/heads.toml`.
    pub path: String,
    /// The name that people are shown.
    pub shown: String,
    /// The text.
    pub text: String,
}

impl TextFile {
    /// The folder of the path and the file's name: `catalogue` and `heads.toml`.
    pub fn folder_and_name(&self) -> (&str, &str) {
        self.path.rsplit_once('/').unwrap_or(("", &self.path))
    }

    /// Whether it holds the stock of a kind of that name and plural.
    pub(crate) fn is_stock_of(&self, name: &str, plural: &str) -> bool {
        let (folder, file) = self.folder_and_name();
        let (stem, _) = stem_and_ending(file);
        folder == STOCK && (stem == name || stem == plural)
    }
}

/// The stem and the ending of a file's name: `heads` and `toml`.
pub(super) fn stem_and_ending(name: &str) -> (&str, &str) {
    name.rsplit_once('.').unwrap_or((name, ""))
}

/// Whether a file is none of ours and left alone: hidden ones, an editor's copies, notes.
pub(super) fn is_left_alone(name: &str) -> bool {
    let (_, ending) = stem_and_ending(name);
    name.starts_with('.') || name.ends_with('~') || ["md", "txt", "bak", "orig"].contains(&ending)
}
