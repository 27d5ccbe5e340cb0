//! What a recorded body says, as far as it is compared.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::Date;
use loftwright_engine::intake::{PlayerText, ReadingText};

use crate::audit::encoding::Skim;

/// A recorded recommendation.
#[derive(Debug, Default)]
pub struct Past<'a> {
    /// The readings and kept clubs of the request.
    pub player: PlayerText,
    /// Its decisions and choices, in their order.
    pub decisions: Vec<PastDecision<'a>>,
    made_on: &'a str,
}

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
    /// Where its steps stand.
    steps: Option<Skim<'a>>,
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

impl<'a> Past<'a> {
    /// What the content of a body says; `None` where it is of another form.
    pub fn of_content(bytes: &'a [u8]) -> Option<Self> {
        let mut past = Past::default();
        let mut skim = Skim::of(bytes);
        skim.map(|name, value| match name {
            "recommendation" => past.recommendation(value),
            "request" => past.request(value),
            _ => value.skip(),
        })?;
        skim.is_done().then_some(past)
    }

    /// The day of the recommendation.
    pub fn day(&self) -> Option<Date> {
        Date::parse(self.made_on)
    }

    fn recommendation(&mut self, value: &mut Skim<'a>) -> Option<()> {
        value.map(|name, value| match name {
            "decisions" => value.list(|value| {
                self.decisions.push(decision(value)?);
                Some(())
            }),
            "made_on" => value.text().map(|text| self.made_on = text),
            _ => value.skip(),
        })
    }

    fn request(&mut self, value: &mut Skim<'a>) -> Option<()> {
        let player = &mut self.player;
        value.map(|name, value| match name {
            "readings" => value.map(|name, value| {
                player.readings.insert(name.to_owned(), reading(value)?);
                Some(())
            }),
            "kept_clubs" => {
                let mut clubs = Vec::new();
                value.list(|value| {
                    let mut club = BTreeMap::new();
                    value.map(|name, value| {
                        club.insert(name.to_owned(), value.text()?.to_owned());
                        Some(())
                    })?;
                    clubs.push(club);
                    Some(())
                })?;
                if !clubs.is_empty() {
                    player.given.insert("kept".to_owned(), clubs);
                }
                Some(())
            }
            _ => value.skip(),
        })
    }
}

fn reading(value: &mut Skim<'_>) -> Option<ReadingText> {
    let mut reading = ReadingText::default();
    value.map(|name, value| match name {
        "value" => value.text().map(|text| text.clone_into(&mut reading.value)),
        "spread" => value
            .text()
            .map(|text| reading.spread = Some(text.to_owned())),
        "shots" => {
            let shots = u32::try_from(value.whole()?).ok()?;
            reading.shots = Some(shots);
            Some(())
        }
        _ => value.skip(),
    })?;
    Some(reading)
}

fn decision<'a>(value: &mut Skim<'a>) -> Option<PastDecision<'a>> {
    let mut found = PastDecision {
        name: "",
        club: "",
        ending: "",
        value: None,
        steps: None,
    };
    value.map(|name, value| match name {
        "name" => value.text().map(|text| found.name = text),
        "club" => value.text().map(|text| found.club = text),
        "ending" => value.text().map(|text| found.ending = text),
        "steps" => {
            found.steps = Some(*value);
            value.skip()
        }
        "value" => {
            let mut of = PastValue::default();
            value.map(|name, value| match name {
                "text" => value.text().map(|text| of.text = text),
                "exact" => value.text().map(|text| of.exact = text),
                _ => value.skip(),
            })?;
            found.value = Some(of);
            Some(())
        }
        _ => value.skip(),
    })?;
    Some(found)
}

impl PastDecision<'_> {
    /// The rows that decided.
    pub fn rows(&self) -> Option<Vec<DecidingRow>> {
        let mut rows = Vec::new();
        let Some(mut steps) = self.steps else {
            return Some(rows);
        };
        steps.list(|value| {
            let mut table = None;
            let mut found = DecidingRow {
                table: 0,
                row: None,
                text: String::new(),
                because: None,
            };
            value.map(|name, value| match name {
                "table" => {
                    table = u32::try_from(value.whole()?).ok();
                    Some(())
                }
                "row" => {
                    found.row = u32::try_from(value.whole()?).ok();
                    Some(())
                }
                "rule" => value.text().map(|text| text.clone_into(&mut found.text)),
                "because" => value
                    .text()
                    .map(|text| found.because = Some(text.to_owned())),
                _ => value.skip(),
            })?;
            if let Some(table) = table {
                found.table = table;
                rows.push(found);
            }
            Some(())
        })?;
        Some(rows)
    }
}
