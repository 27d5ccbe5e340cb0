//! A player file: TOML with the ruleset, the subject, the readings and the clubs he keeps.
//!
//! ```toml
//! ruleset = "skerry"
//! subject = "steady-right-hander"
//!
//! [readings]
//! height = "5 ft 10 in"
//! sore_hands = false
//! wedge_attack_angle = { value = "-6.5 deg", spread = "1 deg", shots = 7 }
//!
//! [[kept]]
//! kind = "putter"
//! length = "34 in"
//! ```
//!
//! The file is read in two steps, because only the ruleset that it names knows its readings.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use loftwright_dsl::program::{Program, Shown, Type};
use loftwright_dsl::quantity::Dimension;
use loftwright_engine::intake::{
    MOST_SHOTS, PlayerText, ReadingText, nearest, quoted, read_player, text_to_write,
};
use loftwright_engine::player::Player;

use super::disk::read_text;
use super::fault::{FileFault, FileFaultKind};
use super::limits::{LARGEST_PLAYER_FILE_BYTES, LONGEST_SUBJECT_CHARACTERS};
use super::lines::Lines;
use super::text_file::TextFile;
use super::toml_value::{Located, Scalar, Table, float_message, parse, scalar, tables};

/// The keys at the top of the file; tables of clubs stand beside them.
const KEYS: [&str; 4] = ["ruleset", "subject", "readings", "kept"];
/// The keys of a reading that is a table.
const READING_KEYS: [&str; 3] = ["value", "spread", "shots"];

/// A player file whose form is read, whose values are still text.
#[derive(Clone, Debug)]
pub struct PlayerFile {
    /// The file as it is shown to people.
    pub file: String,
    /// The ruleset that it names.
    pub ruleset: Option<String>,
    /// The pseudonym of the player.
    pub subject: Option<String>,
    text: PlayerText,
    floats: Vec<Float>,
    faults: Vec<FileFault>,
    lines: BTreeMap<String, usize>,
}

/// A float that stands where a text must.
#[derive(Clone, Debug)]
struct Float {
    place: FloatPlace,
    key: String,
    number: String,
}

#[derive(Clone, Debug)]
enum FloatPlace {
    Reading(String),
    Spread(String),
    Club(String, usize, String),
}

impl PlayerFile {
    /// Reads a player file from disk.
    ///
    /// # Errors
    /// Where it cannot be read, is too large, or is not TOML. Faults of its keys and values come
    /// from [`PlayerFile::player`] and [`PlayerFile::text`], all at once.
    pub fn of_disk(path: &Path) -> Result<Self, Vec<FileFault>> {
        let shown = path.display().to_string();
        let text =
            read_text(path, &shown, LARGEST_PLAYER_FILE_BYTES).map_err(|fault| vec![fault])?;
        PlayerFile::parse(&shown, &text)
    }

    /// Reads a player file that is at hand as text.
    ///
    /// # Errors
    /// Where it is not TOML.
    pub fn parse(shown: &str, text: &str) -> Result<Self, Vec<FileFault>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let lines = Lines::of(text);
        let table = parse(shown, text, &lines)?;
        let mut reader = Reader {
            lines: &lines,
            read: PlayerFile {
                file: shown.to_owned(),
                ruleset: None,
                subject: None,
                text: PlayerText::default(),
                floats: Vec::new(),
                faults: Vec::new(),
                lines: BTreeMap::new(),
            },
        };
        reader.read_file(&table);
        reader.read.faults.sort_by_key(|fault| fault.line);
        Ok(reader.read)
    }

    /// Reads a player file that was read as text, such as a built-in one.
    ///
    /// # Errors
    /// As [`PlayerFile::parse`].
    pub fn of_text(file: &TextFile) -> Result<Self, Vec<FileFault>> {
        PlayerFile::parse(&file.shown, &file.text)
    }

    /// The player as text, for a service that knows the rules.
    ///
    /// # Errors
    /// The faults of the file's form, floats among them.
    pub fn text(&self) -> Result<&PlayerText, Vec<FileFault>> {
        let mut faults = self.faults.clone();
        for float in &self.floats {
            let message = float_message(&float.number, None);
            faults.push(self.fault(FileFaultKind::Float, &float.key, message));
        }
        faults.sort_by_key(|fault| fault.line);
        if faults.is_empty() {
            Ok(&self.text)
        } else {
            Err(faults)
        }
    }

    /// Reads the player against the rules.
    ///
    /// # Errors
    /// Every fault of form and values, in the order of the file.
    pub fn player(&self, program: &Program) -> Result<Player, Vec<FileFault>> {
        let mut text = self.text.clone();
        let mut faults = self.faults.clone();
        for float in &self.floats {
            // Where a number cannot stand at all, intake says what must.
            if let Some(to_write) = float.text_to_write(program) {
                let message = float_message(&float.number, Some(&to_write));
                faults.push(self.fault(FileFaultKind::Float, &float.key, message));
                float.replace_in(&mut text, to_write);
            }
        }
        // A value of the wrong form was left out; that it is missing need not be said as well.
        let said: BTreeSet<_> = faults.iter().map(|fault| fault.key.clone()).collect();
        match read_player(program, &text) {
            Ok(player) if faults.is_empty() => return Ok(player),
            Ok(_) => {}
            Err(of_values) => faults.extend(
                of_values
                    .into_iter()
                    .filter(|fault| !said.contains(&fault.field))
                    .map(|fault| self.fault(FileFaultKind::Value, &fault.field, fault.message)),
            ),
        }
        faults.sort_by_key(|fault| fault.line);
        Err(faults)
    }

    fn fault(&self, kind: FileFaultKind, key: &str, message: String) -> FileFault {
        let fault = FileFault::of_file(kind, self.file.as_str(), message).of_key(key);
        match self.line_of(key) {
            Some(line) => fault.at_line(line),
            None => fault,
        }
    }

    /// The line of a key, or of the table that it is missing in.
    fn line_of(&self, key: &str) -> Option<usize> {
        let mut key = key;
        loop {
            if let Some(line) = self.lines.get(key) {
                return Some(*line);
            }
            key = key.rsplit_once('.')?.0;
        }
    }
}

impl Float {
    fn text_to_write(&self, program: &Program) -> Option<String> {
        let input = |name: &str| {
            let has_name = |old: &String| old == name;
            program
                .inputs
                .iter()
                .find(|input| input.name == name || input.formerly.iter().any(has_name))
        };
        let (value_type, shown): (Type, &Shown) = match &self.place {
            FloatPlace::Reading(name) => input(name).map(|input| (input.value_type, &input.shown)),
            FloatPlace::Spread(name) => {
                let input = input(name)?;
                let difference = input.value_type.dimension().unwrap_or(Dimension::NUMBER);
                Some((Type::Quantity(difference), &input.shown))
            }
            FloatPlace::Club(group, _, field) => {
                let group = program.groups.iter().find(|known| known.name == *group)?;
                let field = group.fields.iter().find(|known| known.name == *field)?;
                Some((field.value_type, &field.shown))
            }
        }?;
        text_to_write(program, value_type, shown, &self.number)
    }

    fn replace_in(&self, text: &mut PlayerText, to_write: String) {
        match &self.place {
            FloatPlace::Reading(name) => {
                if let Some(reading) = text.readings.get_mut(name) {
                    reading.value = to_write;
                }
            }
            FloatPlace::Spread(name) => {
                if let Some(reading) = text.readings.get_mut(name) {
                    reading.spread = Some(to_write);
                }
            }
            FloatPlace::Club(group, place, field) => {
                let club = text
                    .given
                    .get_mut(group)
                    .and_then(|clubs| clubs.get_mut(*place));
                if let Some(club) = club {
                    club.insert(field.clone(), to_write);
                }
            }
        }
    }
}

struct Reader<'a> {
    lines: &'a Lines,
    read: PlayerFile,
}

impl Reader<'_> {
    fn read_file(&mut self, table: &Table<'_>) {
        for (name, value) in table {
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
                self.fault(FileFaultKind::WrongForm, key, "a text in quotes is needed");
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
            let message = "a table is needed: `[readings]`, with a line for each reading";
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
            let message = format!("a whole number from 1 through {MOST_SHOTS}, plain, is needed");
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
