//! What a recorded body says, as far as it is compared.

use std::collections::BTreeMap;

use loftwright_engine::intake::{PlayerText, ReadingText, Sent};

use crate::audit::encoding::Borrowed;

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
    steps: &'a [Borrowed<'a>],
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
pub(super) fn player(request: &Borrowed<'_>) -> Option<PlayerText> {
    request.entries()?;
    let mut player = PlayerText::default();
    if let Some(readings) = request.entry("readings") {
        for (name, value) in readings.entries()? {
            player.readings.insert((*name).to_owned(), reading(value)?);
        }
    }
    let clubs: Option<Vec<_>> = list(request, "kept_clubs")?.iter().map(club).collect();
    let clubs = clubs?;
    if !clubs.is_empty() {
        player.given.insert("kept".to_owned(), clubs);
    }
    Some(player)
}

/// The readings of a recorded request that brings no clubs; `None` of any other, and where it is of
/// another form.
pub(super) fn readings<'v>(request: &'v Borrowed<'_>) -> Option<Vec<(&'v str, Sent<'v>)>> {
    request.entries()?;
    if !list(request, "kept_clubs")?.is_empty() {
        return None;
    }
    let readings = match request.entry("readings") {
        Some(readings) => readings.entries()?,
        None => &[],
    };
    let readings = readings.iter();
    readings
        .map(|(name, value)| Some((*name, sent(value)?)))
        .collect()
}

fn club(club: &Borrowed<'_>) -> Option<BTreeMap<String, String>> {
    let fields = club.entries()?.iter();
    fields
        .map(|(name, value)| match value {
            Borrowed::Text(text) => Some(((*name).to_owned(), (*text).to_owned())),
            _ => None,
        })
        .collect()
}

fn reading(reading: &Borrowed<'_>) -> Option<ReadingText> {
    let sent = sent(reading)?;
    Some(ReadingText {
        value: sent.value.to_owned(),
        spread: sent.spread.map(str::to_owned),
        shots: sent.shots,
    })
}

fn sent<'v>(reading: &'v Borrowed<'_>) -> Option<Sent<'v>> {
    reading.entries()?;
    Some(Sent {
        value: text(reading, "value")?.unwrap_or_default(),
        spread: text(reading, "spread")?,
        shots: number(reading, "shots")?,
    })
}

/// The decisions and choices of a recorded recommendation, in their order; `None` where it is of
/// another form.
pub(super) fn decisions<'a>(recommendation: &'a Borrowed<'a>) -> Option<Vec<PastDecision<'a>>> {
    recommendation.entries()?;
    let decisions = list(recommendation, "decisions")?.iter();
    decisions.map(decision).collect()
}

fn decision<'a>(decision: &'a Borrowed<'a>) -> Option<PastDecision<'a>> {
    decision.entries()?;
    let value = match decision.entry("value") {
        Some(value) => {
            value.entries()?;
            Some(PastValue {
                text: text(value, "text")?.unwrap_or_default(),
                exact: text(value, "exact")?.unwrap_or_default(),
            })
        }
        None => None,
    };
    Some(PastDecision {
        name: text(decision, "name")?.unwrap_or_default(),
        club: text(decision, "club")?.unwrap_or_default(),
        ending: text(decision, "ending")?.unwrap_or_default(),
        value,
        steps: list(decision, "steps")?,
    })
}

impl PastDecision<'_> {
    /// The rows that decided; `None` where the steps are of another form.
    pub fn rows(&self) -> Option<Vec<DecidingRow>> {
        let mut rows = Vec::new();
        for step in self.steps {
            step.entries()?;
            let Some(table) = number(step, "table")? else {
                continue;
            };
            rows.push(DecidingRow {
                table,
                row: number(step, "row")?,
                text: text(step, "rule")?.unwrap_or_default().to_owned(),
                because: text(step, "because")?.map(str::to_owned),
            });
        }
        Some(rows)
    }
}

/// The elements of a list: none where the field is left out; `None` where it is no list.
fn list<'a, 'v>(map: &'v Borrowed<'a>, name: &str) -> Option<&'v [Borrowed<'a>]> {
    map.entry(name).map_or(Some(&[]), Borrowed::elements)
}

/// A text that may be left out; `None` where it is no text.
fn text<'a>(map: &Borrowed<'a>, name: &str) -> Option<Option<&'a str>> {
    match map.entry(name) {
        None => Some(None),
        Some(Borrowed::Text(text)) => Some(Some(text)),
        Some(_) => None,
    }
}

/// A number that may be left out; `None` where it is no such number.
fn number(map: &Borrowed<'_>, name: &str) -> Option<Option<u32>> {
    match map.entry(name) {
        None => Some(None),
        Some(Borrowed::Whole(number)) => u32::try_from(*number).ok().map(Some),
        Some(_) => None,
    }
}
