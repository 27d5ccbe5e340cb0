//! Catalogue and stock in CSV (RFC 4180): a row of column names, then a row for each record.
//!
//! An empty cell is a field that is left out. What is wrong with a column is said of its head,
//! once, and the rows are read all the same.

use std::collections::BTreeMap;
use std::ops::Range;

use loftwright_dsl::program::{Part, Program, Type};
use loftwright_engine::intake::{
    FaultKind, FieldText, RecordText, Side, nearest, needed_fields, quoted, refused_field,
};

use super::csv_cells::{Cell, Row, rows};
use super::fault::FileFaultKind;
use super::lines::Lines;
use super::parts_kind::field_named;
use super::parts_places::{Records, Spot};
use super::text_file::TextFile;

/// Reads the records of one file; its faults of form are noted. `None` where it is no CSV.
pub(super) fn read(
    program: &Program,
    part: &Part,
    side: Side,
    file: &TextFile,
    records: &mut Records,
) -> Option<Vec<RecordText>> {
    let refused = |name: &str| {
        let is_list = field_named(part, name)
            .is_some_and(|field| matches!(field.value_type, Type::List(_)) && side_of(side));
        if is_list {
            let plural = &part.plural;
            let message = format!(
                "{} holds records; in CSV they stand in a file of their own, \
                 `catalogue/{plural}.{name}.csv`",
                quoted(name)
            );
            return Some((FaultKind::WrongForm, message));
        }
        refused_field(part, side, name)
    };
    let table = Table::open(file, refused, records)?;
    let mut missing = table.missing(&needed_fields(program, part, side), records);
    if side == Side::Stock && !table.has("id") && !table.has("on_hand") {
        let message = "has neither a column `id`, of single pieces, nor `on_hand`, a count";
        let kind = FileFaultKind::PieceOrCount;
        records.fault_at(kind, &file.shown, table.head.clone(), message);
        missing.push("id".to_owned());
    }
    let lines = Lines::of(&file.text);
    let mut read = Vec::new();
    for row in &table.rows {
        let line = lines.line_of(row.span().start);
        let place = records.places.of_record(&file.shown, line, row.span());
        for name in &missing {
            records.said.insert(format!("{place}: {name}"));
        }
        let mut fields = BTreeMap::new();
        for (column, cell) in table.cells(row) {
            let path = format!("{place}: {}", column.text);
            records.places.of_field(path, table.spot(column, cell));
            if !cell.text.is_empty() {
                let text = FieldText::Text(cell.text.clone());
                fields.insert(column.text.clone(), text);
            }
        }
        read.push(RecordText { place, fields });
    }
    Some(read)
}

fn side_of(side: Side) -> bool {
    side == Side::Catalogue
}

/// A table of CSV: its columns, and the rows that have a cell for each.
pub(super) struct Table {
    shown: String,
    /// The columns that are read, by place; `None` where one was refused.
    columns: Vec<Option<Cell>>,
    /// The names of columns that were refused because nobody knows them.
    unknown: Vec<String>,
    /// The first row.
    pub(super) head: Range<usize>,
    /// The rows below it.
    pub(super) rows: Vec<Row>,
}

impl Table {
    /// Reads a file; `refused` says why there is no column of a name. `None` where it is no CSV.
    pub(super) fn open(
        file: &TextFile,
        refused: impl Fn(&str) -> Option<(FaultKind, String)>,
        records: &mut Records,
    ) -> Option<Self> {
        let shown = file.shown.as_str();
        let mut rows = rows_of(file, records)?.into_iter();
        let Some(first) = rows.next() else {
            let message = "is empty; the first row holds the names of the columns";
            records.fault_at(FileFaultKind::Syntax, shown, 0..0, message);
            return None;
        };
        if let Some((byte, separator)) = other_separator(&first) {
            let message = format!(
                "cells are parted by {separator} here; in a parts file they are parted by `,`"
            );
            records.fault_at(FileFaultKind::Syntax, shown, byte..byte + 1, message);
            return None;
        }
        let mut table = Table {
            shown: shown.to_owned(),
            columns: Vec::new(),
            unknown: Vec::new(),
            head: first.span(),
            rows: Vec::new(),
        };
        for (place, column) in first.cells.into_iter().enumerate() {
            let is_read = table.take_column(place, &column, &refused, records);
            table.columns.push(is_read.then_some(column));
        }
        for row in rows {
            if table.is_whole(&row, records) {
                table.rows.push(row);
            }
        }
        Some(table)
    }

    fn take_column(
        &mut self,
        place: usize,
        column: &Cell,
        refused: &impl Fn(&str) -> Option<(FaultKind, String)>,
        records: &mut Records,
    ) -> bool {
        let name = column.text.as_str();
        let span = column.span.clone();
        if name.is_empty() {
            let message = format!("column {} has no name", place + 1);
            records.fault_at(FileFaultKind::Syntax, &self.shown, span, message);
            return false;
        }
        let same = |known: &&Cell| known.text == name;
        if let Some(first) = self.columns.iter().flatten().find(same) {
            let message = format!("the column {} stands there twice", quoted(name));
            let first = first.span.clone();
            records.fault_at(FileFaultKind::Twice, &self.shown, span, message);
            let noted = records.faults.last_mut();
            if let Some(marked) = noted.and_then(|fault| fault.marked.as_mut()) {
                marked.first = Some(first);
            }
            return false;
        }
        let Some((kind, message)) = refused(name) else {
            return true;
        };
        if kind == FaultKind::UnknownName {
            self.unknown.push(name.to_owned());
        }
        records.fault_at(kind.into(), &self.shown, span, message);
        if let Some(fault) = records.faults.last_mut() {
            fault.key = name.to_owned();
        }
        false
    }

    /// Whether a row has a cell for each column, with quotes as they should be.
    fn is_whole(&self, row: &Row, records: &mut Records) -> bool {
        let shown = self.shown.as_str();
        let (cells, columns) = (row.cells.len(), self.columns.len());
        // Behind a quote that is wrong, cells are not what they seem.
        if let Some((cell, fault)) = row.cells.iter().find_map(|cell| Some((cell, cell.fault?))) {
            records.fault_at(FileFaultKind::Syntax, shown, first_line(cell), fault);
            return false;
        }
        if cells == columns {
            return true;
        }
        let hint = decimal_comma(row).map_or_else(String::new, |(sent, right)| {
            format!(
                "; {} looks like a decimal comma, write {}",
                quoted(&sent),
                quoted(&right)
            )
        });
        let message = format!("has {cells} cells where the header has {columns}{hint}");
        records.fault_at(FileFaultKind::RowLength, shown, row.span(), message);
        false
    }

    /// Whether there is a column of that name, read or not.
    fn has(&self, name: &str) -> bool {
        let mut columns = self.columns.iter().flatten();
        columns.any(|column| column.text == name) || self.is_meant(name)
    }

    /// Whether a column that nobody knows is likely this one.
    fn is_meant(&self, name: &str) -> bool {
        let mut unknown = self.unknown.iter();
        unknown.any(|sent| nearest(sent, [name]).is_some())
    }

    /// Notes the needed columns that are missing, and gives their names: of them nothing need be
    /// said row by row.
    pub(super) fn missing(&self, needed: &[(&str, String)], records: &mut Records) -> Vec<String> {
        let read = |name: &str| {
            let mut columns = self.columns.iter().flatten();
            columns.any(|column| column.text == name)
        };
        let mut missing = Vec::new();
        for (name, needed) in needed.iter().filter(|(name, _)| !read(name)) {
            if !self.is_meant(name) {
                let message = format!("the column {} is missing; {needed}", quoted(name));
                let kind = FileFaultKind::Missing;
                records.fault_at(kind, &self.shown, self.head.clone(), message);
            }
            missing.push((*name).to_owned());
        }
        missing
    }

    /// The cells of a row that are read, each with its column.
    pub(super) fn cells<'a>(&'a self, row: &'a Row) -> impl Iterator<Item = (&'a Cell, &'a Cell)> {
        let pairs = self.columns.iter().zip(&row.cells);
        pairs.filter_map(|(column, cell)| Some((column.as_ref()?, cell)))
    }

    /// Where a cell stands.
    pub(super) fn spot(&self, column: &Cell, cell: &Cell) -> Spot {
        Spot {
            file: self.shown.clone(),
            name: column.span.clone(),
            value: cell.span.clone(),
        }
    }
}

/// The rows of a file, if its lines end as lines do.
fn rows_of(file: &TextFile, records: &mut Records) -> Option<Vec<Row>> {
    let bytes = file.text.as_bytes();
    let is_alone = |place: &usize| {
        bytes.get(*place) == Some(&b'\r') && bytes.get(place.saturating_add(1)) != Some(&b'\n')
    };
    if let Some(alone) = (0..bytes.len()).find(is_alone) {
        let message = "a line ends with a carriage return alone here; save the file with line \
                       ends LF or CRLF";
        records.fault_at(FileFaultKind::Syntax, &file.shown, alone..alone, message);
        return None;
    }
    Some(rows(&file.text))
}

/// The semicolon or tab that parts the cells of a header in the place of commas.
fn other_separator(header: &Row) -> Option<(usize, &'static str)> {
    let [only] = header.cells.as_slice() else {
        return None;
    };
    let found = only.text.find([';', '\t'])?;
    let separator = match only.text.get(found..)?.starts_with(';') {
        true => "`;`",
        false => "tabs",
    };
    Some((only.span.start + found, separator))
}

/// Of a cell that does not end, the line in which it begins.
fn first_line(cell: &Cell) -> Range<usize> {
    let lines = cell.text.find('\n');
    let end = lines.map_or(cell.span.end, |line| cell.span.start + line);
    cell.span.start..end.min(cell.span.end)
}

/// Two cells that are one number with a decimal comma, as they stand and with a point.
fn decimal_comma(row: &Row) -> Option<(String, String)> {
    row.cells.windows(2).find_map(|pair| {
        let [before, after] = pair else { return None };
        let digits = before.text.trim_start_matches('-');
        let is_whole = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
        let is_rest = after.text.starts_with(|first: char| first.is_ascii_digit());
        // Three digits may be thousands: then nobody can say what was meant.
        let places = after.text.bytes().take_while(u8::is_ascii_digit).count();
        // A space behind the comma is a cell's, not a number's.
        let is_near = before.span.end + 1 == after.span.start;
        (is_whole && is_rest && is_near && places != 3).then(|| {
            let (before, after) = (&before.text, &after.text);
            (format!("{before},{after}"), format!("{before}.{after}"))
        })
    })
}
