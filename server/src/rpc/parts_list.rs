//! What is on hand, as messages.

use loftwright_dsl::program::{Field, Part, PartId, Record, Type, Value};
use loftwright_engine::explain::shown_value;
use loftwright_engine::intake::{nearest, quoted};
use loftwright_engine::parts::{CataloguePart, OnHand, Piece};
use loftwright_proto::v1 as pb;

use super::convert;
use super::parts_source::fault;
use super::refusal::Refusal;
use crate::registry::Ruleset;

/// How many items a page has where nothing is said.
pub(super) const USUAL_ITEMS: usize = 100;
/// The most items of a page.
pub(super) const MOST_ITEMS: usize = 1000;

/// The items of a kind and part, or of all, in the order of the declarations and codes.
///
/// # Errors
/// [`Refusal::Faults`] where there is no such kind or part.
pub(super) fn items<'a>(
    ruleset: &'a Ruleset,
    kind: &str,
    part: &'a str,
) -> Result<impl Iterator<Item = pb::StockItem> + 'a, Refusal> {
    let kinds: Vec<PartId> = ruleset.parts.kinds().collect();
    let name = |id: PartId| ruleset.program.parts[id].name.as_str();
    if !kind.is_empty() && !kinds.iter().any(|id| name(*id) == kind) {
        let near = nearest(kind, kinds.iter().map(|id| name(*id)));
        let known: Vec<String> = kinds.iter().map(|id| quoted(name(*id))).collect();
        let near = near.map_or_else(String::new, |near| {
            format!("; did you mean {}?", quoted(near))
        });
        let sentence = format!(
            "{} was sent; the kinds are {}{near}",
            quoted(kind),
            known.join(", ")
        );
        return Err(Refusal::Faults(vec![fault("kind", sentence)]));
    }
    let wanted: Vec<PartId> = kinds
        .into_iter()
        .filter(|id| kind.is_empty() || name(*id) == kind)
        .collect();
    let is_known = |id: &PartId| ruleset.parts.of(*id).iter().any(|one| one.id == part);
    if !part.is_empty() && !wanted.iter().any(is_known) {
        let sentence = format!("the catalogue has no part {} of the kind", quoted(part));
        return Err(Refusal::Faults(vec![fault("part", sentence)]));
    }
    let of_kind = move |id: PartId| {
        let parts = ruleset.parts.of(id).iter();
        parts
            .filter(move |one| part.is_empty() || one.id == part)
            .flat_map(move |one| of_part(ruleset, id, one))
    };
    Ok(wanted.into_iter().flat_map(of_kind))
}

fn of_part(ruleset: &Ruleset, kind: PartId, part: &CataloguePart) -> Vec<pb::StockItem> {
    let declared = &ruleset.program.parts[kind];
    let item = |piece: Option<&Piece>, count| pb::StockItem {
        kind: declared.name.clone(),
        part_id: part.id.clone(),
        piece_id: piece.map(|piece| piece.id.clone()),
        count,
        fields: fields(ruleset, declared, &part.fields),
        measured: piece.map_or_else(Vec::new, |piece| fields(ruleset, declared, &piece.fields)),
    };
    match &part.on_hand {
        OnHand::Counted(0) => Vec::new(),
        OnHand::Counted(count) => vec![item(None, *count)],
        OnHand::Pieces(pieces) => pieces.iter().map(|piece| item(Some(piece), 1)).collect(),
    }
}

/// The fields of a record that are known. Lists of records are the catalogue's.
fn fields(ruleset: &Ruleset, kind: &Part, record: &Record) -> Vec<pb::NamedValue> {
    let known = |(field, value): (&Field, &Option<Value>)| {
        let value = value.as_ref()?;
        if matches!(field.value_type, Type::List(_)) {
            return None;
        }
        let shown = shown_value(&ruleset.program, field.value_type, &field.shown, value);
        Some(pb::NamedValue {
            name: field.name.clone(),
            value: Some(convert::value(&shown)),
        })
    };
    kind.fields.iter().zip(record).filter_map(known).collect()
}

/// How much there is of each kind.
pub(super) fn kinds_on_hand(ruleset: &Ruleset) -> Vec<pb::KindOnHand> {
    let of_kind = |kind: PartId| {
        let parts = ruleset.parts.of(kind);
        let mut of = pb::KindOnHand {
            kind: ruleset.program.parts[kind].name.clone(),
            parts: count(parts.len()),
            pieces: 0,
            counted: 0,
        };
        for part in parts {
            match &part.on_hand {
                OnHand::Counted(counted) => of.counted = of.counted.saturating_add(*counted),
                OnHand::Pieces(pieces) => of.pieces = of.pieces.saturating_add(count(pieces.len())),
            }
        }
        of
    };
    ruleset.parts.kinds().map(of_kind).collect()
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
