//! The digest that identifies a snapshot of parts and stock.
//!
//! SHA-256 over a canonical text: kinds, parts, pieces and fields by name in sorted order, values
//! exact, every item on a line of its own with its length before it, so that no two snapshots share
//! a text.

use std::fmt::Write;

use loftwright_dsl::program::{Field, Part, Program, Record, Type, Value};
use loftwright_engine::parts::{CataloguePart, OnHand, Parts};
use sha2::{Digest, Sha256};

/// SHA-256 of the parts, in lower-case hexadecimal.
pub(crate) fn parts_digest(program: &Program, parts: &Parts) -> String {
    let text = parts_text(program, parts);
    Sha256::digest(text.as_bytes())
        .iter()
        .fold(String::new(), |mut hexadecimal, byte| {
            let _ = write!(hexadecimal, "{byte:02x}");
            hexadecimal
        })
}

/// The canonical text that the digest is of.
pub(crate) fn parts_text(program: &Program, parts: &Parts) -> String {
    let mut text = String::from("loftwright parts 1\n");
    let mut kinds: Vec<_> = parts.kinds().collect();
    kinds.sort_by_key(|kind| program.parts[*kind].name.as_str());
    for kind in kinds {
        let part = &program.parts[kind];
        item(&mut text, "kind", &part.name);
        for catalogued in parts.of(kind) {
            part_text(&mut text, program, part, catalogued);
        }
    }
    text
}

fn item(text: &mut String, label: &str, value: &str) {
    let _ = writeln!(text, "{label} {} {value}", value.len());
}

fn part_text(text: &mut String, program: &Program, part: &Part, catalogued: &CataloguePart) {
    item(text, "part", &catalogued.id);
    record(text, program, &part.fields, &catalogued.fields);
    if let Some(days) = catalogued.lead_time_days {
        item(text, "lead time in days", &days.to_string());
    }
    match &catalogued.on_hand {
        OnHand::Counted(count) => item(text, "on hand", &count.to_string()),
        OnHand::Pieces(pieces) => {
            for piece in pieces {
                item(text, "piece", &piece.id);
                record(text, program, &part.fields, &piece.fields);
            }
        }
    }
}

fn record(text: &mut String, program: &Program, fields: &[Field], record: &Record) {
    let mut named: Vec<(&Field, &Value)> = fields
        .iter()
        .zip(record)
        .filter_map(|(field, value)| Some((field, value.as_ref()?)))
        .collect();
    named.sort_by_key(|(field, _)| field.name.as_str());
    for (field, value) in named {
        item(text, "field", &field.name);
        value_text(text, program, field.value_type, value);
    }
}

fn value_text(text: &mut String, program: &Program, value_type: Type, value: &Value) {
    match (value, value_type) {
        (Value::Number(number), _) => {
            let fraction = format!("{}/{}", number.numerator(), number.denominator());
            item(text, "number", &fraction);
        }
        (Value::Flag(flag), _) => item(text, "flag", &flag.to_string()),
        (Value::Word(word), Type::Choice(id) | Type::Scale(id)) => {
            item(text, "word", &program.vocabularies[id].text_of(*word));
        }
        (Value::Word(word), _) => item(text, "word", &word.to_string()),
        (Value::Text(words), _) => item(text, "text", words),
        (Value::List(records), Type::List(id)) => {
            item(text, "records", &records.len().to_string());
            for one in records.iter() {
                item(text, "record", "");
                record(text, program, &program.parts[id].fields, one);
            }
        }
        (Value::List(records), _) => item(text, "records", &records.len().to_string()),
        (Value::Values(values), of_list) => {
            item(text, "values", &values.len().to_string());
            for value in values.iter() {
                let element = match of_list {
                    Type::ListOf(element) => element.value_type(),
                    other => other,
                };
                value_text(text, program, element, value);
            }
        }
    }
}
