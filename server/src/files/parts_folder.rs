//! A parts folder: `catalogue/` with the parts, `stock/` with pieces and counts, a file for each
//! kind.
//!
//! A file is named after its kind, in the plural or singular (`heads.toml`, `shaft.csv`). TOML has
//! a table for each record (`[[head]]`), settings nested in it; CSV has a row of column names, then
//! a row for each record, an empty cell where something is left out, and records of a list in a
//! file of their own (`heads.settings.csv`).

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use loftwright_dsl::diagnostic::Lines;
use loftwright_dsl::program::Program;
use loftwright_engine::intake::{PartsText, RecordText, Side, quoted, read_parts};
use loftwright_engine::parts::Parts;

use super::fault::{FileFault, FileFaultKind};
use super::limits::LARGEST_PARTS_FILE_BYTES;
use super::parts_kind::part_of_stem;
use super::parts_list::{ListFile, join, list_of_stem};
use super::parts_places::{Records, merged};
use super::text_file::{TextFile, is_left_alone, stem_and_ending};
use super::{built_in, disk, parts_csv, parts_list, parts_toml};

/// The folder of the parts.
pub(super) const CATALOGUE: &str = "catalogue";
/// The folder of pieces and counts.
pub(super) const STOCK: &str = "stock";

/// The files of a parts folder, not yet read against rules.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartsFiles {
    files: Vec<TextFile>,
}

impl PartsFiles {
    /// Reads the files of a parts folder from disk. `stock/` may be missing: nothing is on hand.
    ///
    /// # Errors
    /// Everything that cannot be read or is too large.
    pub fn of_folder(folder: &Path) -> Result<Self, Vec<FileFault>> {
        let shown = folder.display().to_string();
        let names = disk::names_in(folder, &shown)?;
        let mut files = Vec::new();
        let mut faults = Vec::new();
        for side in [CATALOGUE, STOCK] {
            if !names.iter().any(|name| name == side) {
                if side == CATALOGUE {
                    let message = "holds no folder `catalogue`, where the parts stand";
                    let kind = FileFaultKind::NotFound;
                    faults.push(FileFault::of_file(kind, shown.as_str(), message));
                }
                continue;
            }
            let prefix = format!("{side}/");
            let is_wanted = |name: &str| !is_left_alone(name);
            let path = folder.join(side);
            match disk::read_folder(&path, &prefix, LARGEST_PARTS_FILE_BYTES, is_wanted) {
                Ok(side_files) => files.extend(side_files),
                Err(side_faults) => faults.extend(side_faults),
            }
        }
        if faults.is_empty() {
            Ok(PartsFiles::of(files))
        } else {
            Err(faults)
        }
    }

    /// The files of a built-in parts folder.
    ///
    /// # Errors
    /// Where there is none of the name.
    pub fn of_built_in(name: &str) -> Result<Self, Vec<FileFault>> {
        built_in::parts_files(name)
            .map(PartsFiles::of)
            .ok_or_else(|| {
                let names: Vec<_> = built_in::parts_names().into_iter().map(quoted).collect();
                let sent = quoted(name);
                let message = format!(
                    "there are no built-in parts {sent}; there are {}",
                    names.join(", ")
                );
                vec![FileFault::of_file(FileFaultKind::NotFound, name, message)]
            })
    }

    /// Files that are at hand, with paths such as `catalogue/heads.toml`.
    ///
    /// A byte order mark is passed over, here once for all: places are counted without it.
    pub fn of(mut files: Vec<TextFile>) -> Self {
        for file in &mut files {
            if let Some(text) = file.text.strip_prefix('\u{feff}') {
                file.text = text.to_owned();
            }
        }
        PartsFiles { files }
    }

    /// The files, as they are read.
    pub fn files(&self) -> &[TextFile] {
        &self.files
    }

    /// Whether both have the same files, wherever they came from.
    pub fn says_the_same(&self, other: &Self) -> bool {
        let contents = |files: &Self| -> BTreeMap<String, String> {
            let files = files.files.iter();
            files
                .map(|file| (file.path.clone(), file.text.clone()))
                .collect()
        };
        contents(self) == contents(other)
    }

    /// Reads catalogue and stock against the rules' `part` declarations.
    ///
    /// # Errors
    /// Every fault of form and values, by file; the same fault of many records once, with the
    /// number of them.
    pub fn parts(&self, program: &Program) -> Result<Parts, Vec<FileFault>> {
        let mut reader = PartsReader::default();
        for file in &self.files {
            reader.read_file(program, file);
        }
        join(reader.lists, &mut reader.catalogue, &mut reader.records);
        let text = PartsText {
            catalogue: reader.catalogue,
            stock: reader.stock,
        };
        let mut faults = reader.records.faults;
        let said: BTreeSet<_> = reader.records.said;
        match read_parts(program, &text) {
            Ok(parts) if faults.is_empty() => return Ok(parts),
            Ok(_) => {}
            Err(of_values) => faults.extend(
                of_values
                    .into_iter()
                    .filter(|fault| !said.contains(&fault.field))
                    .map(|fault| reader.records.places.fault(fault)),
            ),
        }
        // Where the catalogue's file could not be read, nothing is said of codes it may have.
        let rests_on_unread = |fault: &FileFault| {
            let kind = reader.kind_of_file.get(&fault.file);
            kind.is_some_and(|kind| reader.unread.contains(kind))
        };
        faults.retain(|fault| fault.kind != FileFaultKind::UnknownPart || !rests_on_unread(fault));
        self.count_lines(&mut faults);
        Err(merged(faults))
    }

    /// Gives lines and columns to the faults that have bytes.
    fn count_lines(&self, faults: &mut [FileFault]) {
        let lines: BTreeMap<&str, Lines<'_>> = self
            .files
            .iter()
            .map(|file| (file.shown.as_str(), Lines::of(&file.text)))
            .collect();
        for fault in faults {
            // A fault of a whole file has no line.
            let span = fault.marked.as_ref().map(|marked| marked.span.clone());
            let Some(span) = span.filter(|span| *span != (0..0)) else {
                continue;
            };
            if let Some(lines) = lines.get(fault.file.as_str()) {
                let position = lines.position(span.start);
                fault.line = Some(position.line);
                fault.column = Some(position.column);
            }
        }
    }
}

#[derive(Default)]
struct PartsReader {
    catalogue: Vec<(String, Vec<RecordText>)>,
    stock: Vec<(String, Vec<RecordText>)>,
    lists: Vec<ListFile>,
    kinds_read: BTreeMap<(String, String), String>,
    /// Kinds whose catalogue could not be read.
    unread: BTreeSet<String>,
    /// The kind that a file is about.
    kind_of_file: BTreeMap<String, String>,
    records: Records,
}

impl PartsReader {
    fn fault(&mut self, kind: FileFaultKind, shown: &str, message: impl Into<String>) {
        self.records.fault_at(kind, shown, 0..0, message);
    }

    fn read_file(&mut self, program: &Program, file: &TextFile) {
        let (side, name) = file.folder_and_name();
        let (stem, ending) = stem_and_ending(name);
        let shown = file.shown.as_str();
        if !["toml", "csv"].contains(&ending) {
            let message = "is neither `.toml` nor `.csv`; parts are read from these";
            return self.fault(FileFaultKind::FileName, shown, message);
        }
        if let (Some(stem), "csv") = (stem.split_once('.'), ending) {
            return self.read_list(program, stem, file);
        }
        let part = match part_of_stem(program, stem, shown) {
            Ok(part) => part,
            Err(fault) => return self.records.faults.push(fault),
        };
        if !self.is_first(side, &part.name, &part.name, shown) {
            return;
        }
        let whole = format!("{side}.{}", part.name);
        self.records.places.of_kind(whole, shown);
        let of_side = if side == CATALOGUE {
            Side::Catalogue
        } else {
            Side::Stock
        };
        let records = match ending {
            "toml" => parts_toml::read(program, part, file, &mut self.records),
            _ => parts_csv::read(program, part, of_side, file, &mut self.records),
        };
        self.kind_of_file
            .insert(file.shown.clone(), part.name.clone());
        let Some(records) = records else {
            if of_side == Side::Catalogue {
                self.unread.insert(part.name.clone());
            }
            return;
        };
        let texts = match of_side {
            Side::Catalogue => &mut self.catalogue,
            Side::Stock => &mut self.stock,
        };
        texts.push((part.name.clone(), records));
    }

    /// Reads the records of a list: `heads.settings.csv`.
    fn read_list(&mut self, program: &Program, stem: (&str, &str), file: &TextFile) {
        let (side, _) = file.folder_and_name();
        let shown = file.shown.as_str();
        let (part, listed) = match list_of_stem(program, stem, shown) {
            Ok(found) => found,
            Err(fault) => return self.records.faults.push(fault),
        };
        if side != CATALOGUE {
            let message = "is a list of the catalogue; it does not stand in the stock";
            return self.fault(FileFaultKind::FileName, shown, message);
        }
        let whole = format!("{}.{}", part.name, stem.1);
        if !self.is_first(side, &whole, &whole, shown) {
            return;
        }
        self.kind_of_file
            .insert(file.shown.clone(), part.name.clone());
        let of = (part, listed, stem.1);
        let read = parts_list::read(program, of, file, &mut self.records);
        self.lists.extend(read);
    }

    /// Whether a file is the only one so far of its kind.
    fn is_first(&mut self, side: &str, of: &str, named: &str, shown: &str) -> bool {
        let key = (side.to_owned(), of.to_owned());
        if let Some(first) = self.kinds_read.get(&key) {
            let named = quoted(named);
            let message = format!("is a second file of {named} ({first}); a kind has one");
            self.fault(FileFaultKind::FileName, shown, message);
            return false;
        }
        self.kinds_read.insert(key, shown.to_owned());
        true
    }
}
