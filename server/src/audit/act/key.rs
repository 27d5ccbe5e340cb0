//! The log is signed with another key from here on.

use super::super::encoding::EncodeFault;
use super::{ActFault, body, fields};

const VERSION: u32 = 1;

/// What the leaf of a change of key says. The checkpoint that ends with this leaf is signed by
/// both.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyChanged {
    /// The verifier key that signs from then on, as text.
    pub in_use: String,
    /// The verifier key that signs no longer log.
    pub out_of_use: String,
}

impl KeyChanged {
    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        body(
            VERSION,
            [
                ("in_use", Some(self.in_use.as_str().into())),
                ("out_of_use", Some(self.out_of_use.as_str().into())),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let act = KeyChanged {
            in_use: fields.needed("in_use")?,
            out_of_use: fields.needed("out_of_use")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}
