//! The canonical encoding: one value, one sequence of bytes.
//!
//! What is hashed and signed must be the same bytes wherever it is written, and must be read by
//! programs that others write, years later. So this encoding is our own and small, and has exactly
//! one way to write each value; [`decode`] refuses every other. It names the fields of what it
//! holds, so that a reader needs no other description.
//!
//! A value is its tag and what comes after it:
//!
//! - 0, nothing;
//! - 1 and 2, no and yes;
//! - 3, a whole number: a byte n of 0 through 16, then n bytes in two's complement, largest first,
//!   as few as will do (zero has none);
//! - 4, a fraction: numerator and denominator, each as a whole number without its tag; in lowest
//!   terms, the denominator 2 or more;
//! - 5, a text: its length, then that many bytes of UTF-8;
//! - 6, bytes: their length, then they;
//! - 7, a list: how many, then each value;
//! - 8, a map: how many, then each key (a length and UTF-8, no tag) with its value; keys ascend by
//!   their bytes.
//!
//! Lengths and counts are LEB128: seven bits a byte, smallest first, the top bit set on all but the
//! last byte, as few bytes as will do. Lists and maps nest to [`MOST_LEVELS`] levels,
//! and a value is made of at most [`MOST_VALUES`].

mod borrowed;
mod decode;
mod encode;
mod fields;
mod value;

pub use borrowed::Borrowed;
pub(super) use decode::Reader;
pub use decode::{DecodeFault, DecodeFaultKind, decode, decode_first};
pub(crate) use encode::write_counted;
pub use encode::{EncodeFault, encode, encode_borrowed};
pub(super) use encode::{tag, write_length, write_whole};
pub use fields::{FieldFault, Fields, FromValue};
pub use value::{Fraction, MOST_LEVELS, MOST_VALUES, Value};

#[cfg(test)]
mod tests;
