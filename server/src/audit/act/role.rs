//! Somebody was given roles, or lost them.

use super::super::encoding::{EncodeFault, Value};
use super::super::merkle::Hash;
use super::{ActFault, body, fields};

const VERSION: u32 = 1;

/// What the leaf of a principal's roles says: all that holds of him from then on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoleGiven {
    /// The principal's name.
    pub name: String,
    /// All his roles, by their names, sorted; none where he may do nothing any more.
    pub roles: Vec<String>,
    /// SHA-256 of his key; absent where he has none any more.
    pub key_hash: Option<Hash>,
}

impl RoleGiven {
    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        let roles = self.roles.iter().map(|role| role.as_str().into());
        body(
            VERSION,
            [
                ("name", Some(self.name.as_str().into())),
                ("roles", Some(Value::List(roles.collect()))),
                ("key_hash", self.key_hash.map(Into::into)),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let act = RoleGiven {
            name: fields.needed("name")?,
            roles: fields.needed("roles")?,
            key_hash: fields.optional("key_hash")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}
