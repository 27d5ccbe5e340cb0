//! Writing.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::super::encoding::{
    EncodeFault, MOST_LEVELS, MOST_VALUES, Value, tag, write_counted, write_length, write_whole,
};
use super::SEVERAL;
use super::texts::KnownTexts;

/// The bytes of a value in columns.
///
/// # Errors
/// [`EncodeFault`].
pub fn to_columns(value: &Value, known: &KnownTexts) -> Result<Vec<u8>, EncodeFault> {
    let mut writer = Writer {
        known,
        own: HashMap::new(),
        texts: Vec::new(),
        sites: Vec::new(),
        values_left: MOST_VALUES,
    };
    writer.site(&[value], MOST_LEVELS)?;
    let mut bytes = Vec::with_capacity(writer.sites.len());
    write_length(&mut bytes, writer.texts.len());
    for text in &writer.texts {
        write_counted(&mut bytes, text.as_bytes());
    }
    bytes.extend(writer.sites);
    Ok(bytes)
}

struct Writer<'a> {
    known: &'a KnownTexts,
    /// The numbers of the texts that are not known.
    own: HashMap<&'a str, usize>,
    texts: Vec<&'a str>,
    sites: Vec<u8>,
    values_left: usize,
}

fn tag_of(value: &Value) -> u8 {
    match value {
        Value::Nothing => tag::NOTHING,
        Value::Flag(false) => tag::NO,
        Value::Flag(true) => tag::YES,
        Value::Whole(_) => tag::WHOLE,
        Value::Fraction(_) => tag::FRACTION,
        Value::Text(_) => tag::TEXT,
        Value::Bytes(_) => tag::BYTES,
        Value::List(_) => tag::LIST,
        Value::Map(_) => tag::MAP,
    }
}

impl<'a> Writer<'a> {
    fn site(&mut self, entries: &[&'a Value], levels: usize) -> Result<(), EncodeFault> {
        let Some(first) = entries.first() else {
            return Ok(());
        };
        let left = self.values_left.checked_sub(entries.len());
        self.values_left = left.ok_or(EncodeFault::TooMany)?;
        let tag = tag_of(first);
        if entries.iter().all(|entry| tag_of(entry) == tag) {
            self.sites.push(tag);
        } else {
            self.sites.push(SEVERAL);
            self.sites.extend(entries.iter().map(|entry| tag_of(entry)));
        }
        let (mut lists, mut maps) = (Vec::new(), Vec::new());
        let mut of_tags: [Vec<&'a Value>; 4] = Default::default();
        let [wholes, fractions, texts, bytes] = &mut of_tags;
        for entry in entries {
            match entry {
                Value::Nothing | Value::Flag(_) => {}
                Value::Whole(_) => wholes.push(entry),
                Value::Fraction(_) => fractions.push(entry),
                Value::Text(_) => texts.push(entry),
                Value::Bytes(_) => bytes.push(entry),
                Value::List(values) => lists.push(values.as_slice()),
                Value::Map(values) => maps.push(values),
            }
        }
        for entry in of_tags.into_iter().flatten() {
            self.plain(entry);
        }
        let deeper = levels.checked_sub(1).ok_or(EncodeFault::TooDeep);
        if !lists.is_empty() {
            self.lists(&lists, deeper?)?;
        }
        if !maps.is_empty() {
            self.maps(&maps, deeper?)?;
        }
        Ok(())
    }

    /// What is made of no other values.
    fn plain(&mut self, value: &'a Value) {
        match value {
            Value::Whole(number) => write_whole(&mut self.sites, *number),
            Value::Fraction(fraction) => {
                write_whole(&mut self.sites, fraction.numerator());
                write_whole(&mut self.sites, fraction.denominator());
            }
            Value::Text(text) => self.reference(text),
            Value::Bytes(content) => write_counted(&mut self.sites, content),
            Value::Nothing | Value::Flag(_) | Value::List(_) | Value::Map(_) => {}
        }
    }

    fn lists(&mut self, lists: &[&'a [Value]], levels: usize) -> Result<(), EncodeFault> {
        for list in lists {
            write_length(&mut self.sites, list.len());
        }
        let elements: Vec<&Value> = lists.iter().copied().flatten().collect();
        self.site(&elements, levels)
    }

    fn maps(
        &mut self,
        maps: &[&'a BTreeMap<String, Value>],
        levels: usize,
    ) -> Result<(), EncodeFault> {
        let mut numbers: BTreeMap<Vec<&'a str>, usize> = BTreeMap::new();
        let mut forms: Vec<Vec<&'a str>> = Vec::new();
        let mut form_of_each = Vec::with_capacity(maps.len());
        for map in maps {
            let form: Vec<&'a str> = map.keys().map(String::as_str).collect();
            let next = forms.len();
            let number = *numbers.entry(form).or_insert_with_key(|form| {
                forms.push(form.clone());
                next
            });
            form_of_each.push(number);
        }
        write_length(&mut self.sites, forms.len());
        for form in &forms {
            write_length(&mut self.sites, form.len());
            for key in form {
                self.reference(key);
            }
        }
        if forms.len() > 1 {
            for form in form_of_each {
                write_length(&mut self.sites, form);
            }
        }
        let keys: BTreeSet<&str> = forms.into_iter().flatten().collect();
        for key in keys {
            let entries: Vec<&Value> = maps.iter().filter_map(|map| map.get(key)).collect();
            self.site(&entries, levels)?;
        }
        Ok(())
    }

    fn reference(&mut self, text: &'a str) {
        let reference = match (self.known.number(text), self.own.get(text)) {
            (Some(number), _) => 2 * number + 1,
            (None, Some(number)) => 2 * number + 2,
            (None, None) => {
                self.own.insert(text, self.texts.len());
                self.texts.push(text);
                0
            }
        };
        write_length(&mut self.sites, reference);
    }
}
