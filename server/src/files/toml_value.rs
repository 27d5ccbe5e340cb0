//! Values of TOML as the texts that intake reads.
//!
//! Texts stay as they are; `true` and `false` become yes and no, whole numbers their digits, dates
//! their day. A float is kept apart: TOML readers hold it in binary, which bends decimals, so it is
//! refused with the text to write instead.

use loftwright_engine::intake::quoted;
use toml::Spanned;
use toml::de::{DeTable, DeValue, Error};

use super::fault::{FileFault, FileFaultKind};
use super::lines::Lines;

/// A table of TOML whose keys know where they stand.
pub(super) type Table<'a> = DeTable<'a>;
/// A value of TOML that knows where it stands.
pub(super) type Located<'a> = Spanned<DeValue<'a>>;

/// A value of TOML that is no table and no list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Scalar {
    /// The text that intake reads.
    Text(String),
    /// A float, with its digits as they are written.
    Float(String),
    /// Something that has no text, with what is wrong.
    Wrong(String),
}

/// Reads a TOML document; every fault of its form at once.
pub(super) fn parse<'a>(
    shown: &str,
    text: &'a str,
    lines: &Lines,
) -> Result<Table<'a>, Vec<FileFault>> {
    let (table, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Ok(table.into_inner());
    }
    let mut faults: Vec<_> = errors
        .iter()
        .map(|error| syntax_fault(shown, error, lines))
        .collect();
    faults.sort_by(FileFault::in_order);
    faults.dedup();
    Err(faults)
}

fn syntax_fault(shown: &str, error: &Error, lines: &Lines) -> FileFault {
    let is_twice = error.message().contains("duplicate");
    let kind = if is_twice {
        FileFaultKind::Twice
    } else {
        FileFaultKind::Syntax
    };
    let message = format!("is not TOML here: {}", error.message());
    let fault = FileFault::of_file(kind, shown, message);
    match error.span() {
        Some(span) => fault.at_line(lines.line_of(span.start)).at(span),
        None => fault,
    }
}

/// The text of a value.
pub(super) fn scalar(value: &DeValue<'_>) -> Scalar {
    match value {
        DeValue::String(text) => Scalar::Text(text.to_string()),
        DeValue::Boolean(true) => Scalar::Text("yes".to_owned()),
        DeValue::Boolean(false) => Scalar::Text("no".to_owned()),
        DeValue::Integer(number) if number.radix() == 10 => match number.as_str().parse::<i64>() {
            Ok(number) => Scalar::Text(number.to_string()),
            Err(_) => Scalar::Wrong(format!("{} is too large", quoted(number.as_str()))),
        },
        DeValue::Integer(number) => Scalar::Wrong(format!(
            "{} is not a decimal number; write its decimal digits",
            quoted(&number.to_string())
        )),
        DeValue::Float(number) => Scalar::Float(number.as_str().to_owned()),
        DeValue::Datetime(moment) => match (moment.date, moment.time) {
            (Some(date), None) => Scalar::Text(date.to_string()),
            _ => Scalar::Wrong(format!(
                "{} has a time of day; a date such as `2026-05-01` is needed",
                quoted(&moment.to_string())
            )),
        },
        DeValue::Array(_) => Scalar::Wrong("is a list; a text is needed".to_owned()),
        DeValue::Table(_) => Scalar::Wrong("is a table; a text is needed".to_owned()),
    }
}

/// A value as a sentence names it: `` `7` ``, `a list`.
pub(super) fn sent(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => quoted(&format!("\"{text}\"")),
        DeValue::Boolean(flag) => quoted(&flag.to_string()),
        DeValue::Integer(number) => quoted(&number.to_string()),
        DeValue::Float(number) => quoted(number.as_str()),
        DeValue::Datetime(moment) => quoted(&moment.to_string()),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// The records of a list of tables; `None` where it is anything else.
pub(super) fn tables<'v, 'a>(value: &'v DeValue<'a>) -> Option<Vec<(&'v Table<'a>, usize)>> {
    let list = value.as_array()?;
    let table = |item: &'v Located<'a>| {
        let start = item.span().start;
        item.get_ref().as_table().map(|table| (table, start))
    };
    list.iter().map(table).collect()
}

/// The sentence for a float, with the text to write where it is known.
pub(super) fn float_message(number: &str, to_write: Option<&str>) -> String {
    let sent = quoted(number);
    match to_write {
        Some(text) => {
            format!("{sent} is a float of TOML, which bends decimals; write the text `\"{text}\"`")
        }
        None => format!(
            "{sent} is a float of TOML, which bends decimals; write it in quotes, with its unit"
        ),
    }
}
