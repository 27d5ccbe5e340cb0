//! The bench of the reference: rules checked on the base of the corpora, players fitted by them.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Diagnostic, Severity, render_for_terminal};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::run_cases;
use loftwright_engine::evaluate::{Evaluation, evaluate};
use loftwright_engine::intake::{
    FieldText, PartsText, PlayerText, ReadingText, RecordText, read_parts, read_player,
};
use loftwright_engine::parts::Parts;
use loftwright_engine::trace::NoTrace;
use loftwright_tests::engine_side;
use loftwright_tests::workshop::{self, layer};

/// The day of every example.
pub(crate) fn day() -> Date {
    Date::parse("2026-05-01").unwrap()
}

/// The findings of a house on what it builds on, its cases run.
pub(crate) struct Checked {
    pub(crate) output: CheckOutput,
    pub(crate) findings: Vec<Diagnostic>,
}

impl Checked {
    /// A house without a `ruleset` line of its own stands on the base; with one, on what it names.
    pub(crate) fn of(rules: &str, parts: &str) -> Self {
        let has_line = rules.lines().any(|line| line.starts_with("ruleset "));
        let text = if has_line {
            rules.to_owned()
        } else {
            let line = "ruleset house\n  title \"A house\"\n  language 1\n  builds on base\n\n";
            format!("{line}{rules}")
        };
        let below = text
            .lines()
            .find_map(|line| line.trim().strip_prefix("builds on "))
            .map(str::trim);
        let mut layers = vec![source("contract", layer("contract"))];
        layers.extend(below.map(|below| source(below, layer(below))));
        let name = text
            .lines()
            .find_map(|line| line.strip_prefix("ruleset "))
            .unwrap_or("house")
            .trim();
        layers.push(source(name, vec![("house.rules".to_owned(), text.clone())]));
        let output = check(&layers, CONTRACT_VERSION);
        let mut findings = output.diagnostics.clone();
        if let Some(program) = &output.program {
            findings.extend(run_cases(program, &stocks(program, below, parts), day()).diagnostics);
        }
        Checked { output, findings }
    }

    /// The errors and warnings as a terminal shows them.
    pub(crate) fn rendered(&self) -> String {
        let is_grave = |finding: &&Diagnostic| finding.severity != Severity::Note;
        let grave: Vec<Diagnostic> = self.findings.iter().filter(is_grave).cloned().collect();
        render_for_terminal(&self.output.folder, &grave, false)
    }

    /// The codes of the errors.
    pub(crate) fn errors(&self) -> BTreeSet<String> {
        self.codes(Severity::Error)
    }

    /// The codes of the warnings.
    pub(crate) fn warnings(&self) -> BTreeSet<String> {
        self.codes(Severity::Warning)
    }

    fn codes(&self, severity: Severity) -> BTreeSet<String> {
        let of_severity = |finding: &&Diagnostic| finding.severity == severity;
        self.findings
            .iter()
            .filter(of_severity)
            .map(|finding| finding.code.text().to_owned())
            .collect()
    }
}

/// The stocks that cases may name: the page's own, and the demo's, which the trade's cases name.
fn stocks(program: &Program, below: Option<&str>, parts: &str) -> BTreeMap<String, Parts> {
    let mut stocks = BTreeMap::new();
    if below == Some("common") {
        let demo = engine_side::parts(program, &workshop::demo_parts());
        stocks.insert("demo".to_owned(), demo);
    } else {
        let page = read_parts(program, &parts_text(parts)).unwrap();
        stocks.insert("page".to_owned(), page);
    }
    stocks
}

fn source(name: &str, files: Vec<(String, String)>) -> LayerSource {
    LayerSource {
        name: name.to_owned(),
        files,
    }
}

/// A player fitted by a program.
pub(crate) struct Fitted<'a> {
    pub(crate) program: &'a Program,
    pub(crate) parts: Parts,
    pub(crate) evaluation: Evaluation,
}

impl<'a> Fitted<'a> {
    /// `player` holds `name = value` lines and `kept: field = value, …` lines; `parts` holds
    /// `head h1: field = value, …` for the catalogue, `on hand, head: part = h1, …` for the stock.
    pub(crate) fn new(program: &'a Program, player: &str, parts: &str) -> Result<Self, String> {
        let player = read_player(program, &player_text(player)).map_err(|f| format!("{f:?}"))?;
        let parts = read_parts(program, &parts_text(parts)).map_err(|f| format!("{f:?}"))?;
        let evaluation = evaluate(program, &parts, &player, day(), &mut NoTrace);
        Ok(Fitted {
            program,
            parts,
            evaluation,
        })
    }
}

fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| !line.is_empty())
}

fn player_text(text: &str) -> PlayerText {
    let mut player = PlayerText::default();
    for line in lines(text) {
        if let Some(club) = line.strip_prefix("kept:") {
            let clubs = player.given.entry("kept".to_owned()).or_default();
            clubs.push(assignments(club).collect());
        } else {
            let (name, value) = line.split_once('=').unwrap();
            let reading = ReadingText {
                value: value.trim().to_owned(),
                ..ReadingText::default()
            };
            player.readings.insert(name.trim().to_owned(), reading);
        }
    }
    player
}

fn parts_text(text: &str) -> PartsText {
    let mut catalogue: BTreeMap<String, Vec<RecordText>> = BTreeMap::new();
    let mut stock = catalogue.clone();
    for line in lines(text) {
        let (head, fields) = line.split_once(':').unwrap();
        let mut fields: BTreeMap<String, FieldText> = assignments(fields)
            .map(|(name, value)| (name, field(&value)))
            .collect();
        let records = match head.strip_prefix("on hand, ") {
            Some(kind) => stock.entry(kind.to_owned()).or_default(),
            None => {
                let (kind, id) = head.split_once(' ').unwrap();
                fields.insert("id".to_owned(), FieldText::Text(id.to_owned()));
                catalogue.entry(kind.to_owned()).or_default()
            }
        };
        records.push(RecordText {
            place: line.to_owned(),
            fields,
        });
    }
    PartsText {
        catalogue: catalogue.into_iter().collect(),
        stock: stock.into_iter().collect(),
    }
}

fn assignments(text: &str) -> impl Iterator<Item = (String, String)> {
    text.split(',').map(|pair| {
        let (name, value) = pair.split_once('=').unwrap();
        (name.trim().to_owned(), value.trim().to_owned())
    })
}

/// `[tilt: 0 deg; turn: 0 deg] [tilt: 1 deg; turn: 0 deg]` is a list of records.
fn field(value: &str) -> FieldText {
    if !value.starts_with('[') {
        return FieldText::Text(value.to_owned());
    }
    let setting = |text: &str| {
        let pairs = text.split(';').filter_map(|pair| pair.split_once(':'));
        pairs
            .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
            .collect()
    };
    let settings = value.split(['[', ']']).map(str::trim);
    FieldText::List(
        settings
            .filter(|text| !text.is_empty())
            .map(setting)
            .collect(),
    )
}
