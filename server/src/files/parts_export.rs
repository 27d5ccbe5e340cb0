//! A parts folder written anew, in CSV or TOML: what is read of it is what was written, value for
//! value.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Field, Part, PartId, Program, Record, Type, Value};
use loftwright_engine::intake::{Side, field_names, quoted, written_value};
use loftwright_engine::parts::{CataloguePart, OnHand, Parts};

use super::parts_kind::field_named;
use super::parts_written::{csv_files, stock_csv, toml_files};

/// The form in which a parts folder is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum PartsFormat {
    /// Comma separated values.
    Csv,
    /// TOML.
    Toml,
}

/// A file that is to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenFile {
    /// The path inside the parts folder: `catalogue/heads.csv`.
    pub path: String,
    /// The text.
    pub text: String,
}

/// What a field says, as texts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Written {
    /// One value.
    Text(String),
    /// A whole number, or yes or no: TOML writes them without quotes.
    Plain(String),
    /// The values of a list.
    Values(Vec<String>),
    /// The records of a list, each field by name.
    Records(Vec<BTreeMap<String, String>>),
}

/// The records of one kind on one side.
pub(super) struct WrittenKind<'a> {
    /// The kind.
    pub(super) part: &'a Part,
    /// The side.
    pub(super) side: Side,
    /// The names of the fields, in the order in which they are written.
    pub(super) names: Vec<&'a str>,
    /// The records: fields by name, what is not known left out.
    pub(super) records: Vec<BTreeMap<&'a str, Written>>,
}

/// The files of a parts folder that says what `parts` says.
///
/// # Errors
/// Every value that cannot be written in this form.
pub fn export(
    program: &Program,
    parts: &Parts,
    format: PartsFormat,
) -> Result<Vec<WrittenFile>, Vec<String>> {
    let mut faults = Vec::new();
    let mut files = Vec::new();
    for kind in parts.kinds() {
        for side in [Side::Catalogue, Side::Stock] {
            let written = of_kind(program, parts, kind, side, &mut faults);
            if side == Side::Stock && written.records.is_empty() {
                continue;
            }
            files.extend(match format {
                PartsFormat::Csv => csv_files(program, &written, &mut faults),
                PartsFormat::Toml => vec![toml_files(&written)],
            });
        }
    }
    if faults.is_empty() {
        Ok(files)
    } else {
        Err(faults)
    }
}

/// The stock of a kind as a file of it has it: a record for each piece or count, texts by name.
///
/// # Errors
/// Every value that cannot be written.
pub(crate) fn stock_records(
    program: &Program,
    parts: &Parts,
    kind: PartId,
) -> Result<Vec<BTreeMap<String, String>>, Vec<String>> {
    let mut faults = Vec::new();
    let written = of_kind(program, parts, kind, Side::Stock, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let text = |written: Written| match written {
        Written::Text(text) | Written::Plain(text) => text,
        Written::Values(values) if values.is_empty() => ";".to_owned(),
        Written::Values(values) => values.join("; "),
        // Records stand in the catalogue alone.
        Written::Records(_) => String::new(),
    };
    let record = |record: BTreeMap<&str, Written>| {
        let fields = record.into_iter();
        fields
            .map(|(name, written)| (name.to_owned(), text(written)))
            .collect()
    };
    Ok(written.records.into_iter().map(record).collect())
}

/// The file of the stock of a kind, with these records in their order: the first of them is in its
/// second line.
pub(crate) fn stock_file(part: &Part, records: &[BTreeMap<String, String>]) -> WrittenFile {
    stock_csv(part, &field_names(part, Side::Stock), records)
}

fn of_kind<'a>(
    program: &'a Program,
    parts: &Parts,
    kind: PartId,
    side: Side,
    faults: &mut Vec<String>,
) -> WrittenKind<'a> {
    let part = &program.parts[kind];
    let mut writer = Writer {
        program,
        part,
        faults,
    };
    let records = parts.of(kind).iter();
    let records = match side {
        Side::Catalogue => records.map(|one| writer.part(one)).collect(),
        Side::Stock => records.flat_map(|one| writer.on_hand(one)).collect(),
    };
    WrittenKind {
        part,
        side,
        names: field_names(part, side),
        records,
    }
}

struct Writer<'a, 'f> {
    program: &'a Program,
    part: &'a Part,
    faults: &'f mut Vec<String>,
}

impl<'a> Writer<'a, '_> {
    fn part(&mut self, one: &CataloguePart) -> BTreeMap<&'a str, Written> {
        let mut fields = self.fields(&one.id, &one.fields);
        fields.insert("id", Written::Text(one.id.clone()));
        if let Some(days) = one.lead_time_days {
            fields.insert("lead_time_days", Written::Plain(days.to_string()));
        }
        fields
    }

    fn on_hand(&mut self, one: &CataloguePart) -> Vec<BTreeMap<&'a str, Written>> {
        match &one.on_hand {
            OnHand::Counted(count) => vec![BTreeMap::from([
                ("part", Written::Text(one.id.clone())),
                ("on_hand", Written::Plain(count.to_string())),
            ])],
            OnHand::Pieces(pieces) => pieces
                .iter()
                .map(|piece| {
                    let mut fields = self.fields(&piece.id, &piece.fields);
                    fields.insert("id", Written::Text(piece.id.clone()));
                    fields.insert("part", Written::Text(one.id.clone()));
                    fields
                })
                .collect(),
        }
    }

    fn fields(&mut self, id: &str, record: &Record) -> BTreeMap<&'a str, Written> {
        let pairs = self.part.fields.iter().zip(record);
        let known = pairs.filter_map(|(field, value)| Some((field, value.as_ref()?)));
        known
            .map(|(field, value)| (field.name.as_str(), self.written(id, field, value)))
            .collect()
    }

    fn written(&mut self, id: &str, field: &Field, value: &Value) -> Written {
        match (value, field.value_type) {
            (Value::List(records), Type::List(listed)) => {
                let listed = &self.program.parts[listed];
                Written::Records(
                    records
                        .iter()
                        .map(|record| self.record(id, listed, record))
                        .collect(),
                )
            }
            (Value::Values(values), _) => {
                let texts = values.iter();
                Written::Values(texts.map(|value| self.text(id, field, value)).collect())
            }
            (Value::Flag(_), _) | (_, Type::Count) => Written::Plain(self.text(id, field, value)),
            _ => Written::Text(self.text(id, field, value)),
        }
    }

    fn record(&mut self, id: &str, listed: &Part, record: &Record) -> BTreeMap<String, String> {
        let pairs = listed.fields.iter().zip(record);
        let known = pairs.filter_map(|(field, value)| Some((field, value.as_ref()?)));
        known
            .map(|(field, value)| (field.name.clone(), self.text(id, field, value)))
            .collect()
    }

    fn text(&mut self, id: &str, field: &Field, value: &Value) -> String {
        written_value(self.program, field, value).unwrap_or_else(|| {
            let (kind, name) = (&self.part.name, quoted(&field.name));
            self.faults.push(format!(
                "{kind} {}: the value of {name} has no text that reads back as it is",
                quoted(id)
            ));
            String::new()
        })
    }
}

/// Whether a field of the part is a list of records.
pub(super) fn is_list_of_records(part: &Part, name: &str) -> bool {
    let field = field_named(part, name);
    field.is_some_and(|field| matches!(field.value_type, Type::List(_)))
}
