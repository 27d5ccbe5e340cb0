//! Fields of clubs, parts and settings, read against their declaration.

use std::collections::BTreeMap;
use std::sync::Arc;

use loftwright_dsl::program::{Field, PartId, Program, Record, Type, Value};

use super::expected::Expected;
use super::fault::{FaultKind, Faults};
use super::names::{did_you_mean, listed, nearest};
use super::quote::{quoted, shortened};
use super::value::read_expected;
use super::{FieldText, MOST_FIELDS, MOST_LIST_RECORDS, MOST_LIST_VALUES};

/// What was sent for a field.
#[derive(Clone, Copy)]
pub(super) enum Sent<'a> {
    /// A text.
    Text(&'a str),
    /// Records.
    List(&'a [BTreeMap<String, String>]),
    /// The values of a list.
    Values(&'a [String]),
}

impl<'a> Sent<'a> {
    /// The text; none of a list.
    pub(super) fn text(self) -> &'a str {
        match self {
            Sent::Text(text) => text,
            Sent::List(_) | Sent::Values(_) => "",
        }
    }
}

impl<'a> From<&'a FieldText> for Sent<'a> {
    fn from(field: &'a FieldText) -> Self {
        match field {
            FieldText::Text(text) => Sent::Text(text),
            FieldText::List(records) => Sent::List(records),
            FieldText::Values(values) => Sent::Values(values),
        }
    }
}

/// Reads one declared field; a fault goes to `path`. Nothing sent is a fault unless the field may
/// be unknown.
pub(super) fn read_field(
    program: &Program,
    field: &Field,
    sent: Option<Sent<'_>>,
    path: &str,
    faults: &mut Faults,
) -> Option<Value> {
    let expected = Expected::of_field(program, field);
    match (sent, field.value_type) {
        (None, _) if field.may_be_unknown => None,
        (None, _) => {
            let message = missing(&field.name, &expected.needed());
            faults.add(FaultKind::Missing, path, "", message);
            None
        }
        (Some(Sent::List(records)), Type::List(part)) => {
            Some(read_list(program, part, records, path, faults))
        }
        // A list of TOML without anything in it says nothing of what would be.
        (Some(Sent::List([])), Type::ListOf(_)) => Some(Value::Values(Arc::default())),
        (Some(Sent::Values([])), Type::List(_)) => Some(Value::List(Arc::default())),
        (Some(Sent::Values(values)), Type::ListOf(element)) => {
            let values: Vec<&str> = values.iter().map(String::as_str).collect();
            read_values(&expected.of_element(element), &values, path, faults)
        }
        // One `;` alone parts nothing: a list without values, which an empty cell is not.
        (Some(Sent::Text(text)), Type::ListOf(_)) if text.trim() == ";" => {
            Some(Value::Values(Arc::default()))
        }
        (Some(Sent::Text(text)), Type::ListOf(element)) => {
            let values: Vec<&str> = text.split(';').map(str::trim).collect();
            read_values(&expected.of_element(element), &values, path, faults)
        }
        (Some(Sent::List(_) | Sent::Values(_)), _) => {
            let message = format!("a list was sent; {}", expected.needed());
            faults.add(FaultKind::WrongForm, path, "", message);
            None
        }
        (Some(Sent::Text(text)), Type::List(_)) => {
            let message = format!("{} is a text; {}", quoted(text), expected.needed());
            faults.add(FaultKind::WrongForm, path, text, message);
            None
        }
        (Some(Sent::Text(text)), _) => match read_expected(&expected, text) {
            Ok(value) => Some(value),
            Err(misread) => {
                faults.add_misread(path, text, misread);
                None
            }
        },
    }
}

/// The sentence for a field that is missing.
pub(super) fn missing(name: &str, needed: &str) -> String {
    format!("{} is missing; {needed}", quoted(name))
}

/// Reads a record whose fields are all declared, each a text: a club or a setting. Faults go to
/// `path.FIELD`.
pub(super) fn read_record(
    program: &Program,
    fields: &[Field],
    sent: &BTreeMap<String, String>,
    path: &str,
    faults: &mut Faults,
) -> Record {
    if !has_few_fields(sent.len(), path, faults) {
        return Record::new();
    }
    for (name, text) in sent {
        if !fields.iter().any(|field| field.name == *name) {
            let known: Vec<_> = fields.iter().map(|field| field.name.as_str()).collect();
            let path = format!("{path}.{}", shortened(name));
            let message = unknown_field(name, &known);
            faults.add(FaultKind::UnknownName, path, text, message);
        }
    }
    fields
        .iter()
        .map(|field| {
            let sent = sent.get(&field.name).map(|text| Sent::Text(text));
            let path = format!("{path}.{}", field.name);
            read_field(program, field, sent, &path, faults)
        })
        .collect()
}

/// Whether a record has no more than [`MOST_FIELDS`]; a fault where it has.
pub(super) fn has_few_fields(count: usize, path: &str, faults: &mut Faults) -> bool {
    if count > MOST_FIELDS {
        let message = format!("{count} fields were sent; at most {MOST_FIELDS} are read of one");
        faults.add(FaultKind::TooMany, path, "", message);
        return false;
    }
    true
}

/// The sentence for a field that is not declared.
pub fn unknown_field(name: &str, known: &[&str]) -> String {
    let near = did_you_mean(nearest(name, known.iter().copied()));
    let allowed = listed(known.iter().copied());
    format!(
        "there is no field {}; allowed are {allowed}{near}",
        quoted(name)
    )
}

/// Reads the values of a list, each of which stands in it once.
fn read_values(
    expected: &Expected<'_>,
    values: &[&str],
    path: &str,
    faults: &mut Faults,
) -> Option<Value> {
    if values.len() > MOST_LIST_VALUES {
        let count = values.len();
        let message = format!("{count} values were sent; at most {MOST_LIST_VALUES} are read");
        faults.add(FaultKind::TooMany, path, "", message);
        return None;
    }
    let mut read = Vec::with_capacity(values.len());
    for (place, text) in values.iter().enumerate() {
        let of_value = format!("{path}[{}]", place + 1);
        match read_expected(expected, text) {
            Ok(value) if read.contains(&value) => {
                let message = format!("{} stands in the list twice", quoted(text));
                faults.add(FaultKind::Twice, of_value, text, message);
            }
            Ok(value) => read.push(value),
            Err(misread) => faults.add_misread(of_value, text, misread),
        }
    }
    Some(Value::Values(Arc::from(read)))
}

fn read_list(
    program: &Program,
    part: PartId,
    records: &[BTreeMap<String, String>],
    path: &str,
    faults: &mut Faults,
) -> Value {
    if records.len() > MOST_LIST_RECORDS {
        let count = records.len();
        let message = format!("{count} records were sent; at most {MOST_LIST_RECORDS} are read");
        faults.add(FaultKind::TooMany, path, "", message);
    }
    let fields = &program.parts[part].fields;
    let records: Vec<_> = records
        .iter()
        .take(MOST_LIST_RECORDS)
        .enumerate()
        .map(|(place, record)| {
            let path = format!("{path}[{}]", place + 1);
            read_record(program, fields, record, &path, faults)
        })
        .collect();
    Value::List(Arc::from(records))
}
