//! A player's readings and clubs.

use std::collections::BTreeMap;

use loftwright_dsl::program::{GroupId, Input, InputId, Program, Record, Type, Value};
use loftwright_dsl::quantity::{Dimension, Rational};

use super::clubs::read_given;
use super::expected::Expected;
use super::fault::{Fault, FaultKind, Faults, Misread};
use super::names::{did_you_mean, nearest};
use super::quote::{quoted, shortened};
use super::value::read_expected;
use super::{MOST_READINGS, MOST_SHOTS, PlayerText, ReadingText, Sent};
use crate::player::{Player, Reading};

/// No more texts of an input stay read; with one more it begins anew.
const MOST_KNOWN_TEXTS: usize = 1024;

/// Reads a player against a program.
///
/// # Errors
/// Every fault of the text, in the order of the readings' names, then of the clubs.
pub fn read_player(program: &Program, text: &PlayerText) -> Result<Player, Vec<Fault>> {
    PlayerReader::new(program).read(text)
}

/// Reads players against a program. To read many, keep it.
pub struct PlayerReader<'a> {
    names: InputNames<'a>,
    /// What texts were read as, for each input.
    known: BTreeMap<InputId, BTreeMap<Box<str>, Value>>,
    /// Each group `given with the player`, without clubs.
    without_clubs: BTreeMap<GroupId, Vec<Record>>,
}

impl<'a> PlayerReader<'a> {
    /// For the players of a program.
    pub fn new(program: &'a Program) -> Self {
        PlayerReader {
            names: InputNames::of(program),
            known: BTreeMap::new(),
            without_clubs: read_given(program, &BTreeMap::new(), &mut Faults::default()),
        }
    }

    /// Reads one.
    ///
    /// # Errors
    /// As [`read_player`].
    pub fn read(&self, text: &PlayerText) -> Result<Player, Vec<Fault>> {
        let mut faults = Faults::default();
        let readings = read_readings(&self.names, &text.readings, &mut faults);
        let given = read_given(self.names.program, &text.given, &mut faults);
        faults.or_read(Player { readings, given })
    }

    /// Reads one who sent these readings and no clubs; `None` where [`PlayerReader::read`] finds
    /// fault with him.
    pub fn read_plain(&mut self, sent: &[(&str, Sent<'_>)]) -> Option<Player> {
        if sent.len() > MOST_READINGS {
            return None;
        }
        let mut readings = BTreeMap::new();
        for (name, sent) in sent {
            let id = self
                .names
                .current(name)
                .or_else(|| self.names.earlier(name))?;
            let reading = self.reading(id, *sent)?;
            if readings.insert(id, reading).is_some() {
                return None;
            }
        }
        Some(Player {
            readings,
            given: self.without_clubs.clone(),
        })
    }

    /// A reading; `None` where something is wrong with it.
    fn reading(&mut self, id: InputId, sent: Sent<'_>) -> Option<Reading> {
        let is_plain = sent.spread.is_none() && sent.shots.is_none();
        if is_plain && let Some(value) = self.known.get(&id).and_then(|known| known.get(sent.value))
        {
            return Some(Reading {
                value: value.clone(),
                spread: None,
                shots: 1,
            });
        }
        let program = self.names.program;
        let input = &program.inputs[id];
        if input.filled_by_the_engine {
            return None;
        }
        let reading = read_reading(program, input, sent, String::new, &mut Faults::default())?;
        if is_plain {
            let known = self.known.entry(id).or_default();
            if known.len() >= MOST_KNOWN_TEXTS {
                known.clear();
            }
            known.insert(sent.value.into(), reading.value.clone());
        }
        Some(reading)
    }
}

fn read_readings(
    names: &InputNames<'_>,
    sent: &BTreeMap<String, ReadingText>,
    faults: &mut Faults,
) -> BTreeMap<InputId, Reading> {
    if sent.len() > MOST_READINGS {
        let count = sent.len();
        let message = format!("{count} readings were sent; at most {MOST_READINGS} are read");
        faults.add(FaultKind::TooMany, "readings", "", message);
    }
    let program = names.program;
    let mut readings = BTreeMap::new();
    let mut sent_as: BTreeMap<InputId, &str> = BTreeMap::new();
    for (name, reading) in sent.iter().take(MOST_READINGS) {
        let path = || format!("readings.{}", shortened(name));
        let Some(id) = names.current(name).or_else(|| names.earlier(name)) else {
            let message = names.unknown(name);
            faults.add(FaultKind::UnknownName, path(), &reading.value, message);
            continue;
        };
        let input = &program.inputs[id];
        if input.filled_by_the_engine {
            let message = format!("{} is filled by the engine; it is not sent", quoted(name));
            faults.add(FaultKind::UnknownName, path(), &reading.value, message);
            continue;
        }
        if let Some(other) = sent_as.insert(id, name) {
            let message = sent_twice(&input.name, name, other);
            let old = if *name == input.name { other } else { name };
            faults.add(FaultKind::Twice, format!("readings.{old}"), old, message);
        }
        if let Some(reading) = read_reading(program, input, reading.into(), path, faults) {
            readings.insert(id, reading);
        }
    }
    readings
}

fn sent_twice(current: &str, name: &str, other: &str) -> String {
    let (name, other, current) = (quoted(name), quoted(other), quoted(current));
    format!("{other} and {name} are the same reading under two names; send {current} alone")
}

/// The names under which readings may be sent.
struct InputNames<'a> {
    program: &'a Program,
    current: BTreeMap<&'a str, InputId>,
    earlier: BTreeMap<&'a str, InputId>,
}

impl<'a> InputNames<'a> {
    fn of(program: &'a Program) -> Self {
        let inputs = || program.inputs.entries();
        let current = inputs().map(|(id, input)| (input.name.as_str(), id));
        let earlier = inputs()
            .flat_map(|(id, input)| input.formerly.iter().map(move |name| (name.as_str(), id)));
        InputNames {
            program,
            current: current.collect(),
            earlier: earlier.collect(),
        }
    }

    fn current(&self, name: &str) -> Option<InputId> {
        self.current.get(name).copied()
    }

    fn earlier(&self, name: &str) -> Option<InputId> {
        self.earlier.get(name).copied()
    }

    /// The sentence for a name that no input has.
    fn unknown(&self, name: &str) -> String {
        let sent = quoted(name);
        let program = self.program;
        let is_decided = program.decisions.iter().any(|known| known.name == name)
            || program.lets.iter().any(|known| known.name == name)
            || program.chooses.iter().any(|known| known.name == name);
        if is_decided {
            return format!("{sent} is worked out by the rules; it is not sent");
        }
        let known = self.current.iter().chain(&self.earlier);
        let can_be_sent = known.filter(|(_, id)| !program.inputs[**id].filled_by_the_engine);
        let near = nearest(name, can_be_sent.map(|(name, _)| *name));
        // An earlier name that is near leads to the current one.
        let near = near.map(|near| match self.earlier(near) {
            Some(id) => program.inputs[id].name.as_str(),
            None => near,
        });
        format!(
            "{} has no input {sent}{}",
            quoted(&program.name),
            did_you_mean(near)
        )
    }
}

fn read_reading(
    program: &Program,
    input: &Input,
    text: Sent<'_>,
    path: impl Fn() -> String,
    faults: &mut Faults,
) -> Option<Reading> {
    let value = read_expected(&Expected::of_input(program, input), text.value);
    let spread = text
        .spread
        .map(|spread| (spread, read_spread(program, input, spread)));
    let shots = text.shots.map_or(Ok(1), |shots| read_shots(input, shots));
    let mut is_whole = true;
    let mut note = |field: String, sent: &str, misread: Misread| {
        faults.add_misread(field, sent, misread);
        is_whole = false;
    };
    let value = value.map_err(|misread| note(path(), text.value, misread));
    let spread = match spread {
        Some((sent, Err(misread))) => {
            note(format!("{}.spread", path()), sent, misread);
            None
        }
        Some((_, Ok(spread))) => Some(spread),
        None => None,
    };
    let shots = shots.map_err(|message| {
        let sent = text.shots.unwrap_or_default().to_string();
        note(format!("{}.shots", path()), &sent, Misread::new(message));
    });
    match (value, shots, is_whole) {
        (Ok(value), Ok(shots), true) => Some(Reading {
            value,
            spread,
            shots,
        }),
        _ => None,
    }
}

/// Reads a spread: a difference of the input's type, above zero.
fn read_spread(program: &Program, input: &Input, text: &str) -> Result<Rational, Misread> {
    let difference = match input.value_type {
        Type::Quantity(dimension) => dimension,
        Type::Temperature => Dimension::TEMPERATURE,
        Type::Swingweight => Dimension::SWINGWEIGHT,
        Type::Count => Dimension::NUMBER,
        _ => {
            let message = format!("{} has no spread; leave it out", kind_of(input));
            return Err(Misread::new(message));
        }
    };
    let expected = Expected {
        unit: input.shown.unit.as_deref(),
        ..Expected::of_type(program, Type::Quantity(difference))
    };
    match read_expected(&expected, text)? {
        Value::Number(spread) if spread > Rational::ZERO => Ok(spread),
        _ => Err(Misread {
            kind: FaultKind::OutOfRange,
            message: format!(
                "the spread {} is not above zero; {} above zero is needed",
                quoted(text),
                expected.text()
            ),
        }),
    }
}

fn read_shots(input: &Input, shots: u32) -> Result<u32, String> {
    if !input.value_type.is_numeric() || input.value_type == Type::Date {
        return Err(format!(
            "{} is not measured by shots; leave them out",
            kind_of(input)
        ));
    }
    if (1..=MOST_SHOTS).contains(&shots) {
        return Ok(shots);
    }
    Err(format!(
        "{shots} shots were sent; a whole number from 1 through {MOST_SHOTS} is allowed"
    ))
}

/// What a reading that is no number is, at the head of a sentence.
fn kind_of(input: &Input) -> &'static str {
    match input.value_type {
        Type::Date => "a date",
        Type::Flag => "a yes or no",
        Type::Choice(_) | Type::Scale(_) => "a word",
        _ => "a text",
    }
}
