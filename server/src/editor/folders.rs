//! A ruleset's folder as it stands in the editor: checked with what is unsaved, and indexed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use loftwright_dsl::diagnostic::Diagnostic;
use loftwright_dsl::index::{Index, index};
use loftwright_dsl::syntax::{FileId, Span};
use loftwright_engine::CONTRACT_VERSION;
use lsp_types::{Location, Range, Uri};

use super::documents::{Document, uri_of};
use super::positions::{Encoding, Lines, line_starts};
use crate::files::FileFault;
use crate::files::rules_folder::{Unsaved, find_layers};

/// A folder with an open file.
#[derive(Debug, Default)]
pub(super) struct Folder {
    /// What the last check came to; none before the first.
    pub(super) state: Option<Result<Checked, Vec<FileFault>>>,
    /// Whether something has changed since.
    pub(super) is_stale: bool,
    /// Whether what came out is not published yet.
    pub(super) is_unpublished: bool,
    /// Whether the cases are to be run: after a save, not while somebody types.
    pub(super) wants_cases: bool,
    /// What the client was last told of each file.
    pub(super) published: BTreeMap<PathBuf, Vec<lsp_types::Diagnostic>>,
}

/// A file of a layer that is on disk.
#[derive(Clone, Debug)]
pub(super) struct OnDisk {
    /// Its path.
    pub(super) path: PathBuf,
    /// Its address, as the client writes it where it is open.
    pub(super) uri: Uri,
}

/// A folder that could be read, with its layers.
#[derive(Debug)]
pub(super) struct Checked {
    /// The names and findings.
    pub(super) index: Index,
    /// What the cases came to, where they were run.
    pub(super) case_findings: Vec<Diagnostic>,
    /// The folder of the ruleset itself.
    pub(super) folder: PathBuf,
    files: BTreeMap<FileId, OnDisk>,
    /// Where the lines of each file begin.
    starts: BTreeMap<FileId, Vec<usize>>,
    encoding: Encoding,
}

impl Checked {
    /// Reads and checks the ruleset in a folder; what is open stands in for the disk.
    ///
    /// # Errors
    /// What cannot be read, or is not there.
    pub(super) fn of_folder(
        folder: &Path,
        documents: &BTreeMap<PathBuf, Document>,
        encoding: Encoding,
    ) -> Result<Self, Vec<FileFault>> {
        let open = documents.iter();
        let unsaved: Unsaved = open
            .map(|(path, document)| (path.clone(), document.text.clone()))
            .collect();
        let found = find_layers(folder, &unsaved)?;
        let index = index(&found.layers, CONTRACT_VERSION);
        // The files of the index are those of the layers, in the same order.
        let paths = found
            .layers
            .iter()
            .zip(&found.folders)
            .flat_map(|(layer, folder)| {
                layer.files.iter().map(move |(shown, _)| {
                    Some(folder.as_ref()?.join(Path::new(shown).file_name()?))
                })
            });
        let files = index.folder.ids().zip(paths).filter_map(|(file, path)| {
            let path = path?;
            let open = documents.get(&path).map(|document| document.uri.clone());
            let uri = open.or_else(|| uri_of(&path))?;
            Some((file, OnDisk { path, uri }))
        });
        let texts = index.folder.entries();
        let starts = texts.map(|(file, source)| (file, line_starts(&source.text)));
        Ok(Checked {
            files: files.collect(),
            starts: starts.collect(),
            index,
            case_findings: Vec::new(),
            folder: folder.to_path_buf(),
            encoding,
        })
    }

    /// The files of the ruleset itself.
    pub(super) fn own_files(&self) -> impl Iterator<Item = (FileId, &OnDisk)> {
        let files = self.files.iter().map(|(file, found)| (*file, found));
        files.filter(|(_, found)| found.path.parent() == Some(self.folder.as_path()))
    }

    /// The file of a path.
    pub(super) fn file_of(&self, path: &Path) -> Option<FileId> {
        let mut files = self.files.iter();
        files
            .find(|(_, found)| found.path == path)
            .map(|(file, _)| *file)
    }

    /// A file on disk; none of a layer that is built in.
    pub(super) fn on_disk(&self, file: FileId) -> Option<&OnDisk> {
        self.files.get(&file)
    }

    /// The lines of a file.
    pub(super) fn lines(&self, file: FileId) -> Lines<'_> {
        let starts = self.starts.get(&file).map_or(&[0][..], Vec::as_slice);
        Lines::known(&self.index.folder[file].text, starts, self.encoding)
    }

    /// A place as the editor counts it.
    pub(super) fn range(&self, span: Span) -> Range {
        self.lines(span.file).range(span.start, span.end)
    }

    /// A place with its file; none in a layer that is built in.
    pub(super) fn location(&self, span: Span) -> Option<Location> {
        let uri = self.on_disk(span.file)?.uri.clone();
        Some(Location::new(uri, self.range(span)))
    }
}
