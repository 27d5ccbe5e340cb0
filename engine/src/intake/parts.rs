//! Catalogue and stock of a workshop.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Part, PartId, Program, Type};

use super::catalogue::{Catalogue, read_catalogue};
use super::fault::{Fault, FaultKind, Faults};
use super::names::{did_you_mean, listed, nearest};
use super::quote::{quoted, shortened};
use super::record::{Sent, missing};
use super::stock::read_stock;
use super::{LONGEST_ID_BYTES, PartsText, RecordText};
use crate::parts::Parts;

pub(super) use crate::parts::ON_HAND;

/// The field that holds a part's or a piece's code.
pub(super) const ID: &str = "id";
/// The field of a stock record that holds the code of the part.
pub(super) const PART: &str = "part";
/// The field that says how long an order takes.
pub(super) const LEAD_TIME_DAYS: &str = "lead_time_days";

/// Reads catalogue and stock against a program's `part` declarations. Parts and pieces come sorted
/// by their codes, whatever the order they were sent in.
///
/// # Errors
/// Every fault of the text: those of the catalogue first, in the order sent.
pub fn read_parts(program: &Program, text: &PartsText) -> Result<Parts, Vec<Fault>> {
    let mut faults = Faults::default();
    let mut catalogue = Catalogue::default();
    for (id, records) in by_kind(program, "catalogue", &text.catalogue, &mut faults) {
        read_catalogue(program, id, &records, &mut catalogue, &mut faults);
    }
    for (id, records) in by_kind(program, "stock", &text.stock, &mut faults) {
        read_stock(program, id, &records, &mut catalogue, &mut faults);
    }
    let kinds = catalogue
        .kinds
        .into_iter()
        .map(|(id, parts)| (id, parts.into_values().map(|known| known.part).collect()))
        .collect();
    faults.or_read(Parts::new(program, kinds))
}

/// The records of each kind, in the order of the declarations; kinds that do not exist are faults.
fn by_kind<'a>(
    program: &Program,
    side: &str,
    sent: &'a [(String, Vec<RecordText>)],
    faults: &mut Faults,
) -> BTreeMap<PartId, Vec<&'a RecordText>> {
    let mut by_kind: BTreeMap<PartId, Vec<&RecordText>> = BTreeMap::new();
    for (kind, records) in sent {
        let part = program.parts.entries().find(|(_, part)| part.name == *kind);
        match part {
            Some((id, part)) if !is_only_listed(program, id, part) => {
                by_kind.entry(id).or_default().extend(records);
            }
            _ => {
                let path = format!("{side}.{}", shortened(kind));
                let message = not_a_kind(program, kind);
                faults.add(FaultKind::UnknownName, path, kind, message);
            }
        }
    }
    by_kind
}

/// Whether records of the part stand only in lists of other parts (the settings of a head).
fn is_only_listed(program: &Program, id: PartId, part: &Part) -> bool {
    let is_listed = program
        .parts
        .iter()
        .flat_map(|other| &other.fields)
        .any(|field| field.value_type == Type::List(id));
    is_listed && part.field_index(ON_HAND).is_none()
}

fn not_a_kind(program: &Program, kind: &str) -> String {
    let known: Vec<_> = program
        .parts
        .entries()
        .filter(|(id, part)| !is_only_listed(program, *id, part))
        .map(|(_, part)| part.name.as_str())
        .collect();
    let sent = quoted(kind);
    let allowed = match known.as_slice() {
        [] => "the rules declare no parts".to_owned(),
        _ => format!("the kinds are {}", listed(known.iter().copied())),
    };
    if program.parts.iter().any(|part| part.name == *kind) {
        return format!("records of {sent} stand in the lists of other parts; {allowed}");
    }
    let near = did_you_mean(nearest(kind, known.iter().copied()));
    format!("there is no kind of part {sent}; {allowed}{near}")
}

/// The path of a field of a record, for people.
pub(super) fn path_of(record: &RecordText, field: &str) -> String {
    format!("{}: {}", shortened(&record.place), shortened(field))
}

/// The text of a field that takes no list; a fault where it is missing or a list.
pub(super) fn needed_text<'a>(
    record: &'a RecordText,
    field: &str,
    needed: &str,
    faults: &mut Faults,
) -> Option<&'a str> {
    match record.fields.get(field).map(Sent::from) {
        Some(Sent::Text(text)) => Some(text),
        Some(Sent::List(_) | Sent::Values(_)) => {
            let message = format!("a list was sent; {needed}");
            faults.add(FaultKind::WrongForm, path_of(record, field), "", message);
            None
        }
        None => {
            let message = missing(field, needed);
            faults.add(FaultKind::Missing, path_of(record, field), "", message);
            None
        }
    }
}

/// Reads the code of a part or piece; a fault where it is missing or none.
pub(super) fn read_id(record: &RecordText, field: &str, faults: &mut Faults) -> Option<String> {
    let text = needed_text(record, field, "a code is needed", faults)?;
    let id = text.trim();
    let mut kind = FaultKind::Unreadable;
    let message = if id.is_empty() {
        "the code is empty; a code is needed".to_owned()
    } else if id.len() > LONGEST_ID_BYTES {
        let length = id.len();
        kind = FaultKind::TooMany;
        format!(
            "{} is {length} bytes long; a code has at most {LONGEST_ID_BYTES}",
            quoted(id)
        )
    } else if shortened(id) != id {
        let sent = quoted(id);
        format!("{sent} holds an invisible character; a code is written in visible ones")
    } else {
        return Some(id.to_owned());
    };
    faults.add(kind, path_of(record, field), text, message);
    None
}
