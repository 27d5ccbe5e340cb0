//! A setting of the house was changed.

use super::super::encoding::EncodeFault;
use super::{ActFault, body, fields};

const VERSION: u32 = 1;

/// What the leaf of a setting says: how it stands from then on, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingChanged {
    /// The setting's name.
    pub name: String,
    /// Whether it is on.
    pub is_on: bool,
    /// Why.
    pub reason: String,
}

impl SettingChanged {
    /// The setting that lets whoever published a revision put it in force himself.
    pub const OWN_ACTIVATION: &str = "own activation";

    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        body(
            VERSION,
            [
                ("name", Some(self.name.as_str().into())),
                ("on", Some(self.is_on.into())),
                ("reason", Some(self.reason.as_str().into())),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let act = SettingChanged {
            name: fields.needed("name")?,
            is_on: fields.needed("on")?,
            reason: fields.needed("reason")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}
