//! What a person writes for a running service in a file of TOML: read table by table, every fault
//! with the name of its key.

use std::fs;
use std::path::Path;

use loftwright_engine::intake::{nearest, quoted};
use toml::{Table, Value};

use crate::ending::CommandError;

/// The largest file that is read.
const LARGEST_FILE_BYTES: u64 = 1024 * 1024;

/// A table whose keys are taken one by one; what is left at the end is not known.
pub(super) struct Keys<'f> {
    path: String,
    table: Table,
    known: Vec<&'static str>,
    faults: &'f mut Vec<String>,
}

/// Reads a file.
///
/// # Errors
/// [`CommandError::BadInput`] where it cannot be read or is no TOML.
pub(super) fn read(path: &Path) -> Result<(Table, String), CommandError> {
    let shown = path.display();
    let unreadable = |why: &dyn std::fmt::Display| CommandError::bad(format!("`{shown}`: {why}"));
    let found = fs::metadata(path).map_err(|why| unreadable(&why))?;
    if !found.is_file() || found.len() > LARGEST_FILE_BYTES {
        return Err(unreadable(&format!(
            "a file of at most {LARGEST_FILE_BYTES} bytes is needed"
        )));
    }
    let text = fs::read_to_string(path).map_err(|why| unreadable(&why))?;
    let table = text.parse::<Table>().map_err(|why| unreadable(&why))?;
    Ok((table, text))
}

impl<'f> Keys<'f> {
    /// The keys of a table that stands at a path; empty at the top.
    pub(super) fn of(path: &str, table: Table, faults: &'f mut Vec<String>) -> Self {
        Keys {
            path: path.to_owned(),
            table,
            known: Vec::new(),
            faults,
        }
    }

    fn place(&self, name: &str) -> String {
        match self.path.as_str() {
            "" => name.to_owned(),
            path => format!("{path}.{name}"),
        }
    }

    fn fault(&mut self, name: &str, what: &str) {
        let place = self.place(name);
        self.faults.push(format!("{place}: {what}"));
    }

    /// A text that may be left out; then it is empty.
    pub(super) fn text(&mut self, name: &'static str) -> String {
        self.known.push(name);
        let value = self.table.remove(name);
        match value.map(|value| text_of(&value)) {
            None => String::new(),
            Some(Ok(text)) => text,
            Some(Err(what)) => {
                self.fault(name, &what);
                String::new()
            }
        }
    }

    /// A text that must be there.
    pub(super) fn needed(&mut self, name: &'static str) -> String {
        if !self.table.contains_key(name) {
            self.fault(name, "is missing");
        }
        self.text(name)
    }

    /// A whole number that may be left out.
    pub(super) fn whole(&mut self, name: &'static str) -> Option<i64> {
        self.known.push(name);
        match self.table.remove(name)? {
            Value::Integer(number) => Some(number),
            _ => {
                self.fault(name, "is not a whole number");
                None
            }
        }
    }

    /// The tables of a list.
    pub(super) fn tables(&mut self, name: &'static str) -> Vec<(String, Table)> {
        self.known.push(name);
        let place = self.place(name);
        let values = match self.table.remove(name) {
            None => return Vec::new(),
            Some(Value::Array(values)) => values,
            Some(_) => {
                self.fault(name, &format!("write it as `[[{name}]]`"));
                return Vec::new();
            }
        };
        let mut tables = Vec::new();
        for (number, value) in values.into_iter().enumerate() {
            match value {
                Value::Table(table) => tables.push((format!("{place}[{number}]"), table)),
                _ => self.fault(name, &format!("write it as `[[{name}]]`")),
            }
        }
        tables
    }

    /// All that is left, by name.
    pub(super) fn rest(&mut self) -> Table {
        std::mem::take(&mut self.table)
    }

    /// Notes what is left as not known.
    pub(super) fn end(mut self) {
        let left: Vec<String> = self.table.keys().cloned().collect();
        for name in left {
            let near = nearest(&name, self.known.iter().copied());
            let near = near.map_or_else(String::new, |near| {
                format!("; did you mean {}?", quoted(near))
            });
            let known: Vec<String> = self.known.iter().map(|name| quoted(name)).collect();
            let what = format!("is not known here; known are {}{near}", known.join(", "));
            self.fault(&name, &what);
        }
    }
}

/// The text of a value: texts as they are, counts and yes or no as the language writes them.
///
/// # Errors
/// What is wrong with it.
pub(super) fn text_of(value: &Value) -> Result<String, String> {
    match value {
        Value::String(text) => Ok(text.clone()),
        Value::Integer(number) => Ok(number.to_string()),
        Value::Boolean(flag) => Ok(if *flag { "yes" } else { "no" }.to_owned()),
        Value::Datetime(date) => Ok(date.to_string()),
        Value::Float(number) => Err(format!(
            "is the number {number}; write a text, with the unit: \"{number} deg\", \"{number} in\""
        )),
        Value::Array(_) | Value::Table(_) => Err("is not a text".to_owned()),
    }
}
