//! From a text to the parts it is of.

use std::collections::BTreeMap;
use std::sync::Arc;

use loftwright_dsl::program::{Field, Part, PartId, Program, Record, Type, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_engine::intake::quoted;
use loftwright_engine::parts::{CataloguePart, OnHand, Parts, Piece};

use super::{HEAD, label};

/// Why a text is no snapshot of parts, or not one that a program can read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("at byte {byte} of the snapshot: {why}")]
pub struct SnapshotFault {
    /// Where, counted from 0.
    pub byte: usize,
    /// What is wrong there.
    pub why: String,
}

/// The parts of a text, for evaluations of this program.
///
/// # Errors
/// The first [`SnapshotFault`]: the text is cut or changed, or names a kind, field or word that the
/// program does not declare.
pub fn parts_of_text(program: &Program, text: &str) -> Result<Parts, SnapshotFault> {
    let mut items = Items { text, at: 0 };
    if !text.starts_with(HEAD) {
        return Err(items.fault(format!(
            "it does not begin with {}",
            quoted(HEAD.trim_end())
        )));
    }
    items.at = HEAD.len();
    let mut kinds: BTreeMap<PartId, Vec<CataloguePart>> = BTreeMap::new();
    while let Some(name) = items.take(label::KIND) {
        let kind = program.parts.entries().find(|(_, part)| part.name == name);
        let (id, part) =
            kind.ok_or_else(|| items.fault(format!("no kind of part is {}", quoted(name))))?;
        let parts = kinds.entry(id).or_default();
        while let Some(code) = items.take(label::PART) {
            parts.push(catalogue_part(program, part, code, &mut items)?);
        }
    }
    match items.rest() {
        "" => Ok(Parts::new(program, kinds)),
        _ => Err(items.fault("an item that does not belong here".to_owned())),
    }
}

/// The items of a text, one after the other.
struct Items<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Items<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    /// The value of the next item, where it has this label.
    fn take(&mut self, label: &str) -> Option<&'a str> {
        let after = self.rest().strip_prefix(label)?.strip_prefix(' ')?;
        let (length, after) = after.split_once(' ')?;
        let value = after.get(..length.parse().ok()?)?;
        let rest = after.strip_prefix(value)?.strip_prefix('\n')?;
        self.at = self.text.len().saturating_sub(rest.len());
        Some(value)
    }

    fn count(&mut self, label: &str) -> Result<usize, SnapshotFault> {
        self.needed_as(label, |text| text.parse().ok())
    }

    fn needed(&mut self, label: &str) -> Result<&'a str, SnapshotFault> {
        self.take(label)
            .ok_or_else(|| self.fault(format!("an item {} is missing", quoted(label))))
    }

    /// The value of the next item, read from its text.
    fn needed_as<T>(
        &mut self,
        label: &str,
        read: impl FnOnce(&str) -> Option<T>,
    ) -> Result<T, SnapshotFault> {
        let text = self.needed(label)?;
        read(text).ok_or_else(|| self.fault(format!("{} is no {label}", quoted(text))))
    }

    fn fault(&self, why: String) -> SnapshotFault {
        SnapshotFault { byte: self.at, why }
    }
}

fn catalogue_part(
    program: &Program,
    part: &Part,
    code: &str,
    items: &mut Items<'_>,
) -> Result<CataloguePart, SnapshotFault> {
    let fields = record(program, &part.fields, items)?;
    let lead_time_days = match items.take(label::LEAD_TIME_DAYS) {
        Some(days) => Some(whole(days).ok_or_else(|| items.fault(not_whole(days)))?),
        None => None,
    };
    let on_hand = match items.take(label::ON_HAND) {
        Some(count) => OnHand::Counted(whole(count).ok_or_else(|| items.fault(not_whole(count)))?),
        None => OnHand::Pieces(pieces(program, part, items)?),
    };
    Ok(CataloguePart {
        id: code.to_owned(),
        fields,
        lead_time_days,
        on_hand,
    })
}

fn whole(text: &str) -> Option<i64> {
    text.parse().ok()
}

fn not_whole(text: &str) -> String {
    format!("{} is no whole number", quoted(text))
}

fn pieces(
    program: &Program,
    part: &Part,
    items: &mut Items<'_>,
) -> Result<Vec<Piece>, SnapshotFault> {
    let mut pieces = Vec::new();
    while let Some(code) = items.take(label::PIECE) {
        pieces.push(Piece {
            id: code.to_owned(),
            fields: record(program, &part.fields, items)?,
        });
    }
    Ok(pieces)
}

fn record(
    program: &Program,
    fields: &[Field],
    items: &mut Items<'_>,
) -> Result<Record, SnapshotFault> {
    let mut record: Record = vec![None; fields.len()];
    for _ in 0..items.count(label::FIELDS)? {
        let name = items.needed(label::FIELD)?;
        let mut places = fields.iter().zip(record.iter_mut());
        let (field, place) = places
            .find(|(field, _)| field.name == name)
            .ok_or_else(|| items.fault(format!("no field is {}", quoted(name))))?;
        *place = Some(value(program, field.value_type, items)?);
    }
    Ok(record)
}

fn value(
    program: &Program,
    value_type: Type,
    items: &mut Items<'_>,
) -> Result<Value, SnapshotFault> {
    Ok(match value_type {
        Type::Flag => Value::Flag(items.needed_as(label::FLAG, |text| text.parse().ok())?),
        Type::Choice(id) | Type::Scale(id) => {
            let vocabulary = &program.vocabularies[id];
            let values = vocabulary.values();
            let of_text = |text: &str| {
                let is_it = |value: &i32| vocabulary.text_of(*value) == text;
                values.into_iter().find(is_it)
            };
            Value::Word(items.needed_as(label::WORD, of_text)?)
        }
        Type::Text => Value::Text(Arc::from(items.needed(label::TEXT)?)),
        Type::List(id) => {
            let count = items.count(label::RECORDS)?;
            let fields = &program.parts[id].fields;
            let mut records = Vec::new();
            for _ in 0..count {
                records.push(record(program, fields, items)?);
            }
            Value::List(records.into())
        }
        Type::ListOf(element) => {
            let count = items.count(label::VALUES)?;
            let mut values = Vec::new();
            for _ in 0..count {
                values.push(value(program, element.value_type(), items)?);
            }
            Value::Values(values.into())
        }
        Type::Quantity(_) | Type::Temperature | Type::Swingweight | Type::Count | Type::Date => {
            Value::Number(items.needed_as(label::NUMBER, |text| text.parse::<Rational>().ok())?)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load;
    use crate::parts_snapshot::parts_text;

    fn program() -> Program {
        load::revision(None, Some("skerry")).expect("rules").program
    }

    fn text(program: &Program) -> String {
        parts_text(program, &load::parts(program, None).expect("parts"))
    }

    #[test]
    fn a_text_read_and_written_again_is_the_same() {
        let program = program();
        let text = text(&program);
        let parts = parts_of_text(&program, &text).expect("parts");
        assert!(parts.all().count() > 100);
        assert_eq!(parts_text(&program, &parts), text);
    }

    #[test]
    fn a_text_that_is_cut_or_names_what_is_unknown_says_where() {
        let program = program();
        let text = text(&program);
        for place in (0..text.len().saturating_sub(1)).step_by(997) {
            let Some(cut) = text.get(..place) else {
                continue;
            };
            // A text cut between two parts is one of fewer parts: its digest tells it apart.
            let is_at_an_item = cut.ends_with('\n') && place >= HEAD.len();
            let read = parts_of_text(&program, cut);
            assert!(read.is_err() || is_at_an_item, "cut at {place}");
        }
        let foreign = text.replacen("kind 4 head", "kind 4 hood", 1);
        let fault = parts_of_text(&program, &foreign).expect_err("no such kind");
        assert!(fault.why.contains("no kind of part is `hood`"), "{fault}");
    }
}
