//! Rules were put in force.

use super::super::encoding::EncodeFault;
use super::super::merkle::Hash;
use super::{ActFault, body, fields};

const VERSION: u32 = 1;

/// What the leaf of an activation says beside its header, whose `rules_digest` is the revision
/// that decides from then on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Activated {
    /// The ruleset's name.
    pub ruleset: String,
    /// The revision that decided until then; absent where none did.
    pub previous: Option<Hash>,
    /// Why.
    pub reason: String,
}

impl Activated {
    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        body(
            VERSION,
            [
                ("ruleset", Some(self.ruleset.as_str().into())),
                ("previous", self.previous.map(Into::into)),
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
        let act = Activated {
            ruleset: fields.needed("ruleset")?,
            previous: fields.optional("previous")?,
            reason: fields.needed("reason")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}
