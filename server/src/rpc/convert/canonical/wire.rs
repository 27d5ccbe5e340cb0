//! A message's bytes, as they go over the wire, read as a value: field by field, and no text of
//! them copied.

use super::forms::{Form, Forms, Holds, Sort};
use crate::audit::encoding::Borrowed;

/// The value of the bytes of a message; `None` where they are of another form.
pub(super) fn value<'a>(forms: &'a Forms, form: &'a Form, bytes: &'a [u8]) -> Option<Borrowed<'a>> {
    let mut values: Vec<Option<Borrowed<'a>>> = vec![None; form.fields.len()];
    let mut wire = Wire { left: bytes };
    while !wire.left.is_empty() {
        let place = form.place(wire.number_of_field()?)?;
        let held = values.get_mut(place)?;
        match &form.fields.get(place)?.holds {
            Holds::One(sort) => *held = Some(wire.value(forms, sort)?),
            Holds::List(sort) => {
                let value = wire.value(forms, sort)?;
                match held {
                    Some(Borrowed::List(values)) => values.push(value),
                    _ => *held = Some(Borrowed::List(vec![value])),
                }
            }
            Holds::Map(sort) => {
                let entry = entry(forms, sort, wire.counted()?)?;
                match held {
                    Some(Borrowed::Map(entries)) => take_in(entries, entry),
                    _ => *held = Some(Borrowed::Map(vec![entry])),
                }
            }
        }
    }
    let fields = form.fields.iter().zip(values);
    let fields = fields.filter_map(|(field, value)| Some((field.name.as_str(), value?)));
    Some(Borrowed::Map(fields.collect()))
}

/// Puts an entry in its place among those before it, which its writer may have sent in any order;
/// of two under one text the later one counts.
fn take_in<'a>(entries: &mut Vec<(&'a str, Borrowed<'a>)>, entry: (&'a str, Borrowed<'a>)) {
    match entries.binary_search_by(|(text, _)| (*text).cmp(entry.0)) {
        Ok(place) => {
            if let Some(before) = entries.get_mut(place) {
                *before = entry;
            }
        }
        Err(place) => entries.insert(place, entry),
    }
}

/// An entry of a map: a message with the text as its first field, and the value as its second.
fn entry<'a>(forms: &'a Forms, sort: &'a Sort, bytes: &'a [u8]) -> Option<(&'a str, Borrowed<'a>)> {
    let (mut text, mut value) = ("", None);
    let mut wire = Wire { left: bytes };
    while !wire.left.is_empty() {
        match wire.number_of_field()? {
            1 => text = wire.text()?,
            2 => value = Some(wire.value(forms, sort)?),
            _ => return None,
        }
    }
    // What is empty is not on the wire.
    let value = value.or(match sort {
        Sort::Text => Some(Borrowed::Text("")),
        Sort::Message(_) => Some(Borrowed::Map(Vec::new())),
        _ => None,
    });
    Some((text, value?))
}

/// What is left of bytes.
struct Wire<'a> {
    left: &'a [u8],
}

impl<'a> Wire<'a> {
    /// The number of the field that comes next. How it is written its form says.
    fn number_of_field(&mut self) -> Option<u64> {
        Some(self.number()? >> 3)
    }

    fn value(&mut self, forms: &'a Forms, sort: &'a Sort) -> Option<Borrowed<'a>> {
        Some(match sort {
            Sort::Flag => Borrowed::Flag(self.number()? != 0),
            Sort::Signed => Borrowed::Whole(self.number()?.cast_signed().into()),
            Sort::Unsigned => Borrowed::Whole(self.number()?.into()),
            Sort::Text => Borrowed::Text(self.text()?),
            Sort::Bytes => Borrowed::Bytes(self.counted()?),
            Sort::Choice(names) => {
                let place = usize::try_from(self.number()?).ok()?;
                Borrowed::Text(names.get(place)?.as_deref()?)
            }
            Sort::Message(place) => value(forms, forms.at(*place)?, self.counted()?)?,
        })
    }

    fn text(&mut self) -> Option<&'a str> {
        std::str::from_utf8(self.counted()?).ok()
    }

    /// Bytes after their length.
    fn counted(&mut self) -> Option<&'a [u8]> {
        let length = usize::try_from(self.number()?).ok()?;
        let (counted, left) = self.left.split_at_checked(length)?;
        self.left = left;
        Some(counted)
    }

    /// A number in LEB128.
    fn number(&mut self) -> Option<u64> {
        let mut number = 0;
        for shift in (0..u64::BITS).step_by(7) {
            let (byte, left) = self.left.split_first()?;
            self.left = left;
            number |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Some(number);
            }
        }
        None
    }
}
