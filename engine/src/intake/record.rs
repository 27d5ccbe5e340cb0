//! Fields of clubs, parts and settings, read against their declaration.

use std::collections::BTreeMap;
use std::sync::Arc;

use loftwright_dsl::program::{Field, PartId, Program, Record, Type, Value};

use super::expected::Expected;
use super::fault::Faults;
use super::names::{did_you_mean, listed, nearest};
use super::quote::{quoted, shortened};
use super::value::read_expected;
use super::{FieldText, MOST_FIELDS, MOST_LIST_RECORDS};

/// What was sent for a field.
#[derive(Clone, Copy)]
pub(super) enum Sent<'a> {
    /// A text.
    Text(&'a str),
    /// Records.
    List(&'a [BTreeMap<String, String>]),
}

impl<'a> From<&'a FieldText> for Sent<'a> {
    fn from(field: &'a FieldText) -> Self {
        match field {
            FieldText::Text(text) => Sent::Text(text),
            FieldText::List(records) => Sent::List(records),
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
            faults.add(path, "", missing(&field.name, &expected.needed()));
            None
        }
        (Some(Sent::List(records)), Type::List(part)) => {
            Some(read_list(program, part, records, path, faults))
        }
        (Some(Sent::List(_)), _) => {
            faults.add(path, "", format!("a list was sent; {}", expected.needed()));
            None
        }
        (Some(Sent::Text(text)), _) => match read_expected(&expected, text) {
            Ok(value) => Some(value),
            Err(message) => {
                faults.add(path, text, message);
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
            faults.add(path, text, unknown_field(name, &known));
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
        faults.add(path, "", message);
        return false;
    }
    true
}

/// The sentence for a field that is not declared.
pub(super) fn unknown_field(name: &str, known: &[&str]) -> String {
    let near = did_you_mean(nearest(name, known.iter().copied()));
    let allowed = listed(known.iter().copied());
    format!(
        "there is no field {}; allowed are {allowed}{near}",
        quoted(name)
    )
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
        faults.add(path, "", message);
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
