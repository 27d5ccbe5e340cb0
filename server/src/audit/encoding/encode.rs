//! Writing.

use super::borrowed::Borrowed;
use super::value::{MOST_LEVELS, MOST_VALUES, Value};

/// What a small value has; a larger one grows.
const USUAL_BYTES: usize = 512;

/// The tags, in the order of the list at the head of this folder.
pub(in super::super) mod tag {
    pub(in super::super::super) const NOTHING: u8 = 0;
    pub(in super::super::super) const NO: u8 = 1;
    pub(in super::super::super) const YES: u8 = 2;
    pub(in super::super::super) const WHOLE: u8 = 3;
    pub(in super::super::super) const FRACTION: u8 = 4;
    pub(in super::super::super) const TEXT: u8 = 5;
    pub(in super::super::super) const BYTES: u8 = 6;
    pub(in super::super::super) const LIST: u8 = 7;
    pub(in super::super::super) const MAP: u8 = 8;
}

/// Why a value has no bytes: it is larger than what is read again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EncodeFault {
    /// Lists and maps nest deeper.
    #[error("lists and maps nest at most {MOST_LEVELS} levels")]
    TooDeep,
    /// It is made of more values.
    #[error("a value is made of at most {MOST_VALUES} values")]
    TooMany,
}

/// The bytes of a value.
///
/// # Errors
/// [`EncodeFault`].
pub fn encode(value: &Value) -> Result<Vec<u8>, EncodeFault> {
    encode_borrowed(&value.into())
}

/// The bytes of a value whose texts and bytes stand somewhere else.
///
/// # Errors
/// [`EncodeFault`].
pub fn encode_borrowed(value: &Borrowed<'_>) -> Result<Vec<u8>, EncodeFault> {
    let mut bytes = Vec::with_capacity(USUAL_BYTES);
    let mut values_left = MOST_VALUES;
    write(&mut bytes, value, MOST_LEVELS, &mut values_left)?;
    Ok(bytes)
}

fn write(
    bytes: &mut Vec<u8>,
    value: &Borrowed<'_>,
    levels: usize,
    values_left: &mut usize,
) -> Result<(), EncodeFault> {
    *values_left = values_left.checked_sub(1).ok_or(EncodeFault::TooMany)?;
    let deeper = levels.checked_sub(1).ok_or(EncodeFault::TooDeep);
    bytes.push(value.tag());
    match value {
        Borrowed::Nothing | Borrowed::Flag(_) => {}
        Borrowed::Whole(number) => write_whole(bytes, *number),
        Borrowed::Fraction(fraction) => {
            write_whole(bytes, fraction.numerator());
            write_whole(bytes, fraction.denominator());
        }
        Borrowed::Text(text) => write_counted(bytes, text.as_bytes()),
        Borrowed::Bytes(content) => write_counted(bytes, content),
        Borrowed::List(values) => {
            let levels = deeper?;
            write_length(bytes, values.len());
            for value in values {
                write(bytes, value, levels, values_left)?;
            }
        }
        Borrowed::Map(entries) => {
            let levels = deeper?;
            write_length(bytes, entries.len());
            for (name, value) in entries {
                write_counted(bytes, name.as_bytes());
                write(bytes, value, levels, values_left)?;
            }
        }
    }
    Ok(())
}

pub(in super::super) fn write_whole(bytes: &mut Vec<u8>, number: i128) {
    // A leading byte that only repeats the sign says nothing; of 0 nothing is left.
    let sign_bits = (number ^ (number >> 127)).leading_zeros();
    let length = match number {
        0 => 0,
        _ => usize::try_from((129 - sign_bits).div_ceil(8)).unwrap_or(16),
    };
    let all = number.to_be_bytes();
    let kept = all
        .len()
        .checked_sub(length)
        .and_then(|from| all.get(from..));
    bytes.push(u8::try_from(length).unwrap_or(u8::MAX));
    bytes.extend(kept.unwrap_or(&all));
}

/// The number in at most 16 bytes of two's complement, largest first.
pub(super) fn whole_of(bytes: &[u8]) -> Option<i128> {
    let is_negative = bytes.first().is_some_and(|first| *first >= 0x80);
    let mut all = [if is_negative { 0xff } else { 0 }; 16];
    let start = all.len().checked_sub(bytes.len())?;
    all.get_mut(start..)?.copy_from_slice(bytes);
    Some(i128::from_be_bytes(all))
}

pub(crate) fn write_counted(bytes: &mut Vec<u8>, content: &[u8]) {
    write_length(bytes, content.len());
    bytes.extend(content);
}

pub(in super::super) fn write_length(bytes: &mut Vec<u8>, length: usize) {
    let mut rest = length;
    loop {
        let [low, ..] = rest.to_le_bytes();
        rest >>= 7;
        if rest == 0 {
            bytes.push(low & 0x7f);
            return;
        }
        bytes.push(low | 0x80);
    }
}
