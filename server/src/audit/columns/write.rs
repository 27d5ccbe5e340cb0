//! Writing.

use std::collections::{BTreeMap, HashMap};

use foldhash::fast::FixedState;

use super::super::encoding::{
    Borrowed, EncodeFault, MOST_LEVELS, MOST_VALUES, tag, write_counted, write_length, write_whole,
};
use super::SEVERAL;
use super::texts::KnownTexts;

/// The bytes of a value in columns.
///
/// # Errors
/// [`EncodeFault`].
pub fn to_columns(value: &Borrowed<'_>, known: &KnownTexts) -> Result<Vec<u8>, EncodeFault> {
    let mut writer = Writer {
        known,
        own: HashMap::default(),
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
    own: HashMap<&'a str, usize, FixedState>,
    texts: Vec<&'a str>,
    sites: Vec<u8>,
    values_left: usize,
}

/// The entries of a map, in the order of their names.
type Entries<'a> = [(&'a str, Borrowed<'a>)];

impl<'a> Writer<'a> {
    fn site(&mut self, entries: &[&Borrowed<'a>], levels: usize) -> Result<(), EncodeFault> {
        let Some(first) = entries.first() else {
            return Ok(());
        };
        let left = self.values_left.checked_sub(entries.len());
        self.values_left = left.ok_or(EncodeFault::TooMany)?;
        let tag = first.tag();
        if entries.iter().all(|entry| entry.tag() == tag) {
            self.sites.push(tag);
            return self.of_tag(tag, entries, levels);
        }
        self.sites.push(SEVERAL);
        self.sites.extend(entries.iter().map(|entry| entry.tag()));
        for tag in tag::NOTHING..=tag::MAP {
            let of_tag = entries.iter().filter(|entry| entry.tag() == tag);
            let of_tag: Vec<&Borrowed<'a>> = of_tag.copied().collect();
            if !of_tag.is_empty() {
                self.of_tag(tag, &of_tag, levels)?;
            }
        }
        Ok(())
    }

    /// The entries of a site that have one tag.
    fn of_tag(
        &mut self,
        tag: u8,
        entries: &[&Borrowed<'a>],
        levels: usize,
    ) -> Result<(), EncodeFault> {
        let deeper = levels.checked_sub(1).ok_or(EncodeFault::TooDeep);
        match tag {
            tag::LIST => self.lists(entries, deeper?),
            tag::MAP => self.maps(entries, deeper?),
            _ => {
                entries.iter().for_each(|entry| self.plain(entry));
                Ok(())
            }
        }
    }

    /// What is made of no other values.
    fn plain(&mut self, value: &Borrowed<'a>) {
        match value {
            Borrowed::Whole(number) => write_whole(&mut self.sites, *number),
            Borrowed::Fraction(fraction) => {
                write_whole(&mut self.sites, fraction.numerator());
                write_whole(&mut self.sites, fraction.denominator());
            }
            Borrowed::Text(text) => self.reference(text),
            Borrowed::Bytes(content) => write_counted(&mut self.sites, content),
            Borrowed::Nothing | Borrowed::Flag(_) | Borrowed::List(_) | Borrowed::Map(_) => {}
        }
    }

    fn lists(&mut self, lists: &[&Borrowed<'a>], levels: usize) -> Result<(), EncodeFault> {
        let lists = lists.iter().filter_map(|list| list.elements());
        let lists: Vec<&[Borrowed<'a>]> = lists.collect();
        for list in &lists {
            write_length(&mut self.sites, list.len());
        }
        let elements: Vec<&Borrowed<'a>> = lists.into_iter().flatten().collect();
        self.site(&elements, levels)
    }

    fn maps(&mut self, maps: &[&Borrowed<'a>], levels: usize) -> Result<(), EncodeFault> {
        let maps = maps.iter().filter_map(|map| map.entries());
        let maps: Vec<&Entries<'a>> = maps.collect();
        let (forms, form_of_each) = forms(&maps);
        write_length(&mut self.sites, forms.len());
        for form in &forms {
            write_length(&mut self.sites, form.len());
            for (key, _) in *form {
                self.reference(key);
            }
        }
        if forms.len() > 1 {
            for form in &form_of_each {
                write_length(&mut self.sites, *form);
            }
        }
        for places in places_of_keys(&forms).into_values() {
            let under = maps.iter().zip(&form_of_each).filter_map(|(map, form)| {
                let place = *places.get(*form)?;
                map.get(place?).map(|(_, value)| value)
            });
            self.site(&under.collect::<Vec<_>>(), levels)?;
        }
        Ok(())
    }

    fn reference(&mut self, text: &'a str) {
        let known = self.known.number(text).map(|number| 2 * number + 1);
        let written = || self.own.get(text).map(|number| 2 * number + 2);
        let reference = known.or_else(written).unwrap_or_else(|| {
            self.own.insert(text, self.texts.len());
            self.texts.push(text);
            0
        });
        write_length(&mut self.sites, reference);
    }
}

/// The different forms of maps, each as the first map that has it, and the number of each map's.
fn forms<'m, 'a>(maps: &[&'m Entries<'a>]) -> (Vec<&'m Entries<'a>>, Vec<usize>) {
    let mut forms: Vec<&Entries<'a>> = Vec::new();
    let mut numbers: BTreeMap<Keys<'m, 'a>, usize> = BTreeMap::new();
    let mut of_each: Vec<usize> = Vec::with_capacity(maps.len());
    for map in maps {
        // Most have the form of the one before.
        let before = of_each.last().copied();
        let form = before.and_then(|before| forms.get(before));
        let number = match before {
            Some(before) if form.is_some_and(|form| Keys(form) == Keys(map)) => before,
            _ => *numbers.entry(Keys(map)).or_insert_with(|| {
                forms.push(map);
                forms.len() - 1
            }),
        };
        of_each.push(number);
    }
    (forms, of_each)
}

/// For each key that a form has, ascending: where it stands in each form.
fn places_of_keys<'a>(forms: &[&Entries<'a>]) -> BTreeMap<&'a str, Vec<Option<usize>>> {
    let mut places: BTreeMap<&'a str, Vec<Option<usize>>> = BTreeMap::new();
    for (number, form) in forms.iter().enumerate() {
        for (place, (key, _)) in form.iter().enumerate() {
            let of_key = places.entry(key).or_insert_with(|| vec![None; forms.len()]);
            if let Some(of_form) = of_key.get_mut(number) {
                *of_form = Some(place);
            }
        }
    }
    places
}

/// A map by its keys alone.
struct Keys<'m, 'a>(&'m Entries<'a>);

impl Keys<'_, '_> {
    fn each(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(|(key, _)| *key)
    }
}

impl PartialEq for Keys<'_, '_> {
    fn eq(&self, other: &Self) -> bool {
        self.0.len() == other.0.len() && self.each().eq(other.each())
    }
}

impl Eq for Keys<'_, '_> {}

impl PartialOrd for Keys<'_, '_> {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Keys<'_, '_> {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.each().cmp(other.each())
    }
}
