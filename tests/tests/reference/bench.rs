//! The bench of the reference: rules checked on the base of the corpora, players fitted by them.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Diagnostic, Severity, render_for_terminal};
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::run_cases;
use loftwright_engine::evaluate::{Evaluation, evaluate};
use loftwright_engine::fit::fit_to_depth;
use loftwright_engine::intake::{read_parts, read_player};
use loftwright_engine::parts::Parts;
use loftwright_engine::recommendation::Recommendation;
use loftwright_engine::sure::{Depth, Workers};
use loftwright_engine::trace::NoTrace;
use loftwright_tests::engine_side;
use loftwright_tests::oracle::Person;
use loftwright_tests::workshop::{self, PartsFolder, Record, layer};

/// The day of every example.
pub(crate) fn day() -> Date {
    Date::parse("2026-05-01").unwrap()
}

/// The layers of a house: without a `ruleset` line of its own it stands on the base; with one, on
/// what it names.
pub(crate) fn layers_of(rules: &str) -> Vec<LayerSource> {
    let has_line = rules.lines().any(|line| line.starts_with("ruleset "));
    let text = if has_line {
        rules.to_owned()
    } else {
        let line = "ruleset house\n  title \"A house\"\n  language 1\n  builds on base\n\n";
        format!("{line}{rules}")
    };
    let said = |before: &str| {
        let mut lines = text.lines().map(str::trim);
        lines.find_map(|line| line.strip_prefix(before).map(|name| name.trim().to_owned()))
    };
    let mut layers = vec![source("contract", layer("contract"))];
    layers.extend(said("builds on ").map(|below| source(&below, layer(&below))));
    let name = said("ruleset ").unwrap();
    layers.push(source(&name, vec![("house.rules".to_owned(), text)]));
    layers
}

/// The findings of a house on what it builds on, its cases run.
pub(crate) struct Checked {
    pub(crate) output: CheckOutput,
    pub(crate) findings: Vec<Diagnostic>,
}

impl Checked {
    /// A house as [`layers_of`] reads it; its cases may name the page's parts.
    pub(crate) fn of(rules: &str, parts: &str) -> Self {
        let layers = layers_of(rules);
        let output = check(&layers, CONTRACT_VERSION);
        let mut findings = output.diagnostics.clone();
        if let Some(program) = &output.program {
            findings
                .extend(run_cases(program, &stocks(program, &layers, parts), day()).diagnostics);
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

/// The stocks that cases may name: the page's own, and those that the trade's cases name.
fn stocks(program: &Program, layers: &[LayerSource], parts: &str) -> BTreeMap<String, Parts> {
    let mut stocks = BTreeMap::new();
    if layers.iter().any(|layer| layer.name == "common") {
        for name in ["demo", "thin"] {
            let parts = engine_side::parts(program, &workshop::parts_of(name));
            stocks.insert(name.to_owned(), parts);
        }
    } else {
        let page = engine_side::parts(program, &parts_folder(parts));
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
    /// A player and parts as [`person`] and [`parts_folder`] read them.
    pub(crate) fn new(program: &'a Program, player: &str, parts: &str) -> Result<Self, String> {
        let player = engine_side::player_text(&person(player));
        let player = read_player(program, &player).map_err(|faults| format!("{faults:?}"))?;
        let parts = engine_side::parts_text(&parts_folder(parts));
        let parts = read_parts(program, &parts).map_err(|faults| format!("{faults:?}"))?;
        let evaluation = evaluate(program, &parts, &player, day(), &mut NoTrace);
        Ok(Fitted {
            program,
            parts,
            evaluation,
        })
    }

    /// The full answer for a player and parts.
    pub(crate) fn in_full(
        program: &'a Program,
        player: &str,
        parts: &str,
    ) -> Result<Recommendation, String> {
        let text = engine_side::player_text(&person(player));
        let player = read_player(program, &text).map_err(|faults| format!("{faults:?}"))?;
        let parts = engine_side::parts(program, &parts_folder(parts));
        Ok(fit_to_depth(
            program,
            &parts,
            &player,
            day(),
            Depth::Full(Workers::ONE),
        ))
    }
}

fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| !line.is_empty())
}

/// A player of `name = value` lines and `kept: field = value, …` lines.
pub(crate) fn person(text: &str) -> Person {
    let mut person = Person::default();
    for line in lines(text) {
        if let Some(club) = line.strip_prefix("kept:") {
            let clubs = person.given.entry("kept".to_owned()).or_default();
            clubs.push(assignments(club).collect());
        } else {
            let (name, value) = line.split_once('=').unwrap();
            let (name, value) = (name.trim().to_owned(), value.trim().to_owned());
            person.readings.insert(name, value);
        }
    }
    person
}

/// Parts of `head h1: field = value, …` lines for the catalogue, and `on hand, head: part = h1, …`
/// lines for the stock.
pub(crate) fn parts_folder(text: &str) -> PartsFolder {
    let mut folder = PartsFolder::default();
    for line in lines(text) {
        let (head, fields) = line.split_once(':').unwrap();
        let mut record = Record {
            place: line.to_owned(),
            ..Record::default()
        };
        for (name, value) in assignments(fields) {
            if value.starts_with('[') {
                record.lists.insert(name, records(&value));
            } else {
                record.texts.insert(name, value);
            }
        }
        let records = match head.strip_prefix("on hand, ") {
            Some(kind) => folder.stock.entry(kind.to_owned()),
            None => {
                let (kind, id) = head.split_once(' ').unwrap();
                record.texts.insert("id".to_owned(), id.to_owned());
                folder.catalogue.entry(kind.to_owned())
            }
        };
        records.or_default().push(record);
    }
    folder
}

fn assignments(text: &str) -> impl Iterator<Item = (String, String)> {
    text.split(',').map(|pair| {
        let (name, value) = pair.split_once('=').unwrap();
        (name.trim().to_owned(), value.trim().to_owned())
    })
}

/// `[tilt: 0 deg; turn: 0 deg] [tilt: 1 deg; turn: 0 deg]` is a list of records.
fn records(text: &str) -> Vec<BTreeMap<String, String>> {
    let record = |text: &str| {
        let pairs = text.split(';').filter_map(|pair| pair.split_once(':'));
        pairs
            .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
            .collect()
    };
    let texts = text.split(['[', ']']).map(str::trim);
    texts.filter(|text| !text.is_empty()).map(record).collect()
}
