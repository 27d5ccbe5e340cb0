//! Catalogue and stock in TOML: a table for each record.

use std::collections::BTreeMap;
use std::ops::Range;

use loftwright_dsl::program::{Part, Program, Shown, Type};
use loftwright_engine::intake::{FieldText, RecordText, nearest, quoted, text_to_write};

use super::fault::{FileFault, FileFaultKind};
use super::lines::Lines;
use super::parts_kind::{field_named, is_its_name, type_of_field};
use super::parts_places::{Records, Spot};
use super::text_file::TextFile;
use super::toml_value::{Located, Scalar, Table, float_message, parse, scalar, tables};

/// Reads the records of one file; its faults of form are noted. `None` where it is no TOML.
pub(super) fn read(
    program: &Program,
    part: &Part,
    file: &TextFile,
    records: &mut Records,
) -> Option<Vec<RecordText>> {
    let text = file.text.as_str();
    let lines = Lines::of(text);
    let table = match parse(&file.shown, text, &lines) {
        Ok(table) => table,
        Err(faults) => {
            records.faults.extend(faults);
            return None;
        }
    };
    let mut reader = Reader {
        program,
        part,
        shown: &file.shown,
        text,
        lines: &lines,
        records,
    };
    Some(reader.read_file(&table))
}

struct Reader<'a> {
    program: &'a Program,
    part: &'a Part,
    shown: &'a str,
    text: &'a str,
    lines: &'a Lines,
    records: &'a mut Records,
}

impl Reader<'_> {
    fn read_file(&mut self, table: &Table<'_>) -> Vec<RecordText> {
        let mut read = Vec::new();
        for (key, value) in table {
            let name = key.get_ref().as_ref();
            let records = tables(value.get_ref());
            match records {
                Some(records) if is_its_name(self.part, name) => {
                    for (record, byte) in records {
                        read.push(self.read_record(record, byte));
                    }
                }
                _ => self.refuse_key(name, key.span()),
            }
        }
        read
    }

    fn refuse_key(&mut self, name: &str, span: Range<usize>) {
        let own = &self.part.name;
        let near = nearest(name, [own.as_str(), self.part.plural.as_str()]);
        let hint = match near {
            _ if is_its_name(self.part, name) => String::new(),
            Some(near) => format!("; did you mean `[[{near}]]`?"),
            None => String::new(),
        };
        let message = format!(
            "{} does not stand here; each record is a table under `[[{own}]]`{hint}",
            quoted(name)
        );
        let fault = FileFault::of_file(FileFaultKind::UnknownName, self.shown, message);
        self.records.faults.push(fault.at(span).of_key(name));
    }

    fn read_record(&mut self, record: &Table<'_>, byte: usize) -> RecordText {
        let span = self.first_line(byte);
        let line = self.lines.line_of(byte);
        let place = self.records.places.of_record(self.shown, line, span);
        let mut fields = BTreeMap::new();
        for (key, value) in record {
            let name = key.get_ref().as_ref();
            let path = format!("{place}: {name}");
            self.note(&path, key.span(), value.span());
            let field = match (tables(value.get_ref()), value.get_ref().as_array()) {
                (Some(list), _) => Some(FieldText::List(self.read_list(name, &path, list))),
                (None, Some(values)) => Some(FieldText::Values(self.values(name, &path, values))),
                (None, None) => {
                    let value_type = type_of_field(self.part, name);
                    let shown = field_named(self.part, name).map(|field| &field.shown);
                    self.text(&path, value, value_type, shown)
                        .map(FieldText::Text)
                }
            };
            if let Some(field) = field {
                fields.insert(name.to_owned(), field);
            }
        }
        RecordText { place, fields }
    }

    fn note(&mut self, path: &str, name: Range<usize>, value: Range<usize>) {
        let file = self.shown.to_owned();
        let spot = Spot { file, name, value };
        self.records.places.of_field(path.to_owned(), spot);
    }

    /// From a byte to the end of its line: a table is pointed at by its first line.
    fn first_line(&self, byte: usize) -> Range<usize> {
        let rest = self.text.get(byte..).unwrap_or("");
        let line = rest.lines().next().unwrap_or("").trim_end();
        byte..byte + line.len()
    }

    /// The values of a list, each with a place of its own.
    fn values(&mut self, name: &str, path: &str, values: &[Located<'_>]) -> Vec<String> {
        let field = field_named(self.part, name);
        let element = field.and_then(|field| match field.value_type {
            Type::ListOf(element) => Some(element.value_type()),
            _ => None,
        });
        let mut read = Vec::with_capacity(values.len());
        for (place, value) in values.iter().enumerate() {
            let path = format!("{path}[{}]", place + 1);
            self.note(&path, value.span(), value.span());
            read.extend(self.text(&path, value, element, field.map(|field| &field.shown)));
        }
        read
    }

    fn read_list(
        &mut self,
        name: &str,
        path: &str,
        list: Vec<(&Table<'_>, usize)>,
    ) -> Vec<BTreeMap<String, String>> {
        let listed = match field_named(self.part, name).map(|field| field.value_type) {
            Some(Type::List(part)) => Some(&self.program.parts[part]),
            _ => None,
        };
        let mut read = Vec::new();
        for (place, (record, byte)) in list.into_iter().enumerate() {
            let record_path = format!("{path}[{}]", place + 1);
            let span = self.first_line(byte);
            self.note(&record_path, span.clone(), span);
            let mut fields = BTreeMap::new();
            for (key, value) in record {
                let name = key.get_ref().as_ref();
                let path = format!("{record_path}.{name}");
                self.note(&path, key.span(), value.span());
                let field = listed.and_then(|part| field_named(part, name));
                let value_type = field.map(|field| field.value_type);
                let shown = field.map(|field| &field.shown);
                if let Some(text) = self.text(&path, value, value_type, shown) {
                    fields.insert(name.to_owned(), text);
                }
            }
            read.push(fields);
        }
        read
    }

    /// The text of a value. A float is refused with the text to write, which then stands for it, so
    /// that nothing is said twice.
    fn text(
        &mut self,
        path: &str,
        value: &Located<'_>,
        value_type: Option<Type>,
        shown: Option<&Shown>,
    ) -> Option<String> {
        match scalar(value.get_ref()) {
            Scalar::Text(text) => Some(text),
            Scalar::Float(number) => {
                let usual = Shown::default();
                let shown = shown.unwrap_or(&usual);
                let to_write = value_type
                    .and_then(|value_type| text_to_write(self.program, value_type, shown, &number));
                // Where a number cannot stand at all, intake says what must.
                if let Some(to_write) = &to_write {
                    let message = float_message(&number, Some(to_write));
                    self.records
                        .fault(FileFaultKind::Float, path.to_owned(), message);
                }
                Some(to_write.unwrap_or(number))
            }
            Scalar::Wrong(message) => {
                self.records
                    .fault(FileFaultKind::WrongForm, path.to_owned(), message);
                None
            }
        }
    }
}
