//! From parts to their text.

use std::fmt::Write;

use loftwright_dsl::program::{Field, Part, Program, Record, Type, Value};
use loftwright_engine::parts::{CataloguePart, OnHand, Parts};

use super::{HEAD, label};

/// The canonical text that the digest is of.
pub fn parts_text(program: &Program, parts: &Parts) -> String {
    let mut text = HEAD.to_owned();
    let mut kinds: Vec<_> = parts.kinds().collect();
    kinds.sort_by_key(|kind| program.parts[*kind].name.as_str());
    for kind in kinds {
        let part = &program.parts[kind];
        item(&mut text, label::KIND, &part.name);
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
    item(text, label::PART, &catalogued.id);
    record(text, program, &part.fields, &catalogued.fields);
    if let Some(days) = catalogued.lead_time_days {
        item(text, label::LEAD_TIME_DAYS, &days.to_string());
    }
    match &catalogued.on_hand {
        OnHand::Counted(count) => item(text, label::ON_HAND, &count.to_string()),
        OnHand::Pieces(pieces) => {
            for piece in pieces {
                item(text, label::PIECE, &piece.id);
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
    item(text, label::FIELDS, &named.len().to_string());
    for (field, value) in named {
        item(text, label::FIELD, &field.name);
        value_text(text, program, field.value_type, value);
    }
}

fn value_text(text: &mut String, program: &Program, value_type: Type, value: &Value) {
    match (value, value_type) {
        (Value::Number(number), _) => {
            let fraction = format!("{}/{}", number.numerator(), number.denominator());
            item(text, label::NUMBER, &fraction);
        }
        (Value::Flag(flag), _) => item(text, label::FLAG, &flag.to_string()),
        (Value::Word(word), Type::Choice(id) | Type::Scale(id)) => {
            item(text, label::WORD, &program.vocabularies[id].text_of(*word));
        }
        (Value::Word(word), _) => item(text, label::WORD, &word.to_string()),
        (Value::Text(words), _) => item(text, label::TEXT, words),
        (Value::List(records), Type::List(id)) => {
            item(text, label::RECORDS, &records.len().to_string());
            for one in records.iter() {
                record(text, program, &program.parts[id].fields, one);
            }
        }
        (Value::List(records), _) => item(text, label::RECORDS, &records.len().to_string()),
        (Value::Values(values), of_list) => {
            item(text, label::VALUES, &values.len().to_string());
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
