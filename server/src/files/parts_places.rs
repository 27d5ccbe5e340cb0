//! Where records and fields of a parts folder stand: from a path of intake's to bytes of a file.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use loftwright_engine::intake::{Fault, FaultKind};

use super::fault::{FileFault, FileFaultKind, Marked};

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
    /// Notes a fault of a file, at some bytes of it.
    pub(super) fn fault_at(
        &mut self,
        kind: FileFaultKind,
        shown: &str,
        span: Range<usize>,
        message: impl Into<String>,
    ) {
        let fault = FileFault::of_file(kind, shown, message).at(span);
        self.faults.push(fault);
    }

    /// Notes a fault of one field of a record.
    pub(super) fn fault(&mut self, kind: FileFaultKind, path: String, message: String) {
        let fault = Fault {
            // Only for the place; the kind is the one that was given.
            kind: FaultKind::Unreadable,
            field: path.clone(),
            sent: String::new(),
            message,
            first: None,
        };
        let fault = FileFault {
            kind,
            ..self.places.fault(fault)
        };
        self.faults.push(fault);
        self.said.insert(path);
    }
}

/// Where a field stands.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    /// The file as it is shown to people.
    pub(super) file: String,
    /// Its name: a key of TOML, the head of a column.
    pub(super) name: Range<usize>,
    /// What it says.
    pub(super) value: Range<usize>,
}

/// Where records and fields stand.
#[derive(Default)]
pub(super) struct Places {
    /// The file of a whole kind (`catalogue.head`).
    kinds: BTreeMap<String, String>,
    /// File and bytes of a record's place.
    records: BTreeMap<String, (String, Range<usize>)>,
    /// By intake's path.
    fields: BTreeMap<String, Spot>,
}

impl Places {
    /// Notes the file of a kind.
    pub(super) fn of_kind(&mut self, whole: String, shown: &str) {
        self.kinds.insert(whole, shown.to_owned());
    }

    /// Notes a record and gives its place for people: `catalogue/heads.toml:14`.
    pub(super) fn of_record(&mut self, shown: &str, line: usize, span: Range<usize>) -> String {
        let place = format!("{shown}:{line}");
        self.records.insert(place.clone(), (shown.to_owned(), span));
        place
    }

    /// Notes where a field stands, by intake's path.
    pub(super) fn of_field(&mut self, path: String, spot: Spot) {
        self.fields.insert(path, spot);
    }

    /// A fault of intake as one of a file.
    pub(super) fn fault(&self, fault: Fault) -> FileFault {
        let is_of_the_name = matches!(fault.kind, FaultKind::UnknownName | FaultKind::Misplaced);
        let (place, key) = fault.field.split_once(": ").unwrap_or((&fault.field, ""));
        let (file, span) = match self.kinds.get(place) {
            Some(file) => (file.clone(), Some(0..0)),
            None => match self.find(&fault.field, place, is_of_the_name) {
                Some((file, span)) => (file, Some(span)),
                None => (place.to_owned(), None),
            },
        };
        let first = fault.first.as_deref().and_then(|first| {
            let place = first.split_once(": ").map_or(first, |(place, _)| place);
            let (in_file, span) = self.find(first, place, false)?;
            (in_file == file).then_some(span)
        });
        FileFault {
            kind: fault.kind.into(),
            file,
            line: None,
            column: None,
            marked: span.map(|span| Box::new(Marked { span, first })),
            key: key.to_owned(),
            message: fault.message,
        }
    }

    /// Where a field stands, else the record in a list that it is missing in, else its record.
    fn find(
        &self,
        path: &str,
        place: &str,
        is_of_the_name: bool,
    ) -> Option<(String, Range<usize>)> {
        let mut path = path;
        while path.len() > place.len() {
            if let Some(spot) = self.fields.get(path) {
                let span = match is_of_the_name {
                    true => spot.name.clone(),
                    false => spot.value.clone(),
                };
                return Some((spot.file.clone(), span));
            }
            let end = path.rfind(['.', '[', ':'])?;
            path = path.get(..end)?;
        }
        self.records.get(place).cloned()
    }
}

/// The faults by file and line; the same one of many records is said once.
pub(super) fn merged(faults: Vec<FileFault>) -> Vec<FileFault> {
    let mut by_text: BTreeMap<(String, String, String), (FileFault, usize)> = BTreeMap::new();
    for fault in faults {
        let text = (fault.file.clone(), fault.key.clone(), fault.message.clone());
        let (first, count) = by_text.entry(text).or_insert_with(|| (fault.clone(), 0));
        *count += 1;
        if fault.in_order(first).is_lt() {
            *first = fault;
        }
    }
    let mut merged: Vec<_> = by_text
        .into_values()
        .map(|(mut fault, count)| {
            if count > 1 {
                let more = count - 1;
                let records = if more == 1 { "record" } else { "records" };
                fault.message = format!("{} (and in {more} more {records})", fault.message);
            }
            fault
        })
        .collect();
    merged.sort_by(FileFault::in_order);
    merged
}
