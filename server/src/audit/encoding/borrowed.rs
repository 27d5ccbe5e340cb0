//! A value whose texts and bytes stand somewhere else: in a message, or among encoded bytes.

use std::collections::BTreeMap;

use super::encode::tag;
use super::value::{Fraction, Value};

/// A [`Value`] that has no text and no bytes of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Borrowed<'a> {
    /// Nothing is known, or nothing applies.
    Nothing,
    /// Yes or no.
    Flag(bool),
    /// A whole number.
    Whole(i128),
    /// A number that is not whole, exactly.
    Fraction(Fraction),
    /// A text.
    Text(&'a str),
    /// Bytes.
    Bytes(&'a [u8]),
    /// Values in an order that matters.
    List(Vec<Borrowed<'a>>),
    /// Values by name; the names ascend by their bytes, and none is there twice.
    Map(Vec<(&'a str, Borrowed<'a>)>),
}

impl<'a> Borrowed<'a> {
    /// The tag that it is encoded with.
    pub(in super::super) fn tag(&self) -> u8 {
        match self {
            Borrowed::Nothing => tag::NOTHING,
            Borrowed::Flag(false) => tag::NO,
            Borrowed::Flag(true) => tag::YES,
            Borrowed::Whole(_) => tag::WHOLE,
            Borrowed::Fraction(_) => tag::FRACTION,
            Borrowed::Text(_) => tag::TEXT,
            Borrowed::Bytes(_) => tag::BYTES,
            Borrowed::List(_) => tag::LIST,
            Borrowed::Map(_) => tag::MAP,
        }
    }

    /// The elements of a list; `None` of anything else.
    pub fn elements(&self) -> Option<&[Borrowed<'a>]> {
        match self {
            Borrowed::List(elements) => Some(elements),
            _ => None,
        }
    }

    /// The entries of a map; `None` of anything else.
    pub fn entries(&self) -> Option<&[(&'a str, Borrowed<'a>)]> {
        match self {
            Borrowed::Map(entries) => Some(entries),
            _ => None,
        }
    }

    /// What stands under a name in a map.
    pub fn entry(&self, name: &str) -> Option<&Borrowed<'a>> {
        let entries = self.entries()?;
        let place = entries.binary_search_by(|(known, _)| (*known).cmp(name));
        entries.get(place.ok()?).map(|(_, value)| value)
    }

    /// Takes out of a map what stands under a name.
    pub fn remove(&mut self, name: &str) -> Option<Borrowed<'a>> {
        let Borrowed::Map(entries) = self else {
            return None;
        };
        let place = entries.binary_search_by(|(known, _)| (*known).cmp(name));
        Some(entries.remove(place.ok()?).1)
    }
}

impl<'a> From<&'a Value> for Borrowed<'a> {
    fn from(value: &'a Value) -> Self {
        match value {
            Value::Nothing => Borrowed::Nothing,
            Value::Flag(flag) => Borrowed::Flag(*flag),
            Value::Whole(number) => Borrowed::Whole(*number),
            Value::Fraction(fraction) => Borrowed::Fraction(*fraction),
            Value::Text(text) => Borrowed::Text(text),
            Value::Bytes(bytes) => Borrowed::Bytes(bytes),
            Value::List(values) => Borrowed::List(values.iter().map(Borrowed::from).collect()),
            Value::Map(values) => {
                let entries = values.iter();
                let entries = entries.map(|(name, value)| (name.as_str(), value.into()));
                Borrowed::Map(entries.collect())
            }
        }
    }
}

impl From<Borrowed<'_>> for Value {
    fn from(value: Borrowed<'_>) -> Self {
        match value {
            Borrowed::Nothing => Value::Nothing,
            Borrowed::Flag(flag) => Value::Flag(flag),
            Borrowed::Whole(number) => Value::Whole(number),
            Borrowed::Fraction(fraction) => Value::Fraction(fraction),
            Borrowed::Text(text) => Value::Text(text.to_owned()),
            Borrowed::Bytes(bytes) => Value::Bytes(bytes.to_vec()),
            Borrowed::List(values) => Value::List(values.into_iter().map(Value::from).collect()),
            Borrowed::Map(entries) => {
                let entries = entries.into_iter();
                let entries = entries.map(|(name, value)| (name.to_owned(), value.into()));
                Value::Map(entries.collect::<BTreeMap<_, _>>())
            }
        }
    }
}
