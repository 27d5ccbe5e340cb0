//! A roster: TOML with the players of a week or an event, in order of arrival.
//!
//! ```toml
//! title = "A week at Skerry Point"
//! from = 2026-05-04
//! horizon = "28 days"
//!
//! [[player]]
//! file = "../players/junior.toml"
//! on = 2026-05-05
//!
//! [[player]]
//! name = "a guest"
//! chance = "60 percent"
//! wants = ["wedge"]
//! [player.readings]
//! height = "5 ft 10 in"
//! ```
//!
//! A player stands in a file of his own (a path beside the roster) or in the roster itself. The
//! roster is read in two steps, as a player file is: its form first, its values by the rules.

use std::collections::BTreeSet;
use std::path::Path;

use loftwright_dsl::program::{Program, Type, Value};
use loftwright_dsl::quantity::{Date, Dimension, Rational};
use loftwright_engine::intake::{nearest, quoted, read_value};
use loftwright_engine::stocking::Visit;

use super::disk::read_text;
use super::fault::{FileFault, FileFaultKind};
use super::limits::{LARGEST_PLAYER_FILE_BYTES, MOST_VISITS};
use super::lines::Lines;
use super::player_file::PlayerFile;
use super::player_toml;
use super::toml_value::{Located, Scalar, Table, parse, scalar, sent, tables};

/// The keys at the top of a roster.
const KEYS: [&str; 5] = ["title", "ruleset", "from", "horizon", "player"];
/// The keys of a player that are the roster's; the others are those of a player file.
const VISIT_KEYS: [&str; 5] = ["file", "name", "on", "chance", "wants"];
/// The keys of a player that stands in the roster.
const PLAYER_KEYS: [&str; 4] = ["ruleset", "subject", "readings", "kept"];

/// A roster whose form is read, whose values are still text.
#[derive(Clone, Debug, Default)]
pub struct RosterFile {
    /// The file as it is shown to people.
    pub file: String,
    /// What it is called.
    pub title: Option<String>,
    /// The ruleset that it names, or else the first of its players.
    pub ruleset: Option<String>,
    from: Option<Placed>,
    horizon: Option<Placed>,
    players: Vec<RosterPlayer>,
    faults: Vec<FileFault>,
}

/// What a roster says by the rules.
#[derive(Clone, Debug)]
pub struct Roster {
    /// Who comes, in the order of the file.
    pub visits: Vec<Visit>,
    /// How long wedges are replaced for, in seconds.
    pub horizon_s: Option<Rational>,
}

/// A text with where it stands.
#[derive(Clone, Debug)]
struct Placed {
    text: String,
    key: String,
    line: usize,
}

/// A player of the roster.
#[derive(Clone, Debug)]
struct RosterPlayer {
    key: String,
    line: usize,
    name: Option<String>,
    on: Option<Placed>,
    chance: Option<Placed>,
    wants: Vec<Placed>,
    /// `None` where it could not be read.
    player: Option<PlayerFile>,
    /// Whether he stands in the roster itself.
    is_inside: bool,
}

impl RosterFile {
    /// Reads a roster from disk, and the player files that it names.
    ///
    /// # Errors
    /// Where it cannot be read, is too large, or is not TOML. What is wrong with its keys, values
    /// and players comes from [`RosterFile::roster`], all at once.
    pub fn of_disk(path: &Path) -> Result<Self, Vec<FileFault>> {
        let shown = path.display().to_string();
        let text =
            read_text(path, &shown, LARGEST_PLAYER_FILE_BYTES).map_err(|fault| vec![fault])?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        let lines = Lines::of(text);
        let table = parse(&shown, text, &lines)?;
        let mut reader = Reader {
            beside: path.parent().unwrap_or(Path::new("")),
            lines: &lines,
            read: RosterFile {
                file: shown,
                ..RosterFile::default()
            },
        };
        reader.read_file(&table);
        let mut read = reader.read;
        let of_players = || {
            let mut players = read.players.iter();
            players.find_map(|player| player.player.as_ref()?.ruleset.clone())
        };
        read.ruleset = read.ruleset.clone().or_else(of_players);
        Ok(read)
    }

    /// Reads the roster by the rules. Who has no day comes on the roster's first, which is `today`
    /// where it has none.
    ///
    /// # Errors
    /// Every fault of the roster and of all its players.
    pub fn roster(&self, program: &Program, today: Date) -> Result<Roster, Vec<FileFault>> {
        let mut values = Values {
            program,
            file: &self.file,
            faults: self.faults.clone(),
        };
        let from = self.from.as_ref().and_then(|from| values.date(from));
        let horizon_s = self.horizon.as_ref().and_then(|text| values.horizon(text));
        let first = from.unwrap_or(today);
        let visits = self
            .players
            .iter()
            .filter_map(|player| values.visit(player, first))
            .collect();
        let mut faults = values.faults;
        if faults.is_empty() {
            return Ok(Roster { visits, horizon_s });
        }
        faults.sort_by(FileFault::in_order);
        Err(faults)
    }
}

struct Reader<'a> {
    beside: &'a Path,
    lines: &'a Lines,
    read: RosterFile,
}

impl Reader<'_> {
    fn fault(&mut self, kind: FileFaultKind, key: &str, line: usize, message: impl Into<String>) {
        let fault = FileFault::of_file(kind, self.read.file.as_str(), message);
        self.read.faults.push(fault.at_line(line).of_key(key));
    }

    fn read_file(&mut self, table: &Table<'_>) {
        for (name, value) in table {
            let key = name.get_ref().as_ref();
            let line = self.lines.line_of(name.span().start);
            match key {
                "title" => self.read.title = self.text(key, line, value),
                "ruleset" => self.read.ruleset = self.text(key, line, value),
                "from" => self.read.from = self.placed(key, line, value),
                "horizon" => self.read.horizon = self.placed(key, line, value),
                "player" => self.read_players(line, value),
                _ => {
                    let message = unknown(key, &KEYS);
                    self.fault(FileFaultKind::UnknownName, key, line, message);
                }
            }
        }
        if !table.iter().any(|(key, _)| key.get_ref() == "player") {
            let message = "holds no player; each is a table under `[[player]]`";
            let kind = FileFaultKind::Missing;
            let fault = FileFault::of_file(kind, self.read.file.as_str(), message);
            self.read.faults.push(fault);
        }
    }

    fn placed(&mut self, key: &str, line: usize, value: &Located<'_>) -> Option<Placed> {
        let text = self.text(key, line, value)?;
        let key = key.to_owned();
        Some(Placed { text, key, line })
    }

    fn text(&mut self, key: &str, line: usize, value: &Located<'_>) -> Option<String> {
        let message = match scalar(value.get_ref()) {
            Scalar::Text(text) => return Some(text),
            Scalar::Float(number) => format!(
                "{} is a float of TOML, which bends decimals; write it in quotes, such as `\"60 \
                 percent\"`",
                quoted(&number)
            ),
            Scalar::Wrong(message) => message,
        };
        self.fault(FileFaultKind::WrongForm, key, line, message);
        None
    }

    fn read_players(&mut self, line: usize, value: &Located<'_>) {
        let Some(players) = tables(value.get_ref()) else {
            let sent = sent(value.get_ref());
            let message = format!("{sent} was sent; each player is a table under `[[player]]`");
            return self.fault(FileFaultKind::WrongForm, "player", line, message);
        };
        if players.len() > MOST_VISITS {
            let count = players.len();
            let message = format!("{count} players were sent; at most {MOST_VISITS} are planned");
            self.fault(FileFaultKind::TooMany, "player", line, message);
        }
        for (place, (table, byte)) in players.into_iter().enumerate().take(MOST_VISITS) {
            let key = format!("player[{}]", place + 1);
            let line = self.lines.line_of(byte);
            self.read_player(&key, line, table);
        }
    }

    fn read_player(&mut self, key: &str, line: usize, table: &Table<'_>) {
        let mut player = RosterPlayer {
            key: key.to_owned(),
            line,
            name: None,
            on: None,
            chance: None,
            wants: Vec::new(),
            player: None,
            is_inside: false,
        };
        let mut path = None;
        let mut inside = None;
        for (name, value) in table {
            let own = name.get_ref().as_ref();
            let line = self.lines.line_of(name.span().start);
            let of_key = format!("{key}.{own}");
            match own {
                "file" => path = Some((self.text(&of_key, line, value), line)),
                "name" => player.name = self.text(&of_key, line, value),
                "on" => player.on = self.placed(&of_key, line, value),
                "chance" => player.chance = self.placed(&of_key, line, value),
                "wants" => player.wants = self.words(&of_key, line, value),
                _ if PLAYER_KEYS.contains(&own) || tables(value.get_ref()).is_some() => {
                    inside.get_or_insert((own.to_owned(), line));
                }
                _ => {
                    let known: Vec<&str> = VISIT_KEYS.into_iter().chain(PLAYER_KEYS).collect();
                    let message = unknown(own, &known);
                    self.fault(FileFaultKind::UnknownName, &of_key, line, message);
                }
            }
        }
        match (path, inside) {
            (Some((_, line)), Some((own, _))) => {
                let message = format!(
                    "the player stands in a file of his own or in the roster; {} is here too",
                    quoted(&own)
                );
                self.fault(FileFaultKind::Twice, &format!("{key}.file"), line, message);
            }
            (Some((path, line)), None) => {
                player.player = path.and_then(|path| self.player_file(key, line, &path));
            }
            (None, Some(_)) => {
                player.is_inside = true;
                player.player = Some(self.player_inside(table));
            }
            (None, None) => {
                let message = "neither `file`, the path of a player's file, nor `readings` is here";
                self.fault(FileFaultKind::Missing, key, line, message);
            }
        }
        self.read.players.push(player);
    }

    fn words(&mut self, key: &str, line: usize, value: &Located<'_>) -> Vec<Placed> {
        match value.get_ref().as_array() {
            Some(list) => list
                .iter()
                .filter_map(|word| self.placed(key, line, word))
                .collect(),
            None => self.placed(key, line, value).into_iter().collect(),
        }
    }

    /// The file of a player, a path beside the roster.
    fn player_file(&mut self, key: &str, line: usize, path: &str) -> Option<PlayerFile> {
        match PlayerFile::of_disk(&self.beside.join(path)) {
            Ok(file) => Some(file),
            Err(faults) => {
                let is_whole = |fault: &FileFault| fault.line.is_none();
                if faults.iter().all(is_whole) {
                    let key = format!("{key}.file");
                    for fault in faults {
                        let message = format!("{} {}", quoted(path), fault.message);
                        self.fault(fault.kind, &key, line, message);
                    }
                } else {
                    self.read.faults.extend(faults);
                }
                None
            }
        }
    }

    fn player_inside(&self, table: &Table<'_>) -> PlayerFile {
        let mut file = PlayerFile::empty(&self.read.file);
        player_toml::read_but(table, &VISIT_KEYS, self.lines, &mut file);
        file
    }
}

/// Reads values by the rules; every fault is noted.
struct Values<'a> {
    program: &'a Program,
    file: &'a str,
    faults: Vec<FileFault>,
}

impl Values<'_> {
    fn fault(&mut self, kind: FileFaultKind, of: (&str, usize), message: impl Into<String>) {
        let fault = FileFault::of_file(kind, self.file, message);
        self.faults.push(fault.at_line(of.1).of_key(of.0));
    }

    fn number(&mut self, placed: &Placed, dimension: Dimension) -> Option<Rational> {
        match read_value(self.program, Type::Quantity(dimension), &placed.text) {
            Ok(Value::Number(number)) => Some(number),
            Ok(_) => None,
            Err(message) => {
                let of = (placed.key.as_str(), placed.line);
                self.fault(FileFaultKind::Value, of, message);
                None
            }
        }
    }

    fn date(&mut self, placed: &Placed) -> Option<Date> {
        let date = Date::parse(&placed.text);
        if date.is_none() {
            let sent = quoted(&placed.text);
            let message = format!("{sent} is not a date; a date such as `2026-05-01` is needed");
            let of = (placed.key.as_str(), placed.line);
            self.fault(FileFaultKind::Value, of, message);
        }
        date
    }

    fn horizon(&mut self, placed: &Placed) -> Option<Rational> {
        let horizon = self.number(placed, Dimension::TIME)?;
        let most = Rational::whole(10 * 366 * 86_400);
        if horizon > Rational::ZERO && horizon <= most {
            return Some(horizon);
        }
        let sent = quoted(&placed.text);
        let message = format!(
            "{sent} is out of range; a time above `0 days` and of at most ten years is allowed"
        );
        let of = (placed.key.as_str(), placed.line);
        self.fault(FileFaultKind::OutOfRange, of, message);
        None
    }

    fn chance(&mut self, placed: &Placed) -> Option<Rational> {
        let chance = self.number(placed, Dimension::NUMBER)?;
        if chance > Rational::ZERO && chance <= Rational::ONE {
            return Some(chance);
        }
        let sent = quoted(&placed.text);
        let message = format!(
            "{sent} is out of range; a chance above `0 percent` and of at most `100 percent` is \
             allowed"
        );
        let of = (placed.key.as_str(), placed.line);
        self.fault(FileFaultKind::OutOfRange, of, message);
        None
    }

    fn wants(&mut self, words: &[Placed]) -> BTreeSet<String> {
        let program = self.program;
        let mut vocabularies = program.vocabularies.iter();
        let kinds = vocabularies.find(|vocabulary| vocabulary.name == "club_kind");
        let known: Vec<&str> = kinds
            .iter()
            .flat_map(|kinds| kinds.words.iter().map(String::as_str))
            .collect();
        let mut wants = BTreeSet::new();
        for word in words {
            if known.contains(&word.text.as_str()) {
                wants.insert(word.text.clone());
                continue;
            }
            let message = not_a_kind(&word.text, &known);
            let of = (word.key.as_str(), word.line);
            self.fault(FileFaultKind::UnknownWord, of, message);
        }
        wants
    }

    fn visit(&mut self, player: &RosterPlayer, first: Date) -> Option<Visit> {
        let on = match &player.on {
            Some(on) => self.date(on),
            None => Some(first),
        };
        let chance = match &player.chance {
            Some(chance) => self.chance(chance),
            None => Some(Rational::ONE),
        };
        let wants = self.wants(&player.wants);
        let file = player.player.as_ref()?;
        let read = match file.player(self.program) {
            Ok(read) => Some(read),
            Err(faults) => {
                self.faults.extend(faults.into_iter().map(|mut fault| {
                    if player.is_inside {
                        fault.key = format!("{}.{}", player.key, fault.key);
                    }
                    fault
                }));
                None
            }
        };
        if let Some(other) = file
            .ruleset
            .as_ref()
            .filter(|own| **own != self.program.name)
        {
            let message = format!(
                "the player is to be fitted by the ruleset {}, the roster by {}",
                quoted(other),
                quoted(&self.program.name)
            );
            self.fault(FileFaultKind::Value, (&player.key, player.line), message);
        }
        let named = player.name.clone().or_else(|| file.subject.clone());
        Some(Visit {
            name: named.unwrap_or_else(|| player.key.clone()),
            player: read?,
            on: on?,
            chance: chance?,
            wants,
        })
    }
}

fn not_a_kind(word: &str, known: &[&str]) -> String {
    let near = nearest(word, known.iter().copied());
    let near = near.map_or_else(String::new, |near| {
        format!("; did you mean {}?", quoted(near))
    });
    let known: Vec<String> = known.iter().map(|kind| quoted(kind)).collect();
    format!(
        "{} is not a kind of club; allowed are {}{near}",
        quoted(word),
        known.join(", ")
    )
}

fn unknown(key: &str, known: &[&str]) -> String {
    let near = nearest(key, known.iter().copied());
    let near = near.map_or_else(String::new, |near| {
        format!("; did you mean {}?", quoted(near))
    });
    let known: Vec<String> = known.iter().map(|known| quoted(known)).collect();
    format!(
        "there is no key {}; allowed are {}{near}",
        quoted(key),
        known.join(", ")
    )
}
