//! Taking a map apart, name by name, so that nothing is missing, of another form, or left over.

use std::collections::BTreeMap;

use super::super::merkle::Hash;
use super::borrowed::Borrowed;

/// The values of a map that are not taken yet.
///
/// Names descend: whoever takes them as they ascend takes each from the end.
#[derive(Clone, Debug)]
pub struct Fields<'a>(Vec<(&'a str, Borrowed<'a>)>);

/// What is wrong with a map.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FieldFault {
    /// Not a map.
    #[error("not a map of names to values")]
    NoMap,
    /// A name is missing.
    #[error("`{0}` is missing")]
    Missing(&'static str),
    /// A value of another form.
    #[error("`{name}` is not {what}")]
    Form {
        /// The name.
        name: &'static str,
        /// What it must be.
        what: &'static str,
    },
    /// A name that is not known.
    #[error("`{0}` is not known here")]
    Unknown(String),
}

/// What can be taken out of a value.
pub trait FromValue<'a>: Sized {
    /// What it is, in words: `a whole number`.
    const WHAT: &'static str;

    /// The value, if it is of that form.
    fn from_value(value: Borrowed<'a>) -> Option<Self>;
}

impl<'a> Fields<'a> {
    /// The fields of a value that is a map.
    ///
    /// # Errors
    /// [`FieldFault::NoMap`].
    pub fn of(value: Borrowed<'a>) -> Result<Self, FieldFault> {
        match value {
            Borrowed::Map(mut entries) => {
                entries.reverse();
                Ok(Fields(entries))
            }
            _ => Err(FieldFault::NoMap),
        }
    }

    /// Takes a field that must be there.
    ///
    /// # Errors
    /// [`FieldFault::Missing`], [`FieldFault::Form`].
    pub fn needed<T: FromValue<'a>>(&mut self, name: &'static str) -> Result<T, FieldFault> {
        self.optional(name)?.ok_or(FieldFault::Missing(name))
    }

    /// Takes a field that may be there.
    ///
    /// # Errors
    /// [`FieldFault::Form`].
    pub fn optional<T: FromValue<'a>>(
        &mut self,
        name: &'static str,
    ) -> Result<Option<T>, FieldFault> {
        let form = FieldFault::Form {
            name,
            what: T::WHAT,
        };
        let value = self.take(name);
        value
            .map(|value| T::from_value(value).ok_or(form))
            .transpose()
    }

    fn take(&mut self, name: &str) -> Option<Borrowed<'a>> {
        let is_next = |(next, _): &mut (&str, _)| *next == name;
        let taken = self.0.pop_if(is_next).or_else(|| {
            let place = self.0.binary_search_by(|(known, _)| name.cmp(known));
            Some(self.0.remove(place.ok()?))
        });
        taken.map(|(_, value)| value)
    }

    /// Makes sure that nothing is left.
    ///
    /// # Errors
    /// [`FieldFault::Unknown`].
    pub fn none_left(self) -> Result<(), FieldFault> {
        match self.0.last() {
            None => Ok(()),
            Some((name, _)) => Err(FieldFault::Unknown((*name).to_owned())),
        }
    }
}

macro_rules! whole_number {
    ($type:ty, $what:literal) => {
        impl<'a> FromValue<'a> for $type {
            const WHAT: &'static str = $what;

            fn from_value(value: Borrowed<'a>) -> Option<Self> {
                match value {
                    Borrowed::Whole(number) => number.try_into().ok(),
                    _ => None,
                }
            }
        }
    };
}

whole_number!(u32, "a whole number of 0 through 4294967295");
whole_number!(u64, "a whole number of 0 through 18446744073709551615");
whole_number!(i64, "a whole number of 64 bits");

impl<'a> FromValue<'a> for bool {
    const WHAT: &'static str = "yes or no";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::Flag(flag) => Some(flag),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for &'a str {
    const WHAT: &'static str = "a text";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::Text(text) => Some(text),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for String {
    const WHAT: &'static str = "a text";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::Text(text) => Some(text.to_owned()),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for Hash {
    const WHAT: &'static str = "32 bytes";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::Bytes(bytes) => Hash::of_slice(bytes),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for Vec<u8> {
    const WHAT: &'static str = "bytes";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::Bytes(bytes) => Some(bytes.to_vec()),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for Vec<String> {
    const WHAT: &'static str = "a list of texts";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::List(values) => values.into_iter().map(String::from_value).collect(),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for Vec<Hash> {
    const WHAT: &'static str = "a list of 32 bytes each";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::List(values) => values.into_iter().map(Hash::from_value).collect(),
            _ => None,
        }
    }
}

impl<'a> FromValue<'a> for Vec<Fields<'a>> {
    const WHAT: &'static str = "a list of maps";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        match value {
            Borrowed::List(values) => {
                let maps = values.into_iter().map(Fields::of);
                maps.collect::<Result<_, _>>().ok()
            }
            _ => None,
        }
    }
}

impl<'a, T: FromValue<'a>> FromValue<'a> for BTreeMap<String, T> {
    const WHAT: &'static str = "a map of names to values of one form";

    fn from_value(value: Borrowed<'a>) -> Option<Self> {
        let Borrowed::Map(values) = value else {
            return None;
        };
        let taken = values
            .into_iter()
            .map(|(name, value)| Some((name.to_owned(), T::from_value(value)?)));
        taken.collect()
    }
}
