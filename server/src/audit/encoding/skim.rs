//! Reading past what does not matter: bytes that were checked once are looked into without making
//! values of all of them.
//!
//! [`decode`](super::decode) refuses what is not canonical; here it is only made sure that nothing
//! is read that is not there. It is for bodies whose commitment holds, since those were written by
//! [`encode`](super::encode).

use super::encode::{tag, whole_of};
use super::value::MOST_LEVELS;

/// What is left of the bytes of a value.
#[derive(Clone, Copy, Debug)]
pub struct Skim<'a> {
    bytes: &'a [u8],
    levels: usize,
}

impl<'a> Skim<'a> {
    /// Begins with the bytes of a value.
    pub fn of(bytes: &'a [u8]) -> Self {
        Skim {
            bytes,
            levels: MOST_LEVELS,
        }
    }

    fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.bytes.split_first()?;
        self.bytes = rest;
        Some(*first)
    }

    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.bytes.split_at_checked(length)?;
        self.bytes = rest;
        Some(taken)
    }

    fn length(&mut self) -> Option<usize> {
        let mut length: usize = 0;
        let mut shift = 0_u32;
        loop {
            let byte = self.byte()?;
            let part = usize::from(byte & 0x7f).checked_shl(shift)?;
            length = length.checked_add(part)?;
            if byte < 0x80 {
                return Some(length);
            }
            shift += 7;
        }
    }

    fn counted(&mut self) -> Option<&'a [u8]> {
        let length = self.length()?;
        self.take(length)
    }

    /// Takes a text.
    pub fn text(&mut self) -> Option<&'a str> {
        if self.byte()? != tag::TEXT {
            return None;
        }
        std::str::from_utf8(self.counted()?).ok()
    }

    /// Takes bytes.
    pub fn bytes(&mut self) -> Option<&'a [u8]> {
        if self.byte()? != tag::BYTES {
            return None;
        }
        self.counted()
    }

    /// Takes a whole number.
    pub fn whole(&mut self) -> Option<i128> {
        if self.byte()? != tag::WHOLE {
            return None;
        }
        let length = usize::from(self.byte()?);
        whole_of(self.take(length)?)
    }

    /// Takes a map: `each` takes the value of every name.
    pub fn map(
        &mut self,
        mut each: impl FnMut(&'a str, &mut Skim<'a>) -> Option<()>,
    ) -> Option<()> {
        if self.byte()? != tag::MAP {
            return None;
        }
        let count = self.deeper()?;
        for _ in 0..count {
            let name = std::str::from_utf8(self.counted()?).ok()?;
            each(name, self)?;
        }
        self.levels += 1;
        Some(())
    }

    /// Takes a list: `each` takes every value.
    pub fn list(&mut self, mut each: impl FnMut(&mut Skim<'a>) -> Option<()>) -> Option<()> {
        if self.byte()? != tag::LIST {
            return None;
        }
        let count = self.deeper()?;
        for _ in 0..count {
            each(self)?;
        }
        self.levels += 1;
        Some(())
    }

    fn deeper(&mut self) -> Option<usize> {
        self.levels = self.levels.checked_sub(1)?;
        self.length()
    }

    /// Takes a value, whatever it is.
    pub fn skip(&mut self) -> Option<()> {
        match *self.bytes.first()? {
            tag::NOTHING | tag::NO | tag::YES => self.byte().map(drop),
            tag::WHOLE => self.whole().map(drop),
            tag::FRACTION => {
                self.byte()?;
                for _ in 0..2 {
                    let length = usize::from(self.byte()?);
                    self.take(length)?;
                }
                Some(())
            }
            tag::TEXT | tag::BYTES => {
                self.byte()?;
                self.counted().map(drop)
            }
            tag::LIST => self.list(Skim::skip),
            tag::MAP => self.map(|_, value| value.skip()),
            _ => None,
        }
    }

    /// Whether nothing is left.
    pub fn is_done(&self) -> bool {
        self.bytes.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Fraction, Value, encode};
    use super::*;

    #[test]
    fn what_is_wanted_is_found_and_the_rest_passed_over() {
        let fraction = Fraction::new(-7, 300).expect("a fraction");
        let value = Value::map([
            ("a", Value::Nothing),
            ("b", Value::Fraction(fraction)),
            (
                "c",
                Value::List(vec![true.into(), Value::Bytes(vec![1; 300])]),
            ),
            (
                "d",
                Value::map([("x", Value::Whole(-129)), ("y", "text".into())]),
            ),
            ("e", "wanted".into()),
        ]);
        let bytes = encode(&value).expect("bytes");
        let mut found = (None, None);
        let mut skim = Skim::of(&bytes);
        let done = skim.map(|name, value| match name {
            "d" => value.map(|name, value| match name {
                "x" => value.whole().map(|number| found.0 = Some(number)),
                _ => value.skip(),
            }),
            "e" => value.text().map(|text| found.1 = Some(text)),
            _ => value.skip(),
        });
        assert_eq!((done, found), (Some(()), (Some(-129), Some("wanted"))));
        assert!(skim.is_done());
        for cut in 0..bytes.len() {
            let mut skim = Skim::of(bytes.get(..cut).expect("within"));
            assert_eq!(skim.skip(), None, "cut at {cut}");
        }
    }

    #[test]
    fn what_nests_too_deep_is_not_followed() {
        let mut bytes = [tag::LIST, 1].repeat(100_000);
        bytes.push(tag::NOTHING);
        assert_eq!(Skim::of(&bytes).skip(), None);
    }
}
