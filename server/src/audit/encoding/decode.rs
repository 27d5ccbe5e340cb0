//! Reading, strictly: what [`encode`](super::encode) would not write is refused.

use super::borrowed::Borrowed;
use super::encode::{tag, whole_of};
use super::value::{Fraction, MOST_LEVELS, MOST_VALUES};

/// No more room is made before it is known that so much is there.
const MOST_ROOM: usize = 8;

/// Why bytes are no value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("byte {at}: {kind}")]
pub struct DecodeFault {
    /// Where what is wrong begins, counted from 0.
    pub at: usize,
    /// What is wrong there.
    pub kind: DecodeFaultKind,
}

/// What may be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecodeFaultKind {
    /// The bytes end before the value does.
    #[error("the bytes end before the value does")]
    CutShort,
    /// Bytes after the value.
    #[error("there are bytes after the value")]
    Trailing,
    /// A tag that no value has.
    #[error("no value has the tag {0}")]
    UnknownTag(u8),
    /// A length written with more bytes than it takes, or larger than any.
    #[error("a length is written with as few bytes as will do")]
    Length,
    /// A whole number written with more bytes than it takes.
    #[error("a whole number is written with as few bytes as will do, 16 at most")]
    Whole,
    /// A fraction that is not in lowest terms.
    #[error("a fraction is in lowest terms and its denominator 2 or more")]
    Fraction,
    /// A text that is not UTF-8.
    #[error("a text is UTF-8")]
    NotText,
    /// Keys that do not ascend.
    #[error("the keys of a map ascend, and none is there twice")]
    KeyOrder,
    /// Nested too deep.
    #[error("lists and maps nest at most {MOST_LEVELS} levels")]
    TooDeep,
    /// A reference to a text that is none.
    #[error("no text has the number {0}")]
    UnknownText(usize),
    /// A form of map that is none.
    #[error("no form of map has the number {0}")]
    UnknownForm(usize),
    /// Texts that nothing refers to.
    #[error("there is a text that nothing refers to")]
    UnusedText,
    /// Made of too many values.
    #[error("a value is made of at most {MOST_VALUES} values")]
    TooMany,
}

/// The value of all the bytes, among which its texts and bytes stay.
///
/// # Errors
/// The first [`DecodeFault`].
pub fn decode(bytes: &[u8]) -> Result<Borrowed<'_>, DecodeFault> {
    let (value, length) = decode_first(bytes)?;
    if length == bytes.len() {
        return Ok(value);
    }
    Err(DecodeFault {
        at: length,
        kind: DecodeFaultKind::Trailing,
    })
}

/// The value with which the bytes begin, and how many of them it takes.
///
/// # Errors
/// The first [`DecodeFault`].
pub fn decode_first(bytes: &[u8]) -> Result<(Borrowed<'_>, usize), DecodeFault> {
    let mut reader = Reader::new(bytes);
    let value = reader.value(MOST_LEVELS)?;
    Ok((value, reader.at))
}

/// What reads, and where it is.
pub(in super::super) struct Reader<'a> {
    bytes: &'a [u8],
    pub(in super::super) at: usize,
    values_left: usize,
}

impl<'a> Reader<'a> {
    /// At the beginning of the bytes.
    pub(in super::super) fn new(bytes: &'a [u8]) -> Self {
        Reader {
            bytes,
            at: 0,
            values_left: MOST_VALUES,
        }
    }

    /// A fault here.
    pub(in super::super) fn fault(&self, kind: DecodeFaultKind) -> DecodeFault {
        DecodeFault { at: self.at, kind }
    }

    /// Whether nothing is left.
    pub(in super::super) fn is_done(&self) -> bool {
        self.at == self.bytes.len()
    }

    /// Counts values against the most that there may be.
    pub(in super::super) fn count(&mut self, values: usize) -> Result<(), DecodeFault> {
        let left = self.values_left.checked_sub(values);
        self.values_left = left.ok_or(self.fault(DecodeFaultKind::TooMany))?;
        Ok(())
    }

    pub(in super::super) fn take(&mut self, length: usize) -> Result<&'a [u8], DecodeFault> {
        let end = self.at.checked_add(length);
        let taken = end.and_then(|end| self.bytes.get(self.at..end));
        let taken = taken.ok_or(DecodeFault {
            at: self.bytes.len(),
            kind: DecodeFaultKind::CutShort,
        })?;
        self.at += length;
        Ok(taken)
    }

    pub(in super::super) fn byte(&mut self) -> Result<u8, DecodeFault> {
        let taken = self.take(1)?;
        Ok(taken.first().copied().unwrap_or_default())
    }

    fn value(&mut self, levels: usize) -> Result<Borrowed<'a>, DecodeFault> {
        let at = self.at;
        let fault = |kind| DecodeFault { at, kind };
        self.count(1)?;
        let deeper = levels.checked_sub(1).ok_or(fault(DecodeFaultKind::TooDeep));
        match self.byte()? {
            tag::NOTHING => Ok(Borrowed::Nothing),
            tag::NO => Ok(Borrowed::Flag(false)),
            tag::YES => Ok(Borrowed::Flag(true)),
            tag::WHOLE => self.whole().map(Borrowed::Whole),
            tag::FRACTION => self.fraction(at).map(Borrowed::Fraction),
            tag::TEXT => self.text().map(Borrowed::Text),
            tag::BYTES => self.counted().map(Borrowed::Bytes),
            tag::LIST => self.list(deeper?),
            tag::MAP => self.map(deeper?),
            other => Err(fault(DecodeFaultKind::UnknownTag(other))),
        }
    }

    fn list(&mut self, levels: usize) -> Result<Borrowed<'a>, DecodeFault> {
        let count = self.length()?;
        let mut values = Vec::with_capacity(count.min(MOST_ROOM));
        for _ in 0..count {
            values.push(self.value(levels)?);
        }
        Ok(Borrowed::List(values))
    }

    fn map(&mut self, levels: usize) -> Result<Borrowed<'a>, DecodeFault> {
        let count = self.length()?;
        let mut entries: Vec<(&'a str, Borrowed<'a>)> = Vec::with_capacity(count.min(MOST_ROOM));
        for _ in 0..count {
            let at = self.at;
            let name = self.text()?;
            if entries.last().is_some_and(|(last, _)| *last >= name) {
                let kind = DecodeFaultKind::KeyOrder;
                return Err(DecodeFault { at, kind });
            }
            entries.push((name, self.value(levels)?));
        }
        Ok(Borrowed::Map(entries))
    }

    pub(in super::super) fn text(&mut self) -> Result<&'a str, DecodeFault> {
        let length = self.length()?;
        let at = self.at;
        let bytes = self.take(length)?;
        std::str::from_utf8(bytes).map_err(|error| DecodeFault {
            at: at + error.valid_up_to(),
            kind: DecodeFaultKind::NotText,
        })
    }

    /// Bytes after their length.
    pub(in super::super) fn counted(&mut self) -> Result<&'a [u8], DecodeFault> {
        let length = self.length()?;
        self.take(length)
    }

    /// A fraction that begins, with its tag where it has one, at a place.
    pub(in super::super) fn fraction(&mut self, at: usize) -> Result<Fraction, DecodeFault> {
        let kind = DecodeFaultKind::Fraction;
        let (numerator, denominator) = (self.whole()?, self.whole()?);
        Fraction::new(numerator, denominator).ok_or(DecodeFault { at, kind })
    }

    pub(in super::super) fn whole(&mut self) -> Result<i128, DecodeFault> {
        let at = self.at;
        let kind = DecodeFaultKind::Whole;
        let length = usize::from(self.byte()?);
        if length > 16 {
            return Err(DecodeFault { at, kind });
        }
        let bytes = self.take(length)?;
        let number = whole_of(bytes).ok_or(DecodeFault { at, kind })?;
        let is_longer = bytes
            .split_first()
            .is_some_and(|(_, rest)| whole_of(rest) == Some(number));
        if is_longer {
            return Err(DecodeFault { at, kind });
        }
        Ok(number)
    }

    pub(in super::super) fn length(&mut self) -> Result<usize, DecodeFault> {
        let at = self.at;
        let kind = DecodeFaultKind::Length;
        let fault = DecodeFault { at, kind };
        let mut length: usize = 0;
        let mut shift = 0;
        loop {
            let byte = self.byte()?;
            let low = usize::from(byte & 0x7f);
            let shifted = low
                .checked_shl(shift)
                .filter(|shifted| shifted >> shift == low);
            length |= shifted.ok_or(fault)?;
            if byte & 0x80 == 0 {
                // A last byte of zero only makes it longer.
                let is_minimal = byte != 0 || shift == 0;
                return is_minimal.then_some(length).ok_or(fault);
            }
            shift += 7;
        }
    }
}
