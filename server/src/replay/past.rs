//! What a recorded body says, as far as it is compared.

use std::collections::BTreeMap;

use loftwright_engine::intake::{PlayerText, ReadingText};

use crate::audit::encoding::Value;

type Fields = BTreeMap<String, Value>;

/// What a decision came to.
#[derive(Clone, Copy, Debug)]
pub struct PastDecision<'a> {
    /// Its name.
    pub name: &'a str,
    /// The club, empty where there is none.
    pub club: &'a str,
    /// How it ended, as the interface names it: `ENDING_DECIDED`.
    pub ending: &'a str,
    /// The value, where there is one.
    pub value: Option<PastValue<'a>>,
    steps: &'a [Value],
}

/// A recorded value.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PastValue<'a> {
    /// As a person reads it.
    pub text: &'a str,
    /// The exact value.
    pub exact: &'a str,
}

/// A row that decided.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct DecidingRow {
    /// The table's number, from 1.
    pub table: u32,
    /// The row's number, from 1; absent where no row of the table decided.
    pub row: Option<u32>,
    /// As it is written.
    pub text: String,
    /// The rule's own reason.
    pub because: Option<String>,
}

/// The readings and kept clubs of a recorded request; `None` where it is of another form.
pub(super) fn player(request: Value) -> Option<PlayerText> {
    let mut fields = owned_map(request)?;
    let mut player = PlayerText::default();
    if let Some(readings) = fields.remove("readings") {
        for (name, value) in owned_map(readings)? {
            player.readings.insert(name, reading(owned_map(value)?)?);
        }
    }
    let clubs = match fields.remove("kept_clubs") {
        None => Vec::new(),
        Some(Value::List(clubs)) => clubs,
        Some(_) => return None,
    };
    let clubs: Option<Vec<_>> = clubs.into_iter().map(club).collect();
    let clubs = clubs?;
    if !clubs.is_empty() {
        player.given.insert("kept".to_owned(), clubs);
    }
    Some(player)
}

fn club(value: Value) -> Option<BTreeMap<String, String>> {
    let fields = owned_map(value)?.into_iter();
    fields
        .map(|(name, value)| match value {
            Value::Text(text) => Some((name, text)),
            _ => None,
        })
        .collect()
}

fn reading(mut fields: Fields) -> Option<ReadingText> {
    let mut text = |name| match fields.remove(name) {
        None => Some(None),
        Some(Value::Text(text)) => Some(Some(text)),
        Some(_) => None,
    };
    Some(ReadingText {
        value: text("value")?.unwrap_or_default(),
        spread: text("spread")?,
        shots: number(&fields, "shots")?,
    })
}

fn owned_map(value: Value) -> Option<Fields> {
    match value {
        Value::Map(fields) => Some(fields),
        _ => None,
    }
}

/// The decisions and choices of a recorded recommendation, in their order; `None` where it is of
/// another form.
pub(super) fn decisions(recommendation: &Value) -> Option<Vec<PastDecision<'_>>> {
    let decisions = list(map(recommendation)?, "decisions")?.iter();
    decisions.map(|value| decision(map(value)?)).collect()
}

fn decision(fields: &Fields) -> Option<PastDecision<'_>> {
    let value = match fields.get("value") {
        Some(value) => {
            let fields = map(value)?;
            Some(PastValue {
                text: text(fields, "text")?.unwrap_or_default(),
                exact: text(fields, "exact")?.unwrap_or_default(),
            })
        }
        None => None,
    };
    Some(PastDecision {
        name: text(fields, "name")?.unwrap_or_default(),
        club: text(fields, "club")?.unwrap_or_default(),
        ending: text(fields, "ending")?.unwrap_or_default(),
        value,
        steps: list(fields, "steps")?,
    })
}

impl PastDecision<'_> {
    /// The rows that decided; `None` where the steps are of another form.
    pub fn rows(&self) -> Option<Vec<DecidingRow>> {
        let mut rows = Vec::new();
        for step in self.steps {
            let fields = map(step)?;
            let Some(table) = number(fields, "table")? else {
                continue;
            };
            rows.push(DecidingRow {
                table,
                row: number(fields, "row")?,
                text: text(fields, "rule")?.unwrap_or_default().to_owned(),
                because: text(fields, "because")?.map(str::to_owned),
            });
        }
        Some(rows)
    }
}

fn map(value: &Value) -> Option<&Fields> {
    match value {
        Value::Map(fields) => Some(fields),
        _ => None,
    }
}

/// The elements of a list: none where the field is left out; `None` where it is no list.
fn list<'a>(fields: &'a Fields, name: &str) -> Option<&'a [Value]> {
    match fields.get(name) {
        None => Some(&[]),
        Some(Value::List(values)) => Some(values),
        Some(_) => None,
    }
}

/// A text that may be left out; `None` where it is no text.
fn text<'a>(fields: &'a Fields, name: &str) -> Option<Option<&'a str>> {
    match fields.get(name) {
        None => Some(None),
        Some(Value::Text(text)) => Some(Some(text)),
        Some(_) => None,
    }
}

/// A number that may be left out; `None` where it is no such number.
fn number(fields: &Fields, name: &str) -> Option<Option<u32>> {
    match fields.get(name) {
        None => Some(None),
        Some(Value::Whole(number)) => u32::try_from(*number).ok().map(Some),
        Some(_) => None,
    }
}
