//! Which fields a record of catalogue or stock has, before any value is read: what a reader of a
//! file needs to say of a whole column what would else be said of every row.

use loftwright_dsl::program::{Field, Part, Program};

use super::expected::Expected;
use super::fault::FaultKind;
use super::parts::{ID, LEAD_TIME_DAYS, ON_HAND, PART};
use super::quote::quoted;
use super::record::unknown_field;

/// The two sides of a parts folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The parts that can be ordered.
    Catalogue,
    /// The pieces and counts on hand.
    Stock,
}

/// Whether a part's record has the field: neither what is measured on each piece nor what is on
/// hand.
pub(super) fn is_of_the_part(field: &Field) -> bool {
    !field.of_each_piece && field.name != ON_HAND
}

/// The names of the fields that records of a side have, in the order in which they are written.
pub fn field_names(part: &Part, side: Side) -> Vec<&str> {
    let declared = part.fields.iter();
    let (mut names, fields): (Vec<&str>, Vec<&Field>) = match side {
        Side::Catalogue => (
            vec![ID, LEAD_TIME_DAYS],
            declared.filter(|field| is_of_the_part(field)).collect(),
        ),
        Side::Stock => (
            vec![ID, PART, ON_HAND],
            declared.filter(|field| field.of_each_piece).collect(),
        ),
    };
    names.extend(fields.iter().map(|field| field.name.as_str()));
    names
}

/// Why records of a side have no field of that name; `None` where they have.
pub fn refused_field(part: &Part, side: Side, name: &str) -> Option<(FaultKind, String)> {
    let names = field_names(part, side);
    if names.contains(&name) {
        return None;
    }
    let declared = part.fields.iter().find(|field| field.name == name);
    let sent = quoted(name);
    Some(match (side, declared) {
        (Side::Catalogue, _) if name == ON_HAND => (
            FaultKind::Misplaced,
            "`on_hand` is the stock's; it does not stand in the catalogue".to_owned(),
        ),
        (Side::Catalogue, Some(_)) => (
            FaultKind::Misplaced,
            format!(
                "{sent} is measured on each piece; it stands in the stock, not in the catalogue"
            ),
        ),
        (Side::Stock, Some(_)) => (
            FaultKind::Misplaced,
            format!("{sent} is the part's; it stands in the catalogue, not in the stock"),
        ),
        (_, None) => (FaultKind::UnknownName, unknown_field(name, &names)),
    })
}

/// The fields without which no record of a side can be read, each with what is needed there.
pub fn needed_fields<'a>(program: &Program, part: &'a Part, side: Side) -> Vec<(&'a str, String)> {
    let code = |name: &'a str| (name, "a code is needed".to_owned());
    let needed_field = |field: &'a Field| {
        let expected = Expected::of_field(program, field);
        (field.name.as_str(), expected.needed())
    };
    match side {
        Side::Catalogue => {
            let declared = part.fields.iter();
            let needed = declared.filter(|field| is_of_the_part(field) && !field.may_be_unknown);
            std::iter::once(code(ID))
                .chain(needed.map(needed_field))
                .collect()
        }
        Side::Stock => vec![code(PART)],
    }
}
