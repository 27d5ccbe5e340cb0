//! What the bodies of the leaves of governance say, each layout in a file of its own.
//!
//! Such a body speaks of no player: it stands in the clear, in the canonical
//! [encoding](super::encoding), and is read again at every start, since the log is the only place
//! that says what was published, what is in force and who may do what. Who acted, when, and by
//! which digests stands in the leaf's header. `FORMAT.md` lists the layouts for other programs.
//! What was handed out once must be read forever: another layout is another `version`.

mod activated;
mod build;
mod key;
mod parts;
mod published;
mod read;
mod role;
mod setting;

pub use activated::Activated;
pub use build::{BuildConfirmed, BuiltClub, DecidingRow, Override};
pub use key::KeyChanged;
pub use parts::{PartsChanged, Piece, StockChange, WhatChanged};
pub use published::Published;
pub use read::RecordRead;
pub use role::RoleGiven;
pub use setting::SettingChanged;

use super::encoding::{DecodeFault, EncodeFault, FieldFault, Fields, Value, decode, encode};

/// Why the body of an act cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ActFault {
    /// It is not in the canonical encoding.
    #[error("the body is not in the canonical encoding: {0}")]
    Encoding(#[from] DecodeFault),
    /// A field is missing, of another form, or not known.
    #[error("the body's {0}")]
    Field(#[from] FieldFault),
    /// Another version of the layout.
    #[error("the body is of version {found}; this program knows version {known}")]
    Version {
        /// The version of the body.
        found: u32,
        /// The one that is known.
        known: u32,
    },
    /// A word that is none of those that may stand there.
    #[error("the body's `{name}` is `{sent}`, which is not known here")]
    Word {
        /// The field.
        name: &'static str,
        /// What stands there.
        sent: String,
    },
}

/// The body of an act: its layout's version, and the fields that are there.
fn body<'a>(
    version: u32,
    fields: impl IntoIterator<Item = (&'a str, Option<Value>)>,
) -> Result<Vec<u8>, EncodeFault> {
    let version = [("version", Some(version.into()))];
    encode(&map(version.into_iter().chain(fields)))
}

/// A map of the fields that are there.
fn map<'a>(fields: impl IntoIterator<Item = (&'a str, Option<Value>)>) -> Value {
    let fields = fields.into_iter();
    Value::map(fields.filter_map(|(name, value)| Some((name, value?))))
}

/// The fields of a body of this version of its layout.
fn fields(bytes: &[u8], known: u32) -> Result<Fields<'_>, ActFault> {
    let mut fields = Fields::of(decode(bytes)?)?;
    let found = fields.needed("version")?;
    if found != known {
        return Err(ActFault::Version { found, known });
    }
    Ok(fields)
}

#[cfg(test)]
mod tests;
