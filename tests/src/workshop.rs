//! The rulesets, parts and players of the repository, read from its folders.
//!
//! The program has readers of its own; these are the tests', so that a test needs neither.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use loftwright_dsl::syntax::tree::Declaration;
use loftwright_dsl::syntax::{Folder, SourceFile, parse_folder};
use loftwright_engine::CONTRACT_RULES;

use crate::oracle;

/// A record of catalogue or stock: its texts, and its lists of records.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// Where it stands.
    pub place: String,
    /// Fields by name.
    pub texts: BTreeMap<String, String>,
    /// Lists by name.
    pub lists: BTreeMap<String, Vec<BTreeMap<String, String>>>,
}

/// The records of a parts folder by kind of part.
#[derive(Clone, Debug, Default)]
pub struct PartsFolder {
    /// The catalogue.
    pub catalogue: BTreeMap<String, Vec<Record>>,
    /// The stock.
    pub stock: BTreeMap<String, Vec<Record>>,
}

/// A player's file: readings and clubs as text.
#[derive(Clone, Debug, Default)]
pub struct PlayerFile {
    /// The file's name without its ending.
    pub name: String,
    /// Readings by input.
    pub readings: BTreeMap<String, String>,
    /// Clubs he keeps.
    pub kept: Vec<BTreeMap<String, String>>,
}

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .unwrap()
        .to_owned()
}

/// The rules files of a layer of the repository or of the corpus, by name and text, sorted by name.
pub fn layer(name: &str) -> Vec<(String, String)> {
    if name == "contract" {
        return vec![(
            "engine/contract.rules".to_owned(),
            CONTRACT_RULES.to_owned(),
        )];
    }
    let corpus = root().join("tests/corpus").join(format!("{name}.rules"));
    if corpus.exists() {
        let text = fs::read_to_string(&corpus).unwrap();
        return vec![(format!("{name}.rules"), text)];
    }
    let files = sorted_files(&root().join("rulesets").join(name), "rules");
    let read = |path: PathBuf| {
        let file = path.file_name().unwrap().to_str().unwrap();
        (format!("{name}/{file}"), fs::read_to_string(&path).unwrap())
    };
    files.into_iter().map(read).collect()
}

/// The trees of a layer; its text must be without findings.
pub fn trees(name: &str) -> Vec<Declaration> {
    trees_of(name, layer(name))
}

/// The trees of files by name and text, which must be without findings.
pub fn trees_of(layer: &str, files: Vec<(String, String)>) -> Vec<Declaration> {
    let mut folder = Folder::new();
    for (name, text) in files {
        folder.push(SourceFile {
            layer: layer.to_owned(),
            name,
            text,
        });
    }
    let (declarations, findings) = parse_folder(&folder);
    assert!(findings.is_empty(), "{layer}: {findings:?}");
    declarations
}

/// The layers under a ruleset, the contract first.
pub fn layer_names(ruleset: &str) -> Vec<&str> {
    match ruleset {
        "common" => vec!["contract", "common"],
        "base" => vec!["contract", "base"],
        "corners" | "edges" | "sharing" => vec!["contract", "base", ruleset],
        "upstairs" => vec!["contract", "base", "corners", "upstairs"],
        house => vec!["contract", "common", house],
    }
}

/// The demo's parts.
pub fn demo_parts() -> PartsFolder {
    parts_of("demo")
}

/// The parts of a folder below `rulesets/`.
pub fn parts_of(name: &str) -> PartsFolder {
    let folder = root().join("rulesets").join(name);
    PartsFolder {
        catalogue: records(&folder.join("catalogue")),
        stock: records(&folder.join("stock")),
    }
}

/// The demo's players, sorted by name.
pub fn demo_players() -> Vec<PlayerFile> {
    let files = sorted_files(&root().join("rulesets/demo/players"), "toml");
    files.iter().map(|path| player(path)).collect()
}

/// The oracle's parts.
pub fn oracle_parts(rules: &oracle::Rules, folder: &PartsFolder) -> oracle::Parts {
    let mut parts = oracle::Parts::default();
    for (kind, records) in &folder.catalogue {
        let mut list: Vec<_> = records
            .iter()
            .map(|record| oracle_part(rules, kind, record))
            .collect();
        list.sort_by(|one: &oracle::Part, other| one.id.cmp(&other.id));
        parts.kinds.insert(kind.clone(), list);
    }
    for (kind, records) in &folder.stock {
        let list = parts.kinds.get_mut(kind).unwrap();
        for record in records {
            let part = list
                .iter_mut()
                .find(|part| part.id == record.texts["part"])
                .unwrap();
            match record.texts.get("id") {
                Some(id) => part.pieces.push(oracle::Piece {
                    id: id.clone(),
                    fields: rules.read_part(kind, &record.texts),
                }),
                None => part.on_hand += record.texts["on_hand"].parse::<i64>().unwrap(),
            }
        }
        for part in list {
            part.pieces.sort_by(|one, other| one.id.cmp(&other.id));
        }
    }
    parts
}

fn oracle_part(rules: &oracle::Rules, kind: &str, record: &Record) -> oracle::Part {
    let list = |(name, records): (&String, &Vec<BTreeMap<String, String>>)| {
        let element = rules
            .part_field(kind, name)
            .unwrap()
            .type_reference
            .name
            .text
            .clone();
        let read = |record| rules.read_part(&element, record);
        (name.clone(), records.iter().map(read).collect())
    };
    let mut fields = rules.read_part(kind, &record.texts);
    for (name, records) in &record.lists {
        let declared = rules.part_field(kind, name).unwrap();
        if records.is_empty() && !rules.parts.contains_key(&declared.type_reference.name.text) {
            fields.insert(name.clone(), oracle::Value::List(Vec::new()));
        }
    }
    oracle::Part {
        id: record.texts["id"].clone(),
        fields,
        lists: record.lists.iter().map(list).collect(),
        ..oracle::Part::default()
    }
}

/// The files of a folder with this ending, sorted by name.
pub fn sorted_files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap_or_else(|error| panic!("{folder:?}: {error}"));
    let paths = entries.map(|entry| entry.unwrap().path());
    let mut paths: Vec<_> = paths
        .filter(|path| path.extension().is_some_and(|found| found == ending))
        .collect();
    paths.sort();
    paths
}

/// `heads.toml` holds `[[head]]`, `heads.csv` a line a record; the kind is the file's name without
/// its plural.
fn records(folder: &Path) -> BTreeMap<String, Vec<Record>> {
    let mut kinds: BTreeMap<String, Vec<Record>> = BTreeMap::new();
    for path in sorted_files(folder, "csv") {
        let stem = path.file_stem().unwrap().to_str().unwrap();
        let kind = stem.strip_suffix('s').unwrap_or(stem).to_owned();
        let mut reader = csv::Reader::from_path(&path).unwrap();
        for (number, record) in reader.deserialize::<BTreeMap<String, String>>().enumerate() {
            let mut texts = record.unwrap();
            texts.retain(|_, text| !text.is_empty());
            kinds.entry(kind.clone()).or_default().push(Record {
                place: format!("{stem}.csv, record {}", number + 1),
                texts,
                lists: BTreeMap::new(),
            });
        }
    }
    for path in sorted_files(folder, "toml") {
        let table: toml::Table = fs::read_to_string(&path).unwrap().parse().unwrap();
        for (kind, records) in &table {
            for (number, value) in records.as_array().unwrap().iter().enumerate() {
                let place = format!("{kind} {}", number + 1);
                let record = toml_record(place, value.as_table().unwrap());
                kinds.entry(kind.clone()).or_default().push(record);
            }
        }
    }
    kinds
}

fn toml_record(place: String, table: &toml::Table) -> Record {
    let mut record = Record {
        place,
        ..Record::default()
    };
    for (name, value) in table {
        match value {
            toml::Value::Array(list) => {
                let texts = |value: &toml::Value| texts_of(value.as_table().unwrap());
                record
                    .lists
                    .insert(name.clone(), list.iter().map(texts).collect());
            }
            _ => {
                record.texts.insert(name.clone(), toml_text(value));
            }
        }
    }
    record
}

fn texts_of(table: &toml::Table) -> BTreeMap<String, String> {
    table
        .iter()
        .map(|(name, value)| (name.clone(), toml_text(value)))
        .collect()
}

/// Texts and counts stand plainly, a reading with its spread and shots as a table with a `value`.
fn toml_text(value: &toml::Value) -> String {
    match value {
        toml::Value::String(text) => text.clone(),
        toml::Value::Integer(number) => number.to_string(),
        toml::Value::Boolean(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        toml::Value::Table(table) => toml_text(&table["value"]),
        other => panic!("{other}"),
    }
}

fn player(path: &Path) -> PlayerFile {
    let table: toml::Table = fs::read_to_string(path).unwrap().parse().unwrap();
    let kept = table.get("kept").and_then(toml::Value::as_array);
    PlayerFile {
        name: path.file_stem().unwrap().to_str().unwrap().to_owned(),
        readings: texts_of(table["readings"].as_table().unwrap()),
        kept: kept
            .into_iter()
            .flatten()
            .map(|club| texts_of(club.as_table().unwrap()))
            .collect(),
    }
}
