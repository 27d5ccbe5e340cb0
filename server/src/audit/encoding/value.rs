//! What can be encoded.

use std::collections::BTreeMap;

use super::super::merkle::Hash;

/// The deepest nesting of lists and maps.
pub const MOST_LEVELS: usize = 32;
/// The most values of which one is made, itself among them: what bounds the memory that reading a
/// hostile file takes, since in memory a value is much larger than its one byte there.
pub const MOST_VALUES: usize = 1 << 18;

/// A value of the canonical encoding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// Nothing is known, or nothing applies.
    Nothing,
    /// Yes or no.
    Flag(bool),
    /// A whole number.
    Whole(i128),
    /// A number that is not whole, exactly.
    Fraction(Fraction),
    /// A text.
    Text(String),
    /// Bytes: a digest, a salt, something encoded already.
    Bytes(Vec<u8>),
    /// Values in an order that matters.
    List(Vec<Value>),
    /// Values by name.
    Map(BTreeMap<String, Value>),
}

/// A number that is not whole, in lowest terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fraction {
    numerator: i128,
    denominator: i128,
}

impl Fraction {
    /// The fraction, if it is in lowest terms and its denominator is 2 or more.
    pub fn new(numerator: i128, denominator: i128) -> Option<Self> {
        let is_lowest = denominator >= 2
            && greatest_common_divisor(numerator.unsigned_abs(), denominator.unsigned_abs()) == 1;
        is_lowest.then_some(Fraction {
            numerator,
            denominator,
        })
    }

    /// The number above the line.
    pub fn numerator(&self) -> i128 {
        self.numerator
    }

    /// The number below the line: 2 or more.
    pub fn denominator(&self) -> i128 {
        self.denominator
    }
}

fn greatest_common_divisor(one: u128, other: u128) -> u128 {
    let (mut one, mut other) = (one, other);
    while other != 0 {
        (one, other) = (other, one % other);
    }
    one
}

impl Value {
    /// An exact number in lowest terms, as the engine's numbers are: whole where its denominator
    /// is 1. None where it is not in lowest terms.
    pub fn number(numerator: i128, denominator: i128) -> Option<Self> {
        if denominator == 1 {
            return Some(Value::Whole(numerator));
        }
        Fraction::new(numerator, denominator).map(Value::Fraction)
    }

    /// A map of pairs; of two with one name the later stands.
    pub fn map<'a>(pairs: impl IntoIterator<Item = (&'a str, Value)>) -> Self {
        let pairs = pairs
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value));
        Value::Map(pairs.collect())
    }
}

impl From<bool> for Value {
    fn from(flag: bool) -> Self {
        Value::Flag(flag)
    }
}

impl From<i64> for Value {
    fn from(number: i64) -> Self {
        Value::Whole(number.into())
    }
}

impl From<u32> for Value {
    fn from(number: u32) -> Self {
        Value::Whole(number.into())
    }
}

impl From<u64> for Value {
    fn from(number: u64) -> Self {
        Value::Whole(number.into())
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Value::Text(text.to_owned())
    }
}

impl From<Hash> for Value {
    fn from(hash: Hash) -> Self {
        Value::Bytes(hash.as_bytes().to_vec())
    }
}
