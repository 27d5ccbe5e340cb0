//! Records as the text of a file: CSV with a file of its own for the records of lists, or TOML.

use std::collections::BTreeMap;
use std::fmt::Write;

use loftwright_dsl::program::{Part, Program, Type};
use loftwright_engine::intake::{Side, quoted};

use super::parts_export::{Written, WrittenFile, WrittenKind, is_list_of_records};
use super::parts_folder::{CATALOGUE, STOCK};
use super::parts_kind::field_named;

fn folder_of(side: Side) -> &'static str {
    match side {
        Side::Catalogue => CATALOGUE,
        Side::Stock => STOCK,
    }
}

/// The file of a kind in TOML.
pub(super) fn toml_files(kind: &WrittenKind<'_>) -> WrittenFile {
    let mut text = String::new();
    for record in &kind.records {
        if !text.is_empty() {
            text.push('\n');
        }
        let _ = writeln!(text, "[[{}]]", kind.part.name);
        let known = kind.names.iter();
        for (name, written) in known.filter_map(|name| Some((name, record.get(name)?))) {
            let _ = writeln!(text, "{name} = {}", in_toml(written));
        }
    }
    let folder = folder_of(kind.side);
    WrittenFile {
        path: format!("{folder}/{}.toml", kind.part.plural),
        text,
    }
}

fn in_toml(written: &Written) -> String {
    match written {
        Written::Text(text) => quoted_toml(text),
        Written::Plain(text) => match text.as_str() {
            "yes" => "true".to_owned(),
            "no" => "false".to_owned(),
            number => number.to_owned(),
        },
        Written::Values(values) => {
            let values: Vec<String> = values.iter().map(|text| quoted_toml(text)).collect();
            format!("[{}]", values.join(", "))
        }
        Written::Records(records) if records.is_empty() => "[]".to_owned(),
        Written::Records(records) => {
            let record = |record: &BTreeMap<String, String>| {
                let fields = record.iter();
                let fields: Vec<String> = fields
                    .map(|(name, text)| format!("{name} = {}", quoted_toml(text)))
                    .collect();
                format!("  {{ {} }},\n", fields.join(", "))
            };
            format!("[\n{}]", records.iter().map(record).collect::<String>())
        }
    }
}

fn quoted_toml(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The files of a kind in CSV: its records, and those of each of its lists.
pub(super) fn csv_files(
    program: &Program,
    kind: &WrittenKind<'_>,
    faults: &mut Vec<String>,
) -> Vec<WrittenFile> {
    let is_used = |name: &str| match (kind.side, name) {
        // A column of the stock that no record uses would only puzzle.
        (Side::Stock, name) if name != "part" => {
            let mut records = kind.records.iter();
            records.any(|record| record.contains_key(name))
        }
        _ => !is_list_of_records(kind.part, name),
    };
    let names = kind.names.iter().copied();
    let names: Vec<&str> = names.filter(|name| is_used(name)).collect();
    let mut rows = vec![names.iter().map(|name| (*name).to_owned()).collect()];
    for record in &kind.records {
        let cell = |name: &&str| match record.get(name) {
            Some(Written::Text(text) | Written::Plain(text)) => text.clone(),
            Some(Written::Values(values)) => list_cell(kind.part, name, values, faults),
            Some(Written::Records(_)) | None => String::new(),
        };
        rows.push(names.iter().map(cell).collect());
    }
    let folder = folder_of(kind.side);
    let plural = &kind.part.plural;
    let mut files = vec![WrittenFile {
        path: format!("{folder}/{plural}.csv"),
        text: csv(&rows),
    }];
    for name in kind.names.iter().copied() {
        let value_type = field_named(kind.part, name).map(|field| field.value_type);
        if let Some(Type::List(listed)) = value_type {
            let rows = list_rows(kind, name, &program.parts[listed], faults);
            if rows.len() > 1 {
                files.push(WrittenFile {
                    path: format!("{folder}/{plural}.{name}.csv"),
                    text: csv(&rows),
                });
            }
        }
    }
    files
}

/// The file of the stock of a kind in CSV. Columns that no record uses are left out; what a record
/// has beyond the names stands in columns after them, so that whoever reads the file names it.
pub(super) fn stock_csv(
    part: &Part,
    names: &[&str],
    records: &[BTreeMap<String, String>],
) -> WrittenFile {
    let is_used = |name: &str| records.iter().any(|record| record.contains_key(name));
    let known = names.iter().copied();
    let mut names: Vec<&str> = known
        .filter(|name| *name == "part" || is_used(name))
        .collect();
    if records.is_empty() {
        names.push("on_hand");
    }
    for name in records.iter().flat_map(BTreeMap::keys) {
        if !names.contains(&name.as_str()) {
            names.push(name);
        }
    }
    let mut rows = vec![names.iter().map(|name| (*name).to_owned()).collect()];
    for record in records {
        let cell = |name: &&str| record.get(*name).cloned().unwrap_or_default();
        rows.push(names.iter().map(cell).collect());
    }
    WrittenFile {
        path: format!("{STOCK}/{}.csv", part.plural),
        text: csv(&rows),
    }
}

/// The values of a list in one cell.
fn list_cell(part: &Part, name: &str, values: &[String], faults: &mut Vec<String>) -> String {
    if let Some(value) = values.iter().find(|value| value.contains(';')) {
        let (kind, name) = (&part.name, quoted(name));
        faults.push(format!(
            "{} in {name} of a {kind} holds a `;`, which parts the values of a list in CSV; export \
             as TOML",
            quoted(value)
        ));
    }
    match values {
        [] => ";".to_owned(),
        _ => values.join("; "),
    }
}

/// The records of a list, a row each: the code of the part it is of, then the fields.
fn list_rows(
    kind: &WrittenKind<'_>,
    name: &str,
    listed: &Part,
    faults: &mut Vec<String>,
) -> Vec<Vec<String>> {
    let columns: Vec<&str> = listed
        .fields
        .iter()
        .map(|field| field.name.as_str())
        .collect();
    let head = std::iter::once(kind.part.name.as_str()).chain(columns.iter().copied());
    let mut rows = vec![head.map(str::to_owned).collect()];
    for record in &kind.records {
        let (Some(Written::Text(id)), Some(Written::Records(list))) =
            (record.get("id"), record.get(name))
        else {
            continue;
        };
        let row = |one: &BTreeMap<String, String>| {
            let cell = |column: &&str| one.get(*column).cloned().unwrap_or_default();
            let cells = columns.iter().map(cell);
            std::iter::once(id.clone()).chain(cells).collect()
        };
        match list.as_slice() {
            [only] if only.is_empty() => faults.push(format!(
                "{} {}: a record of which nothing is known cannot stand in CSV; export as TOML",
                kind.part.name,
                quoted(id)
            )),
            [] => rows.push(row(&BTreeMap::new())),
            _ => rows.extend(list.iter().map(row)),
        }
    }
    rows
}

/// Rows as CSV, quoted where that is needed.
fn csv(rows: &[Vec<String>]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // Writing into memory cannot fail, and every row has as many cells as the first.
        let _ = writer.write_record(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}
