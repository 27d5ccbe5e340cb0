//! Reading.

use std::collections::BTreeMap;

use super::super::encoding::{Borrowed, DecodeFault, DecodeFaultKind, MOST_LEVELS, Reader, tag};
use super::SEVERAL;
use super::texts::KnownTexts;

/// No more room is made before it is known that so much is there.
const MOST_ROOM: usize = 16;

/// The value of bytes in columns; its texts stay where they are, there or among those known.
///
/// # Errors
/// The first [`DecodeFault`].
pub fn of_columns<'a>(bytes: &'a [u8], known: &'a KnownTexts) -> Result<Borrowed<'a>, DecodeFault> {
    let mut reader = Reader::new(bytes);
    let texts = reader.length()?;
    let mut own = Vec::with_capacity(texts.min(MOST_ROOM));
    for _ in 0..texts {
        own.push(reader.text()?);
    }
    let mut columns = Columns {
        reader,
        known,
        own,
        referred_to: 0,
    };
    let value = columns.one(MOST_LEVELS)?;
    if columns.referred_to < columns.own.len() {
        return Err(columns.reader.fault(DecodeFaultKind::UnusedText));
    }
    match columns.reader.is_done() {
        true => Ok(value),
        false => Err(columns.reader.fault(DecodeFaultKind::Trailing)),
    }
}

struct Columns<'a> {
    reader: Reader<'a>,
    known: &'a KnownTexts,
    own: Vec<&'a str>,
    /// How many of them were referred to.
    referred_to: usize,
}

impl<'a> Columns<'a> {
    /// The values of a site, in their order.
    fn site(&mut self, count: usize, levels: usize) -> Result<Vec<Borrowed<'a>>, DecodeFault> {
        match count {
            0 => return Ok(Vec::new()),
            1 => return Ok(vec![self.one(levels)?]),
            _ => {}
        }
        self.reader.count(count)?;
        let first = self.reader.byte()?;
        if first != SEVERAL {
            return self.of_tag(first, count, levels);
        }
        let tags = self.reader.take(count)?;
        let mut counts: BTreeMap<u8, usize> = BTreeMap::new();
        for tag in tags {
            *counts.entry(*tag).or_default() += 1;
        }
        let mut of_tags = BTreeMap::new();
        for (tag, count) in counts {
            of_tags.insert(tag, self.of_tag(tag, count, levels)?.into_iter());
        }
        let mut next = |tag| of_tags.get_mut(tag).and_then(Iterator::next);
        let values: Option<Vec<Borrowed<'a>>> = tags.iter().map(&mut next).collect();
        values.ok_or(self.reader.fault(DecodeFaultKind::CutShort))
    }

    /// The value of a site that has one: of a request all sites are such, where it brings no clubs.
    fn one(&mut self, levels: usize) -> Result<Borrowed<'a>, DecodeFault> {
        self.reader.count(1)?;
        let mut tag = self.reader.byte()?;
        if tag == SEVERAL {
            tag = self.reader.byte()?;
        }
        let fault = |kind| self.reader.fault(kind);
        let deeper = levels.checked_sub(1).ok_or(fault(DecodeFaultKind::TooDeep));
        match tag {
            tag::LIST => {
                let (levels, length) = (deeper?, self.reader.length()?);
                self.site(length, levels).map(Borrowed::List)
            }
            tag::MAP => self.map(deeper?),
            _ => self.plain(tag),
        }
    }

    fn map(&mut self, levels: usize) -> Result<Borrowed<'a>, DecodeFault> {
        let forms = self.reader.length()?;
        if forms != 1 {
            let map = self.maps_of_forms(forms, 1, levels)?.pop();
            return map.ok_or(self.reader.fault(DecodeFaultKind::CutShort));
        }
        let keys = self.form()?;
        let mut entries = Vec::with_capacity(keys.len());
        for key in keys {
            entries.push((key, self.one(levels)?));
        }
        Ok(Borrowed::Map(entries))
    }

    /// The values of a site that have one tag.
    fn of_tag(
        &mut self,
        tag: u8,
        count: usize,
        levels: usize,
    ) -> Result<Vec<Borrowed<'a>>, DecodeFault> {
        let fault = |kind| self.reader.fault(kind);
        let deeper = levels.checked_sub(1).ok_or(fault(DecodeFaultKind::TooDeep));
        match tag {
            tag::LIST => self.lists(count, deeper?),
            tag::MAP => self.maps(count, deeper?),
            _ => (0..count).map(|_| self.plain(tag)).collect(),
        }
    }

    fn plain(&mut self, tag: u8) -> Result<Borrowed<'a>, DecodeFault> {
        Ok(match tag {
            tag::NOTHING => Borrowed::Nothing,
            tag::NO => Borrowed::Flag(false),
            tag::YES => Borrowed::Flag(true),
            tag::WHOLE => Borrowed::Whole(self.reader.whole()?),
            tag::FRACTION => {
                let at = self.reader.at;
                Borrowed::Fraction(self.reader.fraction(at)?)
            }
            tag::TEXT => Borrowed::Text(self.reference()?),
            tag::BYTES => Borrowed::Bytes(self.reader.counted()?),
            other => return Err(self.reader.fault(DecodeFaultKind::UnknownTag(other))),
        })
    }

    fn lists(&mut self, count: usize, levels: usize) -> Result<Vec<Borrowed<'a>>, DecodeFault> {
        let lengths = self.numbers(count)?;
        let all = lengths
            .iter()
            .try_fold(0_usize, |all, length| all.checked_add(*length));
        let all = all.ok_or(self.reader.fault(DecodeFaultKind::TooMany))?;
        let mut elements = self.site(all, levels)?.into_iter();
        let list = |length| Borrowed::List(elements.by_ref().take(length).collect());
        Ok(lengths.into_iter().map(list).collect())
    }

    fn maps(&mut self, count: usize, levels: usize) -> Result<Vec<Borrowed<'a>>, DecodeFault> {
        let forms = self.reader.length()?;
        self.maps_of_forms(forms, count, levels)
    }

    /// The keys of a form, ascending.
    fn form(&mut self) -> Result<Vec<&'a str>, DecodeFault> {
        let length = self.reader.length()?;
        let mut form: Vec<&'a str> = Vec::with_capacity(length.min(MOST_ROOM));
        for _ in 0..length {
            let key = self.reference()?;
            if form.last().is_some_and(|last| *last >= key) {
                return Err(self.reader.fault(DecodeFaultKind::KeyOrder));
            }
            form.push(key);
        }
        Ok(form)
    }

    /// Maps of which so many forms come first.
    fn maps_of_forms(
        &mut self,
        forms: usize,
        count: usize,
        levels: usize,
    ) -> Result<Vec<Borrowed<'a>>, DecodeFault> {
        let forms = (0..forms).map(|_| self.form());
        let forms: Vec<Vec<&'a str>> = forms.collect::<Result<_, _>>()?;
        if let [form] = forms.as_slice() {
            return self.maps_of_one_form(count, form, levels);
        }
        let form_of_each = self.numbers(count)?;
        let mut entries_of_form = vec![0; forms.len()];
        for number in &form_of_each {
            let unknown = self.reader.fault(DecodeFaultKind::UnknownForm(*number));
            *entries_of_form.get_mut(*number).ok_or(unknown)? += 1;
        }
        let mut keys: Vec<&'a str> = forms.iter().flatten().copied().collect();
        keys.sort_unstable();
        keys.dedup();
        let mut maps = vec![Vec::new(); count];
        for key in keys {
            let has_key = |form: &Vec<&'a str>| form.binary_search(&key).is_ok();
            let have_key: Vec<bool> = forms.iter().map(has_key).collect();
            let entries = have_key.iter().zip(&entries_of_form);
            let entries = entries.filter(|(has_key, _)| **has_key);
            let entries = entries.map(|(_, entries)| entries).sum();
            let mut values = self.site(entries, levels)?.into_iter();
            for (map, form) in maps.iter_mut().zip(&form_of_each) {
                if have_key.get(*form) == Some(&true)
                    && let Some(value) = values.next()
                {
                    map.push((key, value));
                }
            }
        }
        Ok(maps.into_iter().map(Borrowed::Map).collect())
    }

    fn maps_of_one_form(
        &mut self,
        count: usize,
        form: &[&'a str],
        levels: usize,
    ) -> Result<Vec<Borrowed<'a>>, DecodeFault> {
        let mut maps = vec![Vec::new(); count];
        for key in form {
            for (map, value) in maps.iter_mut().zip(self.site(count, levels)?) {
                map.push((*key, value));
            }
        }
        Ok(maps.into_iter().map(Borrowed::Map).collect())
    }

    fn numbers(&mut self, count: usize) -> Result<Vec<usize>, DecodeFault> {
        (0..count).map(|_| self.reader.length()).collect()
    }

    fn reference(&mut self) -> Result<&'a str, DecodeFault> {
        let reference = self.reader.length()?;
        let text = match reference.checked_sub(1) {
            None => {
                let next = self.own.get(self.referred_to);
                self.referred_to += 1;
                next.copied()
            }
            Some(known) if known % 2 == 0 => self.known.text(known / 2),
            Some(own) if own / 2 < self.referred_to => self.own.get(own / 2).copied(),
            Some(_) => None,
        };
        let unknown = self.reader.fault(DecodeFaultKind::UnknownText(reference));
        text.ok_or(unknown)
    }
}
