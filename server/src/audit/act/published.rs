//! Rules were published.

use super::super::encoding::EncodeFault;
use super::{ActFault, body, fields};

const VERSION: u32 = 1;

/// What the leaf of a published revision says beside its header, whose `rules_digest` is the
/// revision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Published {
    /// The ruleset's name.
    pub ruleset: String,
    /// Its title for people.
    pub title: String,
    /// The warnings that the check found; errors keep rules from being published. Absent where
    /// nobody counted: the program publishes what it is started with as it is.
    pub warnings: Option<u32>,
    /// The cases that passed: all of them. Absent where they were not run.
    pub cases: Option<u32>,
}

impl Published {
    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        body(
            VERSION,
            [
                ("ruleset", Some(self.ruleset.as_str().into())),
                ("title", Some(self.title.as_str().into())),
                ("warnings", self.warnings.map(Into::into)),
                ("cases", self.cases.map(Into::into)),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let act = Published {
            ruleset: fields.needed("ruleset")?,
            title: fields.needed("title")?,
            warnings: fields.optional("warnings")?,
            cases: fields.optional("cases")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}
