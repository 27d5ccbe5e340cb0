//! The keys of a player file, one by one.

use std::collections::BTreeMap;

use loftwright_engine::intake::{MOST_SHOTS, ReadingText, nearest, quoted};

use super::fault::FileFaultKind;
use super::limits::LONGEST_SUBJECT_CHARACTERS;
use super::lines::Lines;
use super::player_file::PlayerFile;
use super::player_float::{Float, FloatPlace};
use super::toml_value::{Located, Scalar, Table, scalar, sent, tables};

/// The keys at the top of the file; tables of clubs stand beside them.
const KEYS: [&str; 4] = ["ruleset", "subject", "readings", "kept"];
/// The keys of a reading that is a table.
const READING_KEYS: [&str; 3] = ["value", "spread", "shots"];

/// Reads a table into `file`, but for keys that are somebody else's; every fault of its form is
/// noted there.
pub(super) fn read_but(table: &Table<'_>, but: &[&str], lines: &Lines, file: &mut PlayerFile) {
    let mut reader = Reader { lines, read: file };
    reader.read_file(table, but);
}

struct Reader<'a> {
    lines: &'a Lines,
    read: &'a mut PlayerFile,
}

impl Reader<'_> {
    fn read_file(&mut self, table: &Table<'_>, but: &[&str]) {
        let own = |name: &str| !but.contains(&name);
        for (name, value) in table.iter().filter(|(name, _)| own(name.get_ref())) {
            let key = name.get_ref().to_string();
            self.note_line(&key, name.span().start);
            match key.as_str() {
                "ruleset" => self.read.ruleset = self.text_at(&key, value),
                "subject" => self.read.subject = self.read_subject(&key, value),
                "readings" => self.read_readings(&key, value),
                _ => self.read_clubs(key, value),
            }
        }
    }

    fn note_line(&mut self, key: &str, byte: usize) {
        let line = self.lines.line_of(byte);
        self.read.lines.insert(key.to_owned(), line);
    }

    fn fault(&mut self, kind: FileFaultKind, key: &str, message: impl Into<String>) {
        let fault = self.read.fault(kind, key, message.into());
        self.read.faults.push(fault);
    }

    fn text_at(&mut self, key: &str, value: &Located<'_>) -> Option<String> {
        match value.get_ref().as_str() {
            Some(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
            _ => {
                let sent = sent(value.get_ref());
                let message = format!("{sent} was sent; a text in quotes is needed");
                self.fault(FileFaultKind::WrongForm, key, message);
                None
            }
        }
    }

    fn read_subject(&mut self, key: &str, value: &Located<'_>) -> Option<String> {
        let subject = self.text_at(key, value)?;
        let length = subject.chars().count();
        if length > LONGEST_SUBJECT_CHARACTERS {
            let message = format!(
                "the subject has {length} characters; at most {LONGEST_SUBJECT_CHARACTERS} are \
                 allowed"
            );
            self.fault(FileFaultKind::TooLarge, key, message);
        }
        if subject.chars().any(char::is_control) {
            let message = "a subject is one line of plain text, without control characters";
            self.fault(FileFaultKind::WrongForm, key, message);
        }
        Some(subject)
    }

    fn read_readings(&mut self, key: &str, value: &Located<'_>) {
        let Some(table) = value.get_ref().as_table() else {
            let message = format!(
                "{} was sent; a table is needed: `[readings]`, with a line for each reading",
                sent(value.get_ref())
            );
            self.fault(FileFaultKind::WrongForm, key, message);
            return;
        };
        for (name, value) in table {
            let path = format!("{key}.{}", name.get_ref());
            self.note_line(&path, name.span().start);
            let name = name.get_ref().to_string();
            let reading = match value.get_ref().as_table() {
                Some(table) => self.read_measured(&name, &path, table),
                None => self
                    .scalar_at(&path, value, || FloatPlace::Reading(name.clone()))
                    .map(|value| ReadingText {
                        value,
                        ..ReadingText::default()
                    }),
            };
            if let Some(reading) = reading {
                self.read.text.readings.insert(name, reading);
            }
        }
    }

    /// A reading with its spread and shots.
    fn read_measured(&mut self, name: &str, path: &str, table: &Table<'_>) -> Option<ReadingText> {
        let mut reading = ReadingText::default();
        let mut value_is_there = false;
        for (key, value) in table {
            let key_path = format!("{path}.{}", key.get_ref());
            self.note_line(&key_path, key.span().start);
            match key.get_ref().as_ref() {
                "value" => {
                    value_is_there = true;
                    let place = || FloatPlace::Reading(name.to_owned());
                    // Intake knows the value by the reading's own path.
                    if let Some(text) = self.scalar_at(path, value, place) {
                        reading.value = text;
                    } else {
                        value_is_there = false;
                    }
                }
                "spread" => {
                    let place = || FloatPlace::Spread(name.to_owned());
                    reading.spread = self.scalar_at(&key_path, value, place);
                }
                "shots" => reading.shots = self.read_shots(&key_path, value),
                unknown => {
                    let message = unknown_key(unknown, &READING_KEYS);
                    self.fault(FileFaultKind::UnknownName, &key_path, message);
                }
            }
        }
        if !table.iter().any(|(key, _)| key.get_ref() == "value") {
            let message = "`value` is missing; a reading is `{ value = \"…\", spread = \"…\", \
                           shots = 7 }`, or the value alone";
            self.fault(FileFaultKind::WrongForm, path, message);
        }
        value_is_there.then_some(reading)
    }

    fn read_shots(&mut self, path: &str, value: &Located<'_>) -> Option<u32> {
        let text = match (value.get_ref().is_integer(), scalar(value.get_ref())) {
            (true, Scalar::Text(text)) => text,
            _ => String::new(),
        };
        let shots = text.parse::<u32>().ok();
        if shots.is_none() {
            let message = format!(
                "{} was sent; a whole number from 1 through {MOST_SHOTS}, plain, is needed",
                sent(value.get_ref())
            );
            self.fault(FileFaultKind::WrongForm, path, message);
        }
        shots
    }

    /// Tables of clubs: `[[kept]]`. Which groups there are the rules say.
    fn read_clubs(&mut self, key: String, value: &Located<'_>) {
        let Some(clubs) = tables(value.get_ref()) else {
            let message = if key == "kept" {
                "is a list of clubs; write each as a table under `[[kept]]`".to_owned()
            } else {
                unknown_key(&key, &KEYS)
            };
            self.fault(FileFaultKind::UnknownName, &key, message);
            return;
        };
        let mut read = Vec::new();
        for (place, (club, byte)) in clubs.into_iter().enumerate() {
            let path = format!("{key}[{}]", place + 1);
            self.note_line(&path, byte);
            let mut fields = BTreeMap::new();
            for (name, value) in club {
                let name_text = name.get_ref().to_string();
                let field_path = format!("{path}.{name_text}");
                self.note_line(&field_path, name.span().start);
                let float = || FloatPlace::Club(key.clone(), place, name_text.clone());
                if let Some(text) = self.scalar_at(&field_path, value, float) {
                    fields.insert(name_text.clone(), text);
                }
            }
            read.push(fields);
        }
        self.read.text.given.insert(key, read);
    }

    /// The text of a value; a float is noted, with its digits as the text.
    fn scalar_at(
        &mut self,
        key: &str,
        value: &Located<'_>,
        place: impl FnOnce() -> FloatPlace,
    ) -> Option<String> {
        match scalar(value.get_ref()) {
            Scalar::Text(text) => Some(text),
            Scalar::Float(number) => {
                self.read.floats.push(Float {
                    place: place(),
                    key: key.to_owned(),
                    number: number.clone(),
                });
                Some(number)
            }
            Scalar::Wrong(message) => {
                self.fault(FileFaultKind::WrongForm, key, message);
                None
            }
        }
    }
}

fn unknown_key(key: &str, known: &[&str]) -> String {
    let near = nearest(key, known.iter().copied());
    let near = near.map_or_else(String::new, |near| {
        format!("; did you mean {}?", quoted(near))
    });
    let known: Vec<_> = known.iter().map(|known| quoted(known)).collect();
    format!(
        "there is no key {}; allowed are {}{near}",
        quoted(key),
        known.join(", ")
    )
}
