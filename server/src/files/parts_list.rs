//! Records of a list in CSV: `catalogue/heads.settings.csv` has a row for each setting of each
//! head, the head's code in the column `head`. The order of the rows is that of the list.
//!
//! A row with nothing but the code says that the list is there and has nothing in it; a part
//! without a row has a list that is not known.

use std::collections::BTreeMap;
use std::ops::Range;

use loftwright_dsl::program::{Part, Program, Type};
use loftwright_engine::intake::{
    FaultKind, FieldText, RecordText, Side, nearest, needed_fields, quoted, unknown_field,
};

use super::fault::{FileFault, FileFaultKind};
use super::parts_csv::Table;
use super::parts_kind::{field_named, part_of_stem};
use super::parts_places::{Records, Spot};
use super::text_file::TextFile;

/// The records of a list field, of all parts of a kind.
pub(super) struct ListFile {
    /// The kind that has the list.
    kind: String,
    /// The field.
    field: String,
    /// The file as it is shown to people.
    shown: String,
    /// The rows, in order.
    rows: Vec<ListRow>,
}

/// A record of a list.
struct ListRow {
    /// The code of the part that it is of.
    owner: String,
    owner_span: Range<usize>,
    span: Range<usize>,
    /// By column, with where it stands.
    cells: BTreeMap<String, (String, Spot)>,
}

/// The kind and the list field that the stem of a file's name says: `heads.settings`.
pub(super) fn list_of_stem<'a>(
    program: &'a Program,
    stem: (&str, &str),
    shown: &str,
) -> Result<(&'a Part, &'a Part), FileFault> {
    let part = part_of_stem(program, stem.0, shown)?;
    let listed = |name: &str| match field_named(part, name).map(|field| field.value_type) {
        Some(Type::List(listed)) => Some(&program.parts[listed]),
        _ => None,
    };
    listed(stem.1).map(|listed| (part, listed)).ok_or_else(|| {
        let fields = part.fields.iter().map(|field| field.name.as_str());
        let lists: Vec<&str> = fields.filter(|name| listed(name).is_some()).collect();
        let known: Vec<String> = lists.iter().map(|name| quoted(name)).collect();
        let near = nearest(stem.1, lists.iter().copied());
        let near = near.map_or_else(String::new, |near| {
            format!("; did you mean {}?", quoted(near))
        });
        let kind = &part.name;
        let allowed = match known.as_slice() {
            [] => format!("a {kind} has none"),
            _ => format!("the lists of a {kind} are {}", known.join(", ")),
        };
        let message = format!("{} is no list of records; {allowed}{near}", quoted(stem.1));
        FileFault::of_file(FileFaultKind::FileName, shown, message).at(0..0)
    })
}

/// Reads a file of list records; `None` where it is no CSV.
pub(super) fn read(
    program: &Program,
    of: (&Part, &Part, &str),
    file: &TextFile,
    records: &mut Records,
) -> Option<ListFile> {
    let (part, listed, field) = of;
    let mut names = vec![part.name.as_str()];
    names.extend(listed.fields.iter().map(|field| field.name.as_str()));
    let refused = |name: &str| {
        let is_known = names.contains(&name);
        (!is_known).then(|| (FaultKind::UnknownName, unknown_field(name, &names)))
    };
    let table = Table::open(file, refused, records)?;
    let mut needed = vec![(part.name.as_str(), "a code is needed".to_owned())];
    // The listed records have no code of their own.
    let fields = needed_fields(program, listed, Side::Catalogue);
    needed.extend(fields.into_iter().filter(|(name, _)| *name != "id"));
    let missing = table.missing(&needed, records);
    if missing.contains(&part.name) {
        return None;
    }
    let mut list = ListFile {
        kind: part.name.clone(),
        field: field.to_owned(),
        shown: file.shown.clone(),
        rows: Vec::new(),
    };
    for row in &table.rows {
        let mut found = ListRow {
            owner: String::new(),
            owner_span: row.span(),
            span: row.span(),
            cells: BTreeMap::new(),
        };
        for (column, cell) in table.cells(row) {
            if column.text == part.name {
                found.owner.clone_from(&cell.text);
                found.owner_span = cell.span.clone();
            } else if !cell.text.is_empty() {
                let spot = table.spot(column, cell);
                let said = (cell.text.clone(), spot);
                found.cells.insert(column.text.clone(), said);
            }
        }
        if found.owner.is_empty() {
            let message = format!("{} is missing; a code is needed", quoted(&part.name));
            records.fault_at(FileFaultKind::Missing, &file.shown, row.span(), message);
        } else {
            list.rows.push(found);
        }
    }
    // What a column lacks is said of its head; intake would say it of every record.
    if missing.is_empty() { Some(list) } else { None }
}

/// Puts the lists where they belong: into the records of the catalogue.
pub(super) fn join(
    lists: Vec<ListFile>,
    catalogue: &mut [(String, Vec<RecordText>)],
    records: &mut Records,
) {
    for list in lists {
        let kind = catalogue.iter_mut().find(|(kind, _)| *kind == list.kind);
        let owners = kind.map_or(&mut [][..], |(_, owners)| owners.as_mut_slice());
        let code = |owner: &RecordText| match owner.fields.get("id") {
            Some(FieldText::Text(id)) => id.trim().to_owned(),
            _ => String::new(),
        };
        let by_code: BTreeMap<String, usize> = owners
            .iter()
            .enumerate()
            .map(|(place, owner)| (code(owner), place))
            .collect();
        let mut of_owner: BTreeMap<usize, Vec<ListRow>> = BTreeMap::new();
        for row in list.rows {
            match by_code.get(&row.owner) {
                Some(place) => of_owner.entry(*place).or_default().push(row),
                None => {
                    let near = nearest(&row.owner, by_code.keys().map(String::as_str));
                    let near = near.map_or_else(String::new, |near| {
                        format!("; did you mean {}?", quoted(near))
                    });
                    let (kind, sent) = (&list.kind, quoted(&row.owner));
                    let message = format!("the catalogue has no {kind} {sent}{near}");
                    let of = FileFaultKind::UnknownPart;
                    records.fault_at(of, &list.shown, row.owner_span, message);
                }
            }
        }
        for (place, rows) in of_owner {
            if let Some(owner) = owners.get_mut(place) {
                put(&list.field, &list.shown, owner, rows, records);
            }
        }
    }
}

fn put(
    field: &str,
    shown: &str,
    owner: &mut RecordText,
    rows: Vec<ListRow>,
    records: &mut Records,
) {
    let path = format!("{}: {field}", owner.place);
    if owner.fields.contains_key(field) {
        let spans = rows.first().map_or(0..0, |row| row.span.clone());
        let message = format!(
            "{} stands in the catalogue's record already ({})",
            quoted(field),
            owner.place
        );
        return records.fault_at(FileFaultKind::Twice, shown, spans, message);
    }
    let is_empty = matches!(rows.as_slice(), [only] if only.cells.is_empty());
    let rows = if is_empty { Vec::new() } else { rows };
    let mut list = Vec::new();
    for (place, row) in rows.into_iter().enumerate() {
        let of_record = format!("{path}[{}]", place + 1);
        let spot = Spot {
            file: shown.to_owned(),
            name: row.span.clone(),
            value: row.span,
        };
        records.places.of_field(of_record.clone(), spot);
        let mut fields = BTreeMap::new();
        for (column, (text, spot)) in row.cells {
            let of_cell = format!("{of_record}.{column}");
            records.places.of_field(of_cell, spot);
            fields.insert(column, text);
        }
        list.push(fields);
    }
    owner.fields.insert(field.to_owned(), FieldText::List(list));
}
