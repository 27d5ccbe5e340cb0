//! A parts folder: `catalogue/` with the parts, `stock/` with pieces and counts, a file for each
//! kind.
//!
//! A file is named after its kind, in the plural or singular (`heads.toml`, `shaft.csv`). TOML has
//! a table for each record (`[[head]]`), settings nested in it; CSV has a row of column names, then
//! a row for each record, an empty cell where something is left out.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use loftwright_dsl::program::Program;
use loftwright_engine::intake::{Fault, PartsText, RecordText, quoted, read_parts};
use loftwright_engine::parts::Parts;

use super::fault::{FileFault, FileFaultKind};
use super::limits::LARGEST_PARTS_FILE_BYTES;
use super::parts_kind::part_of_stem;
use super::text_file::{TextFile, is_left_alone, stem_and_ending};
use super::{built_in, disk, parts_csv, parts_toml};

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
            Ok(PartsFiles { files })
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
    pub fn of(files: Vec<TextFile>) -> Self {
        PartsFiles { files }
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
        Err(merged(faults))
    }
}

#[derive(Default)]
struct PartsReader {
    catalogue: Vec<(String, Vec<RecordText>)>,
    stock: Vec<(String, Vec<RecordText>)>,
    kinds_read: BTreeMap<(String, String), String>,
    records: Records,
}

impl PartsReader {
    fn read_file(&mut self, program: &Program, file: &TextFile) {
        let (side, name) = file.folder_and_name();
        let (stem, ending) = stem_and_ending(name);
        let shown = file.shown.as_str();
        if !["toml", "csv"].contains(&ending) {
            let message = "is neither `.toml` nor `.csv`; parts are read from these";
            let kind = FileFaultKind::UnknownName;
            self.records
                .faults
                .push(FileFault::of_file(kind, shown, message));
            return;
        }
        let part = match part_of_stem(program, stem, shown) {
            Ok(part) => part,
            Err(fault) => return self.records.faults.push(fault),
        };
        let kind = (side.to_owned(), part.name.clone());
        if let Some(first) = self.kinds_read.get(&kind) {
            let kind = quoted(&part.name);
            let message = format!("is a second file of {kind} ({first}); a kind has one");
            let kind = FileFaultKind::Twice;
            self.records
                .faults
                .push(FileFault::of_file(kind, shown, message));
            return;
        }
        self.kinds_read.insert(kind, file.shown.clone());
        let whole = format!("{side}.{}", part.name);
        self.records
            .places
            .files
            .insert(whole, (file.shown.clone(), None));
        let records = match ending {
            "toml" => parts_toml::read(program, part, file, &mut self.records),
            _ => parts_csv::read(file, &mut self.records),
        };
        let texts = if side == CATALOGUE {
            &mut self.catalogue
        } else {
            &mut self.stock
        };
        texts.push((part.name.clone(), records));
    }
}

/// What is noted while the records of all files are read.
#[derive(Default)]
pub(super) struct Records {
    /// The faults of form.
    pub(super) faults: Vec<FileFault>,
    /// The paths of intake for which a fault is said already.
    pub(super) said: BTreeSet<String>,
    /// Where records and fields stand.
    pub(super) places: Places,
}

impl Records {
    /// Notes a fault of one field of a record.
    pub(super) fn fault(&mut self, kind: FileFaultKind, path: String, message: String) {
        let fault = Fault {
            field: path.clone(),
            sent: String::new(),
            message,
        };
        let fault = FileFault {
            kind,
            ..self.places.fault(fault)
        };
        self.faults.push(fault);
        self.said.insert(path);
    }
}

/// Where records and fields stand.
#[derive(Default)]
pub(super) struct Places {
    /// File and line of a record's place, and of a whole kind (`catalogue.head`).
    files: BTreeMap<String, (String, Option<usize>)>,
    /// The line of a field, where it has one of its own, by intake's path.
    lines: BTreeMap<String, usize>,
}

impl Places {
    /// Notes a record and gives its place for people: `catalogue/heads.toml:14`.
    pub(super) fn of_record(&mut self, shown: &str, line: usize) -> String {
        let place = format!("{shown}:{line}");
        let found = (shown.to_owned(), Some(line));
        self.files.insert(place.clone(), found);
        place
    }

    /// Notes the line of a field.
    pub(super) fn of_field(&mut self, path: String, line: usize) {
        self.lines.insert(path, line);
    }

    /// A fault of intake as one of a file.
    fn fault(&self, fault: Fault) -> FileFault {
        let (place, key) = fault.field.split_once(": ").unwrap_or((&fault.field, ""));
        let found = self.files.get(place).cloned();
        let (file, record_line) = found.unwrap_or_else(|| (place.to_owned(), None));
        let line = self.line_of(&fault.field).or(record_line);
        FileFault {
            kind: FileFaultKind::Value,
            file,
            line,
            key: key.to_owned(),
            message: fault.message,
        }
    }

    /// The line of a field, or of the record in a list that it is missing in.
    fn line_of(&self, path: &str) -> Option<usize> {
        let parent = || {
            path.rsplit_once('.')
                .and_then(|(parent, _)| self.lines.get(parent))
        };
        self.lines.get(path).or_else(parent).copied()
    }
}

/// The faults by file and line; the same one of many records is said once.
fn merged(faults: Vec<FileFault>) -> Vec<FileFault> {
    let mut by_text: BTreeMap<(String, String, String), (FileFault, usize)> = BTreeMap::new();
    for fault in faults {
        let text = (fault.file.clone(), fault.key.clone(), fault.message.clone());
        let (first, count) = by_text.entry(text).or_insert_with(|| (fault.clone(), 0));
        *count += 1;
        if fault.line < first.line {
            first.line = fault.line;
        }
    }
    let mut merged: Vec<_> = by_text
        .into_values()
        .map(|(mut fault, count)| {
            if count > 1 {
                let more = count - 1;
                fault.message = format!("{} (and in {more} more records)", fault.message);
            }
            fault
        })
        .collect();
    merged.sort_by(FileFault::in_order);
    merged
}
