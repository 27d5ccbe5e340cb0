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

use loftwright_dsl::program::Program;
use loftwright_engine::intake::{PlayerText, read_player};
use loftwright_engine::player::Player;

use super::disk::read_text;
use super::fault::{FileFault, FileFaultKind};
use super::limits::LARGEST_PLAYER_FILE_BYTES;
use super::lines::Lines;
use super::player_float::Float;
use super::player_toml;
use super::text_file::TextFile;
use super::toml_value::{float_message, parse};

/// A player file whose form is read, whose values are still text.
#[derive(Clone, Debug)]
pub struct PlayerFile {
    /// The file as it is shown to people.
    pub file: String,
    /// The ruleset that it names.
    pub ruleset: Option<String>,
    /// The pseudonym of the player.
    pub subject: Option<String>,
    pub(super) text: PlayerText,
    pub(super) floats: Vec<Float>,
    pub(super) faults: Vec<FileFault>,
    pub(super) lines: BTreeMap<String, usize>,
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
        let mut file = PlayerFile::empty(shown);
        player_toml::read_but(&table, &[], &lines, &mut file);
        file.faults.sort_by(FileFault::in_order);
        Ok(file)
    }

    /// A file of which nothing is read yet.
    pub(super) fn empty(shown: &str) -> Self {
        PlayerFile {
            file: shown.to_owned(),
            ruleset: None,
            subject: None,
            text: PlayerText::default(),
            floats: Vec::new(),
            faults: Vec::new(),
            lines: BTreeMap::new(),
        }
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
        faults.sort_by(FileFault::in_order);
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
                    .map(|fault| self.fault(fault.kind.into(), &fault.field, fault.message)),
            ),
        }
        faults.sort_by(FileFault::in_order);
        Err(faults)
    }

    /// A fault of a key, with its line.
    pub(super) fn fault(&self, kind: FileFaultKind, key: &str, message: String) -> FileFault {
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
