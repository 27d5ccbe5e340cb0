//! Catalogue and stock in CSV (RFC 4180): a row of column names, then a row for each record.
//!
//! An empty cell is a field that is left out.

use std::collections::{BTreeMap, BTreeSet};

use csv::{ErrorKind, ReaderBuilder, StringRecord, Trim};
use loftwright_engine::intake::{FieldText, RecordText, quoted};

use super::fault::{FileFault, FileFaultKind};
use super::parts_folder::Records;
use super::text_file::TextFile;

/// Reads the records of one file; its faults of form are noted.
pub(super) fn read(file: &TextFile, records: &mut Records) -> Vec<RecordText> {
    let text = file.text.strip_prefix('\u{feff}').unwrap_or(&file.text);
    let mut reader = ReaderBuilder::new()
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(error) => {
            records.faults.push(syntax_fault(&file.shown, &error));
            return Vec::new();
        }
    };
    let of_header = header_faults(&file.shown, &header);
    if !of_header.is_empty() {
        records.faults.extend(of_header);
        return Vec::new();
    }
    let mut read = Vec::new();
    for row in reader.records() {
        match row {
            Ok(row) => read.extend(read_row(&file.shown, &header, &row, records)),
            Err(error) => records.faults.push(syntax_fault(&file.shown, &error)),
        }
    }
    read
}

fn read_row(
    shown: &str,
    header: &StringRecord,
    row: &StringRecord,
    records: &mut Records,
) -> Option<RecordText> {
    let line = line_of(row);
    if row.iter().all(str::is_empty) {
        return None;
    }
    if row.len() != header.len() {
        let (cells, columns) = (row.len(), header.len());
        let message = format!("has {cells} cells where the header has {columns}");
        let fault = FileFault::of_file(FileFaultKind::WrongForm, shown, message);
        records.faults.push(fault.at_line(line));
        return None;
    }
    let place = records.places.of_record(shown, line);
    let fields = header
        .iter()
        .zip(row)
        .filter(|(_, cell)| !cell.is_empty())
        .map(|(column, cell)| (column.to_owned(), FieldText::Text(cell.to_owned())))
        .collect::<BTreeMap<_, _>>();
    Some(RecordText { place, fields })
}

fn header_faults(shown: &str, header: &StringRecord) -> Vec<FileFault> {
    let mut faults = Vec::new();
    let mut fault = |kind, message: String| {
        faults.push(FileFault::of_file(kind, shown, message).at_line(1));
    };
    let mut seen = BTreeSet::new();
    if header.is_empty() {
        let message = "is empty; the first row holds the names of the columns";
        fault(FileFaultKind::Syntax, message.to_owned());
    }
    let single = header.get(0).filter(|_| header.len() == 1);
    if single.is_some_and(|only| only.contains([';', '\t'])) {
        let message = "has one column; cells are parted by commas";
        fault(FileFaultKind::Syntax, message.to_owned());
        return faults;
    }
    for (place, column) in header.iter().enumerate() {
        if column.is_empty() {
            let message = format!("column {} has no name", place + 1);
            fault(FileFaultKind::WrongForm, message);
        } else if !seen.insert(column) {
            let message = format!("the column {} stands there twice", quoted(column));
            fault(FileFaultKind::Twice, message);
        }
    }
    faults
}

fn line_of(row: &StringRecord) -> usize {
    let line = row.position().map_or(1, csv::Position::line);
    usize::try_from(line).unwrap_or(usize::MAX)
}

fn syntax_fault(shown: &str, error: &csv::Error) -> FileFault {
    let message = match error.kind() {
        ErrorKind::Utf8 { .. } => "is not UTF-8 text; save it as UTF-8".to_owned(),
        _ => format!("is not CSV here: {error}"),
    };
    let fault = FileFault::of_file(FileFaultKind::Syntax, shown, message);
    match error.position() {
        Some(position) => fault.at_line(usize::try_from(position.line()).unwrap_or(usize::MAX)),
        None => fault,
    }
}
