//! Parts of the catalogue.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Part, PartId, Program, Record, Type, Value};
use loftwright_dsl::quantity::Rational;

use super::expected::Expected;
use super::fault::{FaultKind, Faults};
use super::part_fields::{Side, is_of_the_part, refused_field};
use super::parts::{ID, LEAD_TIME_DAYS, needed_text, path_of, read_id};
use super::quote::quoted;
use super::record::{Sent, has_few_fields, read_field};
use super::value::read_expected;
use super::{MOST_LEAD_TIME_DAYS, MOST_PARTS, RecordText};
use crate::parts::{CataloguePart, OnHand};

/// The parts read so far, by kind and code.
#[derive(Default)]
pub(super) struct Catalogue {
    /// The parts of each kind, sorted by code.
    pub(super) kinds: BTreeMap<PartId, BTreeMap<String, KnownPart>>,
}

/// A part with where its record stands.
pub(super) struct KnownPart {
    /// The part.
    pub(super) part: CataloguePart,
    /// The place of its record.
    pub(super) place: String,
}

/// Reads the parts of one kind into the catalogue.
pub(super) fn read_catalogue(
    program: &Program,
    kind: PartId,
    records: &[&RecordText],
    catalogue: &mut Catalogue,
    faults: &mut Faults,
) {
    let part = &program.parts[kind];
    let known = catalogue.kinds.entry(kind).or_default();
    if records.len() > MOST_PARTS {
        let count = records.len();
        let message = format!("{count} parts were sent; at most {MOST_PARTS} of a kind are read");
        faults.add(
            FaultKind::TooMany,
            format!("catalogue.{}", part.name),
            "",
            message,
        );
    }
    for record in records.iter().take(MOST_PARTS) {
        let path = record.place.as_str();
        if !has_few_fields(record.fields.len(), path, faults) {
            continue;
        }
        let id = read_id(record, ID, faults);
        let lead_time_days = read_lead_time(program, record, faults);
        let fields = read_fields(program, part, record, faults);
        let Some(id) = id else { continue };
        if let Some(first) = known.get(&id) {
            let message = format!(
                "{} is the code of another {} too ({}); each has its own",
                quoted(&id),
                part.name,
                first.place
            );
            let first = format!("{}: {ID}", first.place);
            faults.add_twice(path_of(record, ID), &id, message, first);
            continue;
        }
        // Where something can be measured on the single piece the drawers hold pieces.
        let on_hand = if part.fields.iter().any(|field| field.of_each_piece) {
            OnHand::Pieces(Vec::new())
        } else {
            OnHand::Counted(0)
        };
        let part = CataloguePart {
            id: id.clone(),
            fields,
            lead_time_days,
            on_hand,
        };
        let place = record.place.clone();
        known.insert(id, KnownPart { part, place });
    }
}

fn read_fields(program: &Program, part: &Part, record: &RecordText, faults: &mut Faults) -> Record {
    for (name, sent) in &record.fields {
        let Some((kind, message)) = refused_field(part, Side::Catalogue, name) else {
            continue;
        };
        faults.add(
            kind,
            path_of(record, name),
            Sent::from(sent).text(),
            message,
        );
    }
    part.fields
        .iter()
        .map(|field| {
            if !is_of_the_part(field) {
                return None;
            }
            let sent = record.fields.get(&field.name).map(Sent::from);
            read_field(program, field, sent, &path_of(record, &field.name), faults)
        })
        .collect()
}

fn read_lead_time(program: &Program, record: &RecordText, faults: &mut Faults) -> Option<i64> {
    record.fields.get(LEAD_TIME_DAYS)?;
    read_count(program, record, LEAD_TIME_DAYS, MOST_LEAD_TIME_DAYS, faults)
}

/// Reads a whole number from 0 through `most`.
pub(super) fn read_count(
    program: &Program,
    record: &RecordText,
    field: &str,
    most: i64,
    faults: &mut Faults,
) -> Option<i64> {
    let between = (
        Value::Number(Rational::ZERO),
        Value::Number(Rational::whole(most)),
    );
    let expected = Expected {
        between: Some(&between),
        ..Expected::of_type(program, Type::Count)
    };
    let text = needed_text(record, field, &expected.needed(), faults)?;
    match read_expected(&expected, text) {
        Ok(value) => value.number().and_then(Rational::to_whole),
        Err(misread) => {
            faults.add_misread(path_of(record, field), text, misread);
            None
        }
    }
}
